"""Bad days on the phone, said in words with something to do: no secure address, no room, withdrawn."""

import gzip
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts, chromium_path
from full_phone import FILL
from lead_office import Lead
from phone_page import Phone, server_raws
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser


@pytest.fixture
def lan_chromium(playwright: Playwright) -> Iterator[Browser]:
    """A browser to which the server has a name that is not this machine's own."""
    browser = playwright.chromium.launch(
        executable_path=chromium_path(), args=["--host-resolver-rules=MAP hub.lan 127.0.0.1"]
    )
    yield browser
    browser.close()


def test_over_plain_http_it_says_so_and_what_to_do(server: Server, lan_chromium: Browser) -> None:
    page = lan_chromium.new_page()
    page.goto(f"http://hub.lan:{server.port}/")
    assert page.evaluate("isSecureContext") is False
    expect(page.get_by_role("heading", name="This address is not secure")).to_be_visible()
    main = page.get_by_role("main")
    expect(main).to_contain_text("plain http")
    expect(main).to_contain_text("https://")
    expect(main).to_contain_text("Draw back.")  # an emergency needs no log
    expect(page.get_by_role("button", name="Enrol this phone")).to_have_count(0)
    look_at_it_all(page, "not secure")


def test_a_browser_that_cannot_read_the_app_is_told_so(
    server: Server, contexts: Contexts, allow_noise: Callable[[], None]
) -> None:
    page = contexts.phone(service_workers="block").new_page()
    page.route(
        "**/assets/*.js", lambda route: route.fulfill(body="not a script (", content_type="text/javascript")
    )
    page.goto(server.origin)
    heading = page.get_by_role("heading", name="Chinrest has not started")
    expect(heading).to_be_hidden()  # it may still come
    page.evaluate("document.getAnimations().forEach((waiting) => waiting.finish())")
    expect(heading).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text("the clinic's paper")
    allow_noise()
    look_at_it_all(page, "not started")


def look_at_it_all(page: Page, where: str) -> None:
    """What stands in the way of work is held to the same rules as the work."""
    size = page.viewport_size
    page.set_viewport_size({"width": 412, "height": 4000})
    in_both_themes(page, where)
    page.set_viewport_size({"width": 360, "height": 740})
    at_both_sizes(page, where)
    if size:
        page.set_viewport_size(size)


def unsent_file(phone: Phone, press: Callable[[], None], folder: Path) -> list[bytes]:
    """What the phone hands out as a file, line by line."""
    with phone.page.expect_download() as waiting:
        press()
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    content = path.read_bytes()
    if content[:2] == b"\x1f\x8b":
        content = gzip.decompress(content)
    return [line for line in content.split(b"\n") if line]


def test_a_full_phone_stops_recording_says_so_and_gives_its_lines_out(
    server: Server, contexts: Contexts, tmp_path: Path
) -> None:
    phone = Phone(contexts.phone(), server)
    origin = {"origin": server.origin}
    cdp = phone.context.new_cdp_session(phone.page)
    # before anything is stored: Chromium remembers for a while how much room there was
    cdp.send("Storage.overrideQuotaForOrigin", {**origin, "quotaSize": 6_000_000})
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.wait_until_sent()
    server.kill()
    phone.begin("HR-6001", asked=("Fluorescein",))
    visit = Visit(phone)
    visit.go_through(until="Say which eye")
    case = phone.page.url
    waiting = [raw for raw in phone.own_raws() if b"HR-6001" in raw or phone.case_id.encode() in raw]
    assert len(waiting) >= 3

    phone.page.evaluate(FILL)
    phone.button("Done").click()
    expect(phone.page.get_by_role("heading", name="The phone is full")).to_be_visible()
    alert = phone.page.get_by_role("alert")
    expect(alert).to_contain_text("Recording has stopped")
    expect(alert).to_contain_text("The last tap was not saved.")
    expect(phone.button("Done")).to_have_count(0)  # nothing can be ticked that would not be kept
    look_at_it_all(phone.page, "no room")
    # the way out of an emergency is open
    phone.button("Emergency").click()
    expect(phone.page.get_by_role("dialog", name="Emergency")).to_contain_text("Draw back.")
    phone.page.keyboard.press("Escape")

    given = unsent_file(phone, lambda: phone.button("Save unsent lines as a file").click(), tmp_path)
    assert given[-len(waiting) :] == waiting
    assert phone.own_raws()[-1] == waiting[-1]  # the tap that failed left nothing behind

    phone.page.evaluate("indexedDB.deleteDatabase('other-things')")  # room was made
    cdp.send("Storage.overrideQuotaForOrigin", origin)
    phone.button("Load again").click()
    phone.page.wait_for_url(case)
    assert phone.heading.startswith("Say which eye")
    visit.step(phone.heading)
    server.start()
    phone.wait_until_sent()
    assert server_raws(server, phone.device) == phone.own_raws()


def test_a_withdrawn_phone_keeps_its_log_and_says_what_to_do(
    server: Server, contexts: Contexts, tmp_path: Path
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.begin("HR-6002", asked=("Fluorescein",))
    phone.wait_until_sent()
    with Lead(server) as lead:
        lead.withdraw("Phone 7", "left in a taxi")
    phone.go_on()
    visit = Visit(phone)
    visit.step(phone.heading)
    phone.home()
    phone.button("Send now").click()
    notice = phone.page.get_by_role("alert").filter(has_text="This phone has been withdrawn")
    expect(notice).to_be_visible()
    expect(notice).to_contain_text("Its log is untouched")
    expect(notice).to_contain_text("Save the unsent lines as a file")
    expect(phone.page.get_by_role("link", name="Begin a case")).to_have_count(0)

    lines = phone.own_raws()
    sent = server_raws(server, phone.device)
    assert lines[: len(sent)] == sent
    assert len(lines) > len(sent)
    phone.reload()
    expect(notice).to_be_visible()
    phone.go_on()  # the patient in the chair is finished, and it is still recorded
    visit.step(phone.heading)
    assert phone.own_raws()[: len(lines)] == lines
    assert len(phone.own_raws()) == len(lines) + 1

    phone.home()
    given = unsent_file(phone, lambda: notice.get_by_role("button").click(), tmp_path)
    assert given == phone.own_raws()[len(sent) :]
    assert server_raws(server, phone.device) == sent
    for line in given:
        envelope, body = line.split(b"\t")
        assert json.loads(envelope)["device"] == phone.device
        assert "salt" in json.loads(body)


def test_a_phone_that_gets_no_answer_for_long_goes_on_and_says_since_when(
    server: Server, contexts: Contexts
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.wait_until_sent()
    server.kill()
    phone.begin("HR-6003", asked=("Fluorescein",))
    Visit(phone).step(phone.heading)
    waits = phone.page.get_by_role("link", name=re.compile(r"^2 unsent since \d\d:\d\d"))
    expect(waits).to_be_visible()
    phone.home()
    phone.button("Send now").click()
    trying = phone.page.get_by_text("No answer from the server. This phone tries again by itself.")
    expect(trying).to_be_visible()
    server.start()
    sent = phone.page.get_by_text("Everything of this phone is on the server.")
    expect(sent).to_be_visible(timeout=90_000)
