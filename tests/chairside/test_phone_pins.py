"""PINs on a shared phone: what is stored, what can be done while it is locked, and who may unlock it. The
server is real. Everything that is entered is invented."""

import json
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from bearers import NDJSON, OtherPhone, header, taken
from locked_phone import LockedPhone, everything, on_disk, types
from playwright.sync_api import BrowserContext, Playwright, expect

from access import at_both_sizes, in_both_themes
from browsing import Contexts
from dying_browser import opened
from emergency_page import Emergency
from lead_office import Lead
from phone_page import Phone, server_raws
from serving import Server

pytestmark = pytest.mark.browser

AB = ("AB", "246813")
CODE = "HR-9301"
OTHERS = "HR-9302"  # another phone's
SINCE = "HR-9303"
SAID = "sat back twice"
HALF = "half a sentence about"


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    return tmp_path / "profile"


@pytest.fixture
def own(playwright: Playwright, profile: Path) -> Iterator[BrowserContext]:
    """A browser whose files can be looked at."""
    context = opened(playwright, profile)
    yield context
    context.close()


def look(page: LockedPhone, where: str) -> None:
    page.page.set_viewport_size({"width": 412, "height": 4000})
    in_both_themes(page.page, where)
    page.page.set_viewport_size({"width": 360, "height": 740})
    at_both_sizes(page.page, where)
    page.page.set_viewport_size({"width": 412, "height": 839})


def in_the_clear(text: str, whole: str | bytes) -> bool:
    """Also as the browser writes text that is not all Latin."""
    if isinstance(whole, bytes):
        return text.encode() in whole or text.encode("utf-16-le") in whole
    return text in whole


def test_nothing_of_a_patient_can_be_read_and_what_must_not_wait_is_logged_all_the_same(
    server: Server, own: BrowserContext, profile: Path
) -> None:
    phone = Phone(own, server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.wait_for_shell()
    locked = LockedPhone(phone)
    locked.set_first(*AB)
    phone.begin(CODE)
    locked.comfort(3, SAID)
    # half entered, and left so
    locked.ways_out.get_by_role("button", name="Comfort").click()
    note = phone.page.get_by_label("Note (may stay empty)")
    note.fill(HALF)
    phone.page.get_by_role("dialog", name="Comfort").get_by_role("button", name="Back").click()
    assert not any(in_the_clear(CODE, part) for part in [everything(phone)])
    case = phone.case_id
    locked.lock()
    phone.reload()
    locked.is_locked()
    phone.page.goto(f"{server.origin}/#/case/{case}/step")
    locked.is_locked()
    stored = everything(phone)
    assert "Phone 7" in stored
    assert case in stored, "its random id is what a new line goes by"
    for secret in (CODE, SAID, HALF, AB[1], "comfort.noted", "case.opened"):
        assert not in_the_clear(secret, stored), secret
        assert not any(in_the_clear(secret, file) for file in on_disk(profile)), secret
    assert any(in_the_clear("Phone 7", file) for file in on_disk(profile)), "the right files are looked at"
    expect(phone.page.locator("body")).not_to_contain_text(CODE)
    look(locked, "locked")

    # a locked phone logs, and sends
    expect(phone.page.get_by_text("Everything of this phone is on the server.")).to_be_visible()
    before = server_raws(server, phone_device(stored))
    emergency = Emergency(phone).open()
    emergency.sign("Itching")
    phone.page.reload()  # as after a crash: it is still running, and nothing begins anew
    emergency.part("Signs")
    expect(emergency.sheet).to_contain_text("what was recorded before is not shown")
    emergency.sheet.get_by_role("button", name="Back").click()
    locked.is_locked()
    locked.comfort(8, pause=True)
    phone.button("Send now").click()
    expect(phone.page.get_by_text("Everything of this phone is on the server.")).to_be_visible()
    written = server_raws(server, phone_device(stored))[len(before) :]
    assert types(written) == ["reaction.started", "reaction.sign", "comfort.noted"]
    envelopes = [json.loads(raw.split(b"\t")[0]) for raw in written]
    assert [(line["case"], line["actor"]) for line in envelopes] == [(case, None)] * 3

    # whoever unlocks it says which of it was theirs
    locked.unlock(*AB)
    expect(phone.page.get_by_role("heading", name="Who wrote this?")).to_be_visible()
    expect(phone.page.get_by_role("group", name="I wrote").get_by_role("checkbox")).to_have_count(3)
    look(locked, "who wrote")
    phone.button("Pick all").click()
    phone.button("It was me: 3 lines").click()
    phone.page.wait_for_url(f"**/#/case/{case}/**")
    expect(phone.page.locator(".case-name")).to_contain_text(CODE)
    locked.ways_out.get_by_role("button", name="Comfort").click()
    expect(note).to_have_value(HALF)
    phone.page.get_by_role("dialog", name="Comfort").get_by_role("button", name="Back").click()
    phone.wait_until_sent()
    raws = server_raws(server, phone_device(stored))
    envelopes = [json.loads(raw.split(b"\t")[0]) for raw in raws]
    assert [line["seq"] for line in envelopes] == list(range(1, len(raws) + 1))
    assert len({line["id"] for line in envelopes}) == len(raws)
    assert [line["type"] for line in envelopes].count("comfort.noted") == 2
    (said,) = [
        raw.split(b"\t")[1]
        for raw, line in zip(raws, envelopes, strict=True)
        if line["type"] == "lines.confirmed"
    ]
    assert json.loads(said)["by"] == AB[0]
    assert json.loads(said)["lines"] == [json.loads(raw.split(b"\t")[0])["id"] for raw in written]


def phone_device(stored: str) -> str:
    log = json.loads(stored)["chinrest-log"]
    keys, rows = log["meta"]
    return str(rows[keys.index("device")]["id"])


def test_wrong_tries_slow_down_then_only_the_server_helps_by_a_code(
    server: Server, contexts: Contexts
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.page.clock.install(time=time.time())
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    locked = LockedPhone(phone)
    locked.set_first(*AB)
    locked.set_another("CD", "four words are better")
    locked.lock()
    look(locked, "locked, two people")
    alert = phone.page.get_by_role("alert")
    unlock = phone.button("Unlock")
    for n in range(1, 11):
        locked.try_pin(AB[0], "999999")
        if n < 3:
            expect(alert).to_contain_text(f"{10 - n} more wrong tries")
        elif n < 10:
            expect(alert).to_contain_text("The next try is looked at in")
            expect(unlock).to_be_disabled()
            phone.page.clock.fast_forward("16:00")
            expect(alert).not_to_contain_text("The next try is looked at in")
    expect(alert).to_contain_text("AB's PIN opens nothing any more")
    locked.try_pin(*AB)
    expect(alert).to_contain_text("AB's PIN opens nothing any more")
    look(locked, "no more tries")

    phone.button("I have a code").click()
    phone.page.get_by_label("Code", exact=True).fill(server.enrol_code("harbour", "Phone 7"))
    locked.fill_pin("AB", "135797")
    look(locked, "the lead's code")
    phone.button("Open and set this PIN").click()
    expect(phone.page.get_by_role("region", name="PINs")).to_contain_text("Unlocked by AB", timeout=30_000)
    locked.lock()
    locked.try_pin(*AB)
    expect(alert).to_contain_text("9 more wrong tries")
    locked.unlock("CD", "four words are better")
    expect(phone.page.get_by_role("region", name="PINs")).to_contain_text("Unlocked by CD")


def test_who_is_withdrawn_is_shut_out_at_the_next_contact_and_the_log_stays(
    server: Server, contexts: Contexts
) -> None:
    other = OtherPhone(server)
    other.opens(OTHERS)
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    device = phone.device
    (without,) = taken(server, device, everything(phone)).values()
    assert OTHERS in json.dumps(without["pulled"]), "without PINs a copy of it gets cases"
    locked = LockedPhone(phone)
    locked.set_first(*AB)
    locked.wait_for_tokens()
    locked.set_another("CD", "four words are better")
    look(locked, "settings with PINs")
    phone.begin(CODE)
    server.run("people", "withdraw", "--name", "ab", "--site", "harbour", "--why", "left the clinic")
    phone.home()
    phone.button("Send now").click()
    locked.is_locked()
    expect(phone.page.get_by_role("heading", name="Withdrawn: AB")).to_be_visible()
    expect(phone.page.get_by_role("radio")).to_have_count(1)
    locked.unlock("CD", "four words are better")
    expect(phone.page.get_by_role("main")).to_contain_text(CODE)
    server.run("people", "readmit", "--name", "AB", "--site", "harbour", "--why", "is back")
    phone.send_now()
    locked.set_another("AB", "135797")
    locked.lock()
    expect(phone.page.get_by_role("heading", name="Withdrawn: AB")).to_have_count(0)

    # what can be read on the locked phone gets nothing of a case
    other.opens(SINCE)
    stored = everything(phone)
    ((token, answer),) = taken(server, device, stored).items()
    assert (answer["pulled"], answer["cursor"]) == ([], 0)
    assert not any(in_the_clear(code, json.dumps(answer)) for code in (CODE, OTHERS, SINCE))
    bearer = {"Authorization": f"Bearer {token}"}
    pack = httpx.get(f"{server.origin}/api/packs/{answer['pack']}", headers=bearer)
    assert pack.status_code == 200
    assert not any(in_the_clear(code, pack.text) for code in (CODE, OTHERS, SINCE))
    locked.comfort(3)
    phone.button("Send now").click()
    expect(phone.page.get_by_text("Everything of this phone is on the server.")).to_be_visible()
    (line,) = [raw for raw in server_raws(server, device)[-1:] if types([raw]) == ["comfort.noted"]]
    assert json.loads(line.split(b"\t")[0])["actor"] is None

    # unlocked, it gets what the others wrote; withdrawn, it gets nothing by either token
    locked.unlock("AB", "135797")
    phone.button("Not me, or not now").click()
    phone.home()
    phone.button("Send now").click()
    expect(phone.page.get_by_role("main")).to_contain_text(SINCE)
    with Lead(server) as lead:
        lead.withdraw("Phone 7", "lost")
    phone.button("Send now").click()
    expect(phone.page.get_by_role("heading", name="This phone has been withdrawn")).to_be_visible()
    assert taken(server, device, stored) == {}
    again = httpx.post(f"{server.origin}/api/sync", content=header(device), headers=bearer | NDJSON)
    assert (again.status_code, again.json()["code"]) == (403, "device_withdrawn")
