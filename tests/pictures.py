"""README's pictures of the real screens, into fixtures/pictures: `.venv/bin/python tests/pictures.py`."""

import re
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

import page_clock
from desk_page import Desk
from emergency_page import Emergency
from page_line import inject
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


def series_pictures(phone: Phone) -> None:
    """A case whose dye is in: choice of optic, the map, the series as its clock runs, the card, the light."""
    page = phone.page
    phone.enrol("Second phone")
    phone.wait_for_guidance()
    phone.begin("R-2057", asked=("Fluorescein",))
    case = phone.case_id

    def go(screen: str) -> None:
        page.evaluate("to => { location.hash = to; }", f"#/{screen}")
        page.wait_for_timeout(1500)

    go(f"case/{case}/choice")
    shoot(page, "choice-dark")
    go(f"case/{case}/optic")
    Visit(phone).choose_optic()
    go(f"case/{case}/map/right/plan")
    shoot(page, "map-dark")
    inject(phone, "fluorescein", ago_s=130)
    go(f"case/{case}/series")
    expect(page.locator("main").get_by_role("timer")).to_be_visible()
    shoot(page, "series-dark")
    theme(page, "day")
    shoot(page, "series-day")
    theme(page, "dark")


def desk_pictures(desk: Desk) -> None:
    desk.sign_in("officer")
    desk.incidents()
    expect(desk.rows().first).to_be_visible()
    expect(desk.page.get_by_label("Site", exact=True)).to_be_enabled()  # the pack's names are there
    shoot(desk.page, "desk-incidents")
    desk.rows().first.get_by_role("link").first.click()
    expect(desk.page.get_by_role("article").first).to_be_visible()
    shoot(desk.page, "desk-case")


def history_pictures(desk: Desk) -> None:
    """Rates and charts over an invented history."""
    desk.sign_in("officer")
    for place, name in (("rates?of=reaction&by=dye", "desk-rates"), ("charts?of=event", "desk-charts")):
        desk.go(place, re.compile("."))
        desk.page.wait_for_timeout(2000)
        shoot(desk.page, name)


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
        later = browser.new_context(viewport=size, device_scale_factor=1.5, has_touch=True)
        page_clock.install(later)
        series_pictures(Phone(later, server))
        wide = browser.new_context(viewport={"width": 1280, "height": 800}, color_scheme="light")
        desk_pictures(Desk(wide, server))
        past = Server(Path(folder, "past"))
        past.data.mkdir(parents=True)
        past.run("demo", "--cases", "1500", "--sites", "5", "--seed", "4")
        with past:
            history_pictures(
                Desk(browser.new_context(viewport={"width": 1280, "height": 900}, color_scheme="light"), past)
            )
        browser.close()


if __name__ == "__main__":
    main()
