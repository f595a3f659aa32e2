"""Lines go by file where no network comes back: made and sealed on the phone, taken in at the desk, and the
answer opened on the phone. The server behind the desk is real; the phone has no link to it."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect

from browsing import Contexts
from desk_page import Desk
from phone_page import Phone, server_raws, settle
from serving import Server
from visit import Visit

pytestmark = pytest.mark.browser

# headless browsers have no share sheet: one that takes files, and keeps what it was given
SHARE_SHEET = """() => {
  window.shared = [];
  navigator.canShare = (data) => data.files?.length === 1;
  navigator.share = async ({ files: [file] }) =>
    window.shared.push([file.name, file.type, await file.text()]);
}"""


def saved(page: Locator, into: Path) -> Path:
    """The file that a press on a button gives."""
    with page.page.expect_download() as waiting:
        page.click()
    waiting.value.save_as(into)
    return into


def opened(phone: Phone, file: Path) -> None:
    phone.page.get_by_label("Open an answer file, or another phone's file").set_input_files(file)


def take_in(desk: Desk, file: Path) -> Locator:
    """At the desk; what it says of it."""
    form = desk.page.get_by_role("form", name="Lines that came by file")
    form.get_by_label("File of a phone").set_input_files(file)
    form.get_by_role("button", name="Take it in").click()
    return form


def test_a_case_comes_by_file_and_its_receipts_go_back(
    server: Server, contexts: Contexts, tmp_path: Path
) -> None:
    phone = Phone(contexts.phone(), server)
    phone.enrol("Phone 7")
    phone.wait_for_guidance()
    phone.wait_for_shell()
    before = settle(phone)

    phone.context.set_offline(True)
    phone.begin("HR-8101")
    visit = Visit(phone)
    visit.go_through(until="Measure the pupil")
    visit.comfort(3)
    phone.page.goto(f"{server.origin}/#/unsent")
    waiting = len(phone.own_raws()) - len(before)
    phone.button("Make the file").click()
    expect(phone.page.get_by_text(f"{waiting} lines are in it")).to_be_visible()
    file = saved(phone.button("Save the file"), tmp_path / "lines.txt")
    assert b"HR-8101" not in file.read_bytes()
    assert server_raws(server, phone.device) == before

    # at the desk: half of it first, which is said and takes nothing
    officer = Desk(contexts.desk(), server).sign_in()
    officer.go("devices", "Devices")
    half = tmp_path / "half.txt"
    half.write_bytes(file.read_bytes()[:-100])
    said = take_in(officer, half)
    expect(said.get_by_text("the file was cut short")).to_be_visible()
    expect(said.get_by_text("Nothing of the file was taken.")).to_be_visible()
    assert server_raws(server, phone.device) == before
    said = take_in(officer, file)
    expect(said.get_by_text(f"Phone 7: {waiting} lines stored, 0 here before, 0 refused.")).to_be_visible()
    assert server_raws(server, phone.device) == phone.own_raws()
    answer = saved(said.get_by_role("button", name="Save the answer file"), tmp_path / "answer.txt")

    # another phone with a link can bring it as well, and twice is once; its share sheet takes the answer
    carrier = Phone(contexts.phone(), server)
    carrier.enrol("Phone 8")
    carrier.page.evaluate(SHARE_SHEET)
    carrier.page.evaluate("location.hash = '#/unsent'")
    opened(carrier, file)
    carrier.button("Bring it to the server").click()
    expect(
        carrier.page.get_by_text(f"Phone 7: 0 lines stored, {waiting} there before, 0 refused.")
    ).to_be_visible()
    carrier.button("Share the file").click()
    carrier.page.wait_for_function("() => window.shared.length > 0")
    ((name, kind, text),) = carrier.page.evaluate("window.shared")
    assert (name, kind) == ("lines-answer.txt", "text/plain")
    assert json.loads(text.splitlines()[0])["device"] == phone.device
    opened(carrier, answer)
    expect(carrier.page.get_by_role("alert")).to_contain_text("This answer is for another phone.")

    # on the phone: a spoilt answer changes nothing, the whole one settles all, and stays so
    spoilt = tmp_path / "spoilt.txt"
    spoilt.write_bytes(answer.read_bytes().replace(b'"taken":[[', b'"taken":[[1,1],[', 1))
    still = phone.page.get_by_text(re.compile(f"^{waiting} lines are only on this phone$"))
    opened(phone, spoilt)
    expect(phone.page.get_by_role("alert")).to_contain_text("The answer was changed on the way.")
    expect(still).to_be_visible()
    opened(phone, answer)
    expect(
        phone.page.get_by_text(f"{waiting} lines are on the server and no longer wait here.")
    ).to_be_visible()
    expect(still).to_have_count(0)
    phone.reload()
    expect(phone.page.get_by_text("Everything of this phone is on the server.")).to_be_visible()
    expect(phone.page.get_by_role("list", name="Files that were made here")).to_contain_text(
        "taken by the server"
    )

    # the link comes back: nothing goes a second time, and what is written from now on goes
    lines = phone.own_raws()
    phone.context.set_offline(False)
    with phone.page.expect_response("**/api/sync") as synced:
        phone.button("Send now").click()
    assert synced.value.json()["lines"] == []
    phone.home()
    phone.go_on()
    Visit(phone).comfort(2)
    assert settle(phone)[: len(lines)] == lines
