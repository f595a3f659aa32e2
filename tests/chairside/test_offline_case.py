"""What comes between in a case without a network: discomfort, a touch, a frame to be taken again, a reload, a
dead browser. Nothing of it is lost, and nothing is asked twice. Everything that is typed in is invented."""

from __future__ import annotations

import json
import os
import re
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from browsing import Contexts
from chinrest.log.verify import verify
from desk_page import Desk
from dying_browser import browsers_on, kill_browsers_on, opened
from phone_page import Phone, server_raws
from serving import Server
from visit import Visit

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

pytestmark = pytest.mark.browser


def alone(phone: Phone) -> None:
    """From here on there is neither a server nor a network, and the app starts from nothing."""
    phone.wait_for_guidance()
    phone.wait_for_shell()
    phone.server.kill()
    phone.context.set_offline(True)
    phone.reload()


def test_what_comes_between_in_a_case_is_kept(server: Server, contexts: Contexts, tmp_path: Path) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 8")
    alone(phone)
    page = phone.page
    phone.begin("HR-7101", asked=("Colour",))
    visit = Visit(phone)
    visit.go_through(until="Set the head turn")
    visit.comfort(2)

    # an accepted turn waits for its answer, which is asked after the approach, over a reload
    pose = page.url
    turn = page.get_by_role("region", name="The computed turn")
    advised = turn.locator("p").first.inner_text()
    visit.take_turn()
    page.goto(pose)
    phone.reload()
    assert turn.locator("p").first.inner_text() == advised
    expect(phone.button("Use this turn")).to_have_count(0)
    visit.press_and_leave("Go on")
    visit.go_through(until="Log how it really was")
    found = page.get_by_role("region", name="How it was")
    expect(found).to_be_visible()
    here = page.url
    phone.reload()
    assert page.url == here
    expect(found).to_be_visible()

    # a touch leads to the event, already filled in, over the next step
    found.get_by_role("radio", name=re.compile("^As advised")).check()
    phone.pick("Did the optic touch skin or lashes?", "Yes, it touched")
    found.get_by_role("radio", name="Lashes or lid").check()
    phone.button("Save how it was").click()
    sheet = page.get_by_role("dialog", name="Event")
    expect(sheet.get_by_role("heading", name=re.compile("^Harm"))).to_be_visible()
    phone.reload()  # half told: the draft stands
    sheet.get_by_role("button", name=re.compile("^Mild")).click()
    sheet.get_by_role("button", name="The rest later").click()
    visit.put_away(sheet)
    (event,) = phone.stands("safety.noted")
    assert (event["what"], event["reached_patient"], event["harm"]) == ("touched_by_optic", True, "mild")

    # an answer that calls for a pause, given at a step that asks for it: the offer stays until it is answered
    visit.go_through(until="Ask for comfort, 0 to 10, before")
    phone.button("Ask, and log it").click()
    sheet = page.get_by_role("dialog", name="Comfort")
    sheet.get_by_role("button", name="8", exact=True).click()
    sheet.get_by_role("button", name="Note 8 of 10").click()
    offer = page.get_by_role("dialog", name="Comfort noted")
    expect(offer).to_contain_text("8 of 10 is at or above 7")
    offer.get_by_role("button", name="Start a pause").click()
    expect(page.get_by_role("heading", name=re.compile("^Pause for"))).to_be_visible()
    phone.button("End the pause").click()
    expect(page.get_by_role("heading", name=re.compile("^Pause for"))).to_have_count(0)

    # a frame again, and why; then taken
    expect(phone.main.get_by_role("heading", level=1, name=re.compile("colour frames"))).to_be_visible()
    expect(phone.button("Go on with")).to_have_count(0)  # nothing is taken: that is never done
    phone.button("None taken: say why").click()
    asks = page.get_by_role("dialog", name="Why can't it be done?")
    expect(asks.get_by_role("button", name="Pass with this reason")).to_be_disabled()
    page.keyboard.press("Escape")
    expect(asks).to_have_count(0)
    phone.button("Again").click()
    expect(page.get_by_role("dialog", name="Why again?")).to_be_visible()
    (pressed,) = phone.bodies("frame.taken")  # from the press on; its reason comes after
    assert (pressed["outcome"], pressed["reason"]) == ("again", "")
    page.get_by_role("dialog", name="Why again?").get_by_role("button", name="Blink").click()
    expect(phone.main.get_by_text("Take again: blink")).to_be_visible()
    visit.go_through(until="Draw back and lock")
    frames = [(body["field"], body["outcome"], body["reason"]) for body in phone.stands("frame.taken")]
    assert frames[:2] == [("colour_centre", "again", "blink"), ("colour_centre", "taken", "")]

    # what did not happen is said by a new line
    visit.amend(
        "Comfort 2 of 10",
        lambda sheet: sheet.get_by_role("radio", name="It did not happen").check(),
        "asked nobody, pressed in passing",
    )
    visit.go_through()
    visit.close()

    # the way out without any network: a file that the hub's own command finds whole
    page.goto(f"{server.origin}/#/unsent")
    with page.expect_download() as waiting:
        phone.button("Save unsent lines as a file").click()
    file = tmp_path / "unsent.ndjson"
    waiting.value.save_as(file)
    lines = phone.own_raws()
    saved = file.read_bytes().splitlines()
    assert saved == lines[-len(saved) :]
    assert len(saved) >= len([raw for raw in lines if json.loads(raw.split(b"\t")[0])["case"]])
    assert verify(saved).ok

    server.start()
    phone.context.set_offline(False)
    phone.wait_until_sent()
    assert server_raws(server, phone.device) == lines
    verdict = verify(server_raws(server, phone.device))
    assert verdict.ok, verdict.first_bad
    assert verdict.lines == len(lines)

    officer = Desk(contexts.desk(), server).sign_in()
    officer.incidents()
    officer.page.get_by_role("link", name="Optic touched the patient").click()
    pose = officer.entry(re.compile("^Pose as it was")).get_by_role("table")
    expect(pose.get_by_role("row").filter(has_text="Least gap")).to_contain_text("it touched")
    expect(officer.entry(re.compile("^Comfort 2 of 10")).first).to_contain_text("withdrawn")
    expect(officer.entry("Pause started")).to_contain_text("8 of 10")


@pytest.fixture
def profile(tmp_path: Path) -> Iterator[Path]:
    """A browser's folder; whatever still runs on it at the end is killed."""
    folder = tmp_path / "profile"
    yield folder
    kill_browsers_on(folder)


def test_a_browser_that_dies_in_mid_case_comes_back_to_the_same_step(
    server: Server, playwright: Playwright, profile: Path
) -> None:
    phone = Phone(opened(playwright, profile), server)
    phone.enrol("Phone 8")
    alone(phone)
    phone.begin("HR-7102", asked=("Colour",))
    visit = Visit(phone)
    visit.go_through(until="Measure the pupil")
    visit.comfort(3)
    here, heading, lines = phone.page.url, phone.heading, phone.own_raws()
    (pid,) = browsers_on(profile)
    gone = phone.page.context.browser
    os.kill(pid, signal.SIGKILL)  # the moment the tick is on the screen: no time to tidy up

    again = Phone(opened(playwright, profile), server)
    again.context.set_offline(True)
    again.open()
    assert again.own_raws() == lines
    again.go_on()
    assert again.heading == heading
    again.page.goto(here)
    assert again.heading == heading
    Visit(again).go_through(until="Glasses off")
    assert verify(again.own_raws()).ok
    again.context.close()
    assert gone is None or not gone.is_connected()
