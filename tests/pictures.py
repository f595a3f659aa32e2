"""README's pictures of the real screens, into fixtures/pictures: `.venv/bin/python tests/pictures.py`."""

import re
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from desk_page import Desk
from emergency_page import Emergency
from phone_page import Phone
from serving import Server
from visit import Visit

PICTURES = Path(__file__).resolve().parents[1] / "fixtures" / "pictures"


def shoot(page: Page, name: str) -> None:
    page.evaluate("scrollTo(0, 0)")
    page.evaluate("document.fonts.ready")
    page.screenshot(path=PICTURES / f"{name}.png", animations="disabled")
    print(f"{name}.png")


def theme(page: Page, name: str) -> None:
    """As the person's own setting would."""
    page.evaluate("name => { document.documentElement.dataset.theme = name }", name)


def phone_pictures(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.wait_for_guidance()
    phone.begin("R-2041", asked=("Fluorescein",))
    visit = Visit(phone, depth="Average")
    shoot(page, "step-dark")
    visit.event("Optic not latched", reached="No", note="felt the latch give; put on again")
    visit.go_through(until="Set the head turn")
    expect(page.get_by_role("region", name="The computed turn")).to_be_visible()
    shoot(page, "turn-dark")
    theme(page, "day")
    shoot(page, "turn-day")
    theme(page, "dark")
    ways = page.get_by_role("navigation", name="Ways out")
    ways.get_by_role("button", name="Comfort").click()
    expect(page.get_by_role("dialog", name="Comfort")).to_be_visible()
    shoot(page, "comfort-dark")
    page.get_by_role("dialog").get_by_role("button", name=re.compile("^Back")).click()
    emergency = Emergency(phone).open()
    shoot(page, "emergency-dark")
    emergency.part("End")
    emergency.sheet.get_by_role("button", name="It was opened by mistake").click()
    emergency.sheet.get_by_role("button", name="Opened by mistake", exact=True).click()
    visit.outcome = "More"
    visit.go_through()
    visit.event("Optic touched", reached="Yes", harm="No harm", note="lashes, on the first approach")
    phone.wait_until_sent()
    shoot(page, "home-dark")
    theme(page, "day")
    shoot(page, "home-day")


def desk_pictures(desk: Desk) -> None:
    desk.sign_in("officer")
    desk.incidents()
    expect(desk.rows().first).to_be_visible()
    shoot(desk.page, "desk-incidents")
    desk.rows().first.get_by_role("link").first.click()
    expect(desk.page.get_by_role("article").first).to_be_visible()
    shoot(desk.page, "desk-case")


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        Server(Path(folder)) as server,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        size = {"width": 390, "height": 800}
        phone = Phone(browser.new_context(viewport=size, device_scale_factor=1.5, has_touch=True), server)
        phone_pictures(phone)
        wide = browser.new_context(viewport={"width": 1280, "height": 800}, color_scheme="light")
        desk_pictures(Desk(wide, server))
        browser.close()


if __name__ == "__main__":
    main()
