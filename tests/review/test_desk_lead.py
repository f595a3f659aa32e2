"""Devices for both; enrolment, packs and withdrawal for the clinic's lead alone."""

import json
import re
import subprocess
import sys
import time
import uuid
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
import segno
from carrier import Carrier
from playwright.sync_api import Locator, expect
from qr_reading import read
from scenes import Scene

from access import assert_accessible
from chinrest.log.signing import fingerprint, new_key, public_of, sign
from chinrest.server.relay_wire import HubWord, word_text
from desk_page import Desk

pytestmark = pytest.mark.browser


def device_row(person: Desk, label: str) -> Locator:
    return person.page.get_by_role("row").filter(has=person.page.get_by_role("rowheader", name=label))


def test_devices_show_gaps_clocks_and_packs(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    officer.go("devices", "Devices")
    expect(officer.page.get_by_text("Line 2 of Phone 9 is missing.")).to_be_visible()
    expect(device_row(officer, "Satellite 1")).to_contain_text("clock 3 minutes")
    phone = device_row(officer, "Phone 3")
    expect(phone).to_contain_text("clock agrees with the server")
    expect(phone).to_contain_text(f"pack {scene.pack['version']}")
    expect(phone).to_contain_text(re.compile("just now| ago"))
    expect(officer.page.get_by_role("button", name="Withdraw")).to_have_count(0)  # an officer only looks


def test_both_branches_of_a_forked_chain_are_shown(desk: Callable[..., Desk], own_scene: Scene) -> None:
    phone = own_scene.far
    seq, head = phone.chain.seq, phone.chain.head
    phone.write("step.done", "c2", step="caps_off")
    phone.carry()
    phone.chain.seq, phone.chain.head, phone.at = seq, head, phone.at + 77_000  # a copy that was put back
    phone.write("comfort.noted", "c2", score=4, bothers=[])
    phone.write("comfort.noted", "c2", score=5, bothers=[])
    sent = phone.lines[-2:]
    phone.lines, phone.sent = sent, 0
    assert [line["code"] for line in phone.carry()["lines"]] == ["fork", "fork"]
    officer = desk(own_scene)
    officer.go("devices", "Devices")
    row = officer.page.get_by_role("row").filter(has_text="two branches")
    expect(row).to_contain_text(f"Satellite 1 has written two branches from line {seq + 1} on.")
    expect(row).to_contain_text("2 lines of the other stand aside and in no rate")
    row.get_by_text("Both branches, line by line").click()
    lines = officer.page.get_by_role("table", name="Both branches of Satellite 1").get_by_role("row")
    expect(lines).to_have_count(3)
    expect(lines.nth(1)).to_contain_text(re.compile(r"step\.done.*comfort\.noted"))
    expect(lines.nth(2)).to_contain_text(re.compile(r"nothing yet.*comfort\.noted"))
    assert_accessible(officer.page, "devices with a fork")


def test_hubs_stand_with_their_fingerprint_and_their_own_word(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    hub, key = str(uuid.uuid4()), new_key()
    command = [sys.executable, "-m", "chinrest.cli", "hubs", "add", "Ward laptop", "--id", hub]
    subprocess.run([*command, "--key", public_of(key), "--data", str(own_scene.server.data)], check=True)
    word = HubWord(
        hub=hub,
        now=int(time.time() * 1000) - 3_600_000,
        waiting=512,
        app="0.0.9",
        packs=[own_scene.sha256],
        hub_signature="",
    )
    signed = {**msgspec.to_builtins(word), "hub_signature": sign(key, word_text(word))}
    answer = own_scene.lead.post("/api/relay/hub", json=signed)
    assert answer.status_code == 204, answer.text
    officer = desk(own_scene)
    officer.go("devices", "Devices")
    row = officer.part("Hubs").get_by_role("row").filter(has_text="Ward laptop")
    expect(row).to_contain_text("512")
    expect(row).to_contain_text(re.compile("clock (1 hour|60 minutes|59 minutes).* behind the server"))
    expect(row).to_contain_text(f"pack {own_scene.pack['version']}")
    expect(row).to_contain_text("0.0.9")
    expect(row).to_contain_text(fingerprint(public_of(key)))


def test_pages_of_the_lead_are_closed_to_an_officer(desk: Callable[..., Desk], scene: Scene) -> None:
    officer = desk(scene)
    expect(officer.page.get_by_role("link", name="Guidance packs")).to_have_count(0)
    for place in ("packs", "enrol"):
        officer.page.goto(f"{scene.server.origin}/desk#/{place}")
        expect(officer.page.get_by_role("alert")).to_contain_text("This page is for the clinic's lead.")
    status = officer.page.evaluate(
        """async () => (await fetch("/api/enrolment-codes", {method: "POST",
          headers: {"X-Chinrest": "1", "Content-Type": "application/json"},
          body: JSON.stringify({site: "harbour", label: "x"})})).status"""
    )
    assert status == 403  # and not only hidden


def test_a_refused_line_is_told_with_its_reason(desk: Callable[..., Desk], own_scene: Scene) -> None:
    own_scene.near.write("step.done", "case-full", step="caps_off")
    assert own_scene.near.carry(spoil=True)["lines"][0]["code"] == "body_hash"
    officer = desk(own_scene)
    officer.go("devices", "Devices")
    officer.page.get_by_text("1 of its lines refused or set aside").click()
    expect(officer.page.get_by_role("listitem").filter(has_text="step.done")).to_contain_text("received")


def test_an_enrolment_code_works_as_text_as_address_and_as_qr(
    desk: Callable[..., Desk], own_scene: Scene
) -> None:
    lead = desk(own_scene, "lead")
    lead.go("enrol", "Enrol a device")
    lead.page.get_by_label("Site").select_option(own_scene.sites[1])
    lead.page.get_by_label("Label of the device").fill("Phone 12")
    lead.page.get_by_role("button", name="Make a code").click()
    card = lead.page.get_by_role("region", name="Enrolment code")
    code = card.get_by_text(re.compile(r"^[0-9A-Z]{4}-[0-9A-Z]{4}$")).inner_text()
    address = card.get_by_role("link").inner_text()
    assert address == f"{own_scene.server.origin}/#enrol={code}"

    assert read(dark_modules(card.get_by_role("img").locator("path").get_attribute("d") or "")) == address

    phone = Carrier(own_scene.server.origin, code, "Phone 12")
    phone.http.close()
    assert phone.site == own_scene.sites[1]
    lead.go("devices", "Devices")
    expect(device_row(lead, "Phone 12")).to_contain_text("no pack")


@pytest.mark.parametrize("level", "LM")
def test_the_reading_of_symbols_reads_those_of_another_encoder(level: str) -> None:
    text = "http://127.0.0.1:48765/#enrol=ABCD-1234"
    for mask in range(8):
        made = segno.make(text, error=level, boost_error=False, mask=mask, micro=False, mode="byte")
        dark = {(x, y) for y, row in enumerate(made.matrix) for x, module in enumerate(row) if module}
        assert read(dark) == text
    with pytest.raises(ValueError, match="error correction"):
        read(dark ^ {(20, 20), (12, 12)})


def dark_modules(path: str) -> set[tuple[int, int]]:
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", path)
    assert "".join(f"M{x} {y}h{n}v1h-{n}z" for x, y, n in runs) == path
    return {(int(x) + i, int(y)) for x, y, n in runs for i in range(int(n))}


def test_a_withdrawn_device_is_refused_from_then_on(desk: Callable[..., Desk], own_scene: Scene) -> None:
    lead = desk(own_scene, "lead")
    lead.go("devices", "Devices")
    lead.page.get_by_role("button", name="Withdraw Phone 3").click()
    sheet = lead.page.get_by_role("dialog", name="Withdraw Phone 3")
    confirm = sheet.get_by_role("button", name="Withdraw this device")
    expect(confirm).to_be_disabled()  # never without a reason
    sheet.get_by_label("Why").fill("left in a taxi")
    confirm.click()
    expect(sheet).to_have_count(0)
    row = lead.page.get_by_role("row").filter(has_text="Phone 3")
    expect(row).to_contain_text("withdrawn")
    answer = own_scene.near.http.post("/api/sync", content=b"{}\n")
    assert (answer.status_code, answer.json()["code"]) == (403, "device_withdrawn")


def test_a_pack_is_uploaded_approved_and_recalled(
    desk: Callable[..., Desk], own_scene: Scene, tmp_path: Path
) -> None:
    newer = tmp_path / "pack.json"
    newer.write_text(json.dumps({**own_scene.pack, "version": "2026.2"}, separators=(",", ":")))
    lead = desk(own_scene, "lead")
    lead.go("packs", "Guidance packs")
    lead.page.get_by_label("Compiled pack (JSON)").set_input_files(newer)
    lead.page.get_by_role("button", name="Upload this pack").click()
    card = lead.page.get_by_role("article", name="Pack 2026.2")
    # it is proved by every check vector first: seconds, more where the machine is busy
    expect(card).to_contain_text("Not approved for any site.", timeout=30_000)

    card.get_by_role("button", name="Approve version 2026.2").click()
    sheet = lead.page.get_by_role("dialog")
    expect(sheet.get_by_role("button", name="Approve for 0 sites")).to_be_disabled()
    sheet.get_by_role("checkbox").first.check()
    sheet.get_by_role("button", name="Approve for 1 site").click()
    expect(card).to_contain_text(f"by {own_scene.server.sign_in('lead')[0]}")
    assert own_scene.near.carry()["pack"] != own_scene.sha256

    card.get_by_role("button", name="Recall version 2026.2").click()
    sheet = lead.page.get_by_role("dialog")
    sheet.get_by_label("Why").fill("Margins of the wide optic are wrong.")
    sheet.get_by_role("button", name="Recall this pack").click()
    expect(card).to_contain_text("Margins of the wide optic are wrong.")
    recalls = own_scene.near.carry()["recalls"]
    assert [recall["why"] for recall in recalls] == ["Margins of the wide optic are wrong."]


def test_what_is_not_a_pack_is_refused_in_words(
    desk: Callable[..., Desk], scene: Scene, tmp_path: Path
) -> None:
    lead = desk(scene, "lead")
    lead.go("packs", "Guidance packs")
    wrong = tmp_path / "shopping.json"
    wrong.write_text('{"milk": 2}')
    lead.page.get_by_label("Compiled pack (JSON)").set_input_files(wrong)
    lead.page.get_by_role("button", name="Upload this pack").click()
    expect(lead.page.get_by_role("alert")).to_contain_text("format: is None; this version reads format 1")
    expect(lead.page.get_by_role("article")).to_have_count(1)
