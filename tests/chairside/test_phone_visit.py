"""The main job: one patient from the chair to the record on a phone without a network, then one exchange, and
the safety officer reads it. The patient and every figure that is typed in here are invented.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
from playwright.sync_api import Locator, expect

from browsing import Contexts
from desk_page import Desk
from phone_page import Phone, server_raws, settle
from serving import Server
from visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.timeout(420)]

CODE = "HR-7001"
PASSED = "Write down which dilating drops"


def cold_start(phone: Phone) -> None:
    """The app opened anew, as from the home screen, with nothing in memory."""
    phone.page.close()
    phone.page = phone.context.new_page()
    answer = phone.page.goto(f"{phone.server.origin}/")
    assert answer is not None
    assert answer.from_service_worker
    expect(phone.page.get_by_role("heading", name="In the chair")).to_be_visible()


def take_the_case(phone: Phone) -> Visit:
    """Everything that a visit holds, in the dark: no server process, no network."""
    phone.begin(CODE, asked=("Fluorescein",))
    visit = Visit(phone, outcome="More was needed")
    visit.go_through(until=PASSED)
    visit.cannot("Done before this case, and checked")

    visit.go_through(until="Set the head turn")
    shown = phone.heading
    visit.comfort(3)
    assert phone.heading == shown  # over the step, and back to it
    visit.event(
        "Optic touched the patient",
        reached="No",
        done=("Drew back",),
        note="lashes brushed the rim, seen from the side",
    )
    phone.reload()
    assert phone.heading == shown  # exactly where it was
    visit.step(shown)

    def to_five(sheet: Locator) -> None:
        sheet.get_by_role("textbox").first.fill("5")

    visit.amend("Comfort", to_five, "pressed the wrong key")
    visit.event(
        "Faint or near faint",
        reached="Yes",
        harm="Mild",
        signs=("Pale, sweating or light-headed",),
        told=("Clinician in charge",),
        note="sat back, better after five minutes",
    )
    visit.go_through()
    visit.close()
    return visit


def test_a_whole_visit_without_a_network_reaches_the_officer(server: Server, contexts: Contexts) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.wait_for_shell()
    before = len(settle(phone))

    server.kill()
    phone.context.set_offline(True)
    cold_start(phone)
    visit = take_the_case(phone)

    lines = phone.own_raws()
    assert len(lines) > before + 50
    assert len(visit.turns) == 1
    (advised,) = phone.bodies("pose.advised")
    assert advised["yaw_deg"] > 0
    assert re.search(r"\d+°", visit.turns[0])
    (found,) = phone.bodies("pose.found")
    assert (found["outcome"], found["by_deg"]) == ("more", 4)
    assert found["yaw_deg"] == pytest.approx(advised["yaw_deg"] + 4)
    assert len(phone.stands("safety.noted")) == 2
    # the comfort put right, and what was told of each event after its first press
    assert len(phone.bodies("line.amended")) == 6
    assert "only on this phone" in phone.page.locator("main").inner_text()
    assert len(server_raws(server, phone.device)) == before

    server.start()
    phone.context.set_offline(False)
    phone.wait_until_sent()
    arrived = server_raws(server, phone.device)
    assert len(arrived) == len(set(arrived))
    assert arrived == phone.own_raws() == lines  # each once, byte for byte, and none changed by the sending
    phone.page.get_by_role("button", name="Send now").click()  # again: nothing is doubled
    phone.wait_until_sent()
    assert server_raws(server, phone.device) == lines

    the_officer_reads_it(Desk(contexts.desk(), server).sign_in(), visit)
    with closing(sqlite3.connect(server.data / "chinrest.db")) as database:
        (reads,) = database.execute("SELECT count(*) FROM lines WHERE type = 'case.read'").fetchone()
    assert reads >= 2  # the incident's page and the case's: each reading is a line


def the_officer_reads_it(officer: Desk, visit: Visit) -> None:
    officer.incidents()
    expect(officer.rows()).to_have_count(2)
    near_miss = officer.rows().filter(has_text="Near miss")
    expect(near_miss).to_contain_text("lashes brushed the rim")
    expect(near_miss).to_contain_text("Ultra-wide")
    event = officer.rows().filter(has_text="Faint or near faint")
    expect(event).to_contain_text("Mild")
    expect(event).to_contain_text("Phone 7")
    event.get_by_role("link").click()
    expect(officer.page.get_by_role("heading", level=1)).to_contain_text("Faint or near faint")
    case = visit.phone.envelopes("case.opened")[-1]["case"]
    officer.go(f"case/{case}", f"Case {CODE}")
    expect(officer.entry("Safety event: Faint or near faint")).to_be_visible()
    beside = officer.entry(re.compile("^Pose as it was")).get_by_role("table")
    expect(beside).to_contain_text("As advised")
    turn = beside.get_by_role("row").filter(has_text="Turn of the face")
    expect(turn).to_contain_text("to the patient's left")
    expect(officer.entry(re.compile("^Comfort 3 of 10"))).to_contain_text("amended")
    expect(officer.entry("Amended").filter(has_text="pressed the wrong key")).to_be_visible()
    expect(officer.entry(re.compile(f"^Not done: {PASSED}"))).to_be_visible()
    expect(officer.entry("Case closed: completed")).to_be_visible()
