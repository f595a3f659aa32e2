"""Retention by command: what it would erase is said first; what was erased is shown as erased on every page,
is counted as before, and does not come back from phones."""

import asyncio
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from callers import LEAD, OFFICER, OWN_PAGE, House
from carrying import Phone, comfort, near_miss, opened
from litestar.testing import TestClient
from test_server_backup import backed_up, run

from chinrest.log.case_events import CaseClosed, OpticChosen
from chinrest.log.line import Line
from chinrest.log.write import new_salt
from chinrest.server.app import create_app
from chinrest.server.settings import DATABASE, Settings
from chinrest.store import Store
from chinrest.store.erasing import years_before

OLD, NEW = "7f0c1b9e-0a3e-4f7b-9a51-6d2f9f3b1c21", "7f0c1b9e-0a3e-4f7b-9a51-6d2f9f3b1c22"
WORDS = "She told us of her sister"
WHY = "the clinic's own rule, invented"
PAGES = (
    f"/api/cases/{OLD}",
    "/api/incidents",
    "/api/incident-counts",
    "/api/rates?of=near_miss",
    "/api/charts?of=near_miss",
    "/api/craft",
    "/api/calibration",
    "/api/devices",
    "/api/refused-lines",
    "/api/export/incidents.csv",
    "/api/export/incidents.fhir.json",
)


def a_case(phone: Phone, case: str, code: str) -> list[Line]:
    bodies = [
        opened(code),
        OpticChosen(salt=new_salt(), optic="wide", suggested=None, reason=""),
        comfort(),
        near_miss(WORDS),
        CaseClosed(salt=new_salt(), outcome="completed", note=WORDS),
    ]
    return [phone.write(body, case) for body in bodies]


@pytest.fixture
def phone(house: House) -> Phone:
    """With a case of eleven years ago, by the server's clock, and one of today."""
    made = house.phone()
    made.sync(made.first_line(), *a_case(made, OLD, "HR-OLD"))
    eleven_years = 11 * 366 * 86_400_000
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database, database:
        database.execute("UPDATE lines SET received_at = received_at - ?", (eleven_years,))
    made.sync(*a_case(made, NEW, "HR-NEW"))
    return made


def erase(house: House, *arguments: str) -> dict[str, Any]:
    said = run("erase", *arguments, "--data", str(house.settings.data), "--json")
    found: dict[str, Any] = json.loads(said.output)
    return found


def keep_for(house: House, years: str = "10") -> None:
    data = str(house.settings.data)
    said = run("retention", "set", "--years", years, "--by", LEAD, "--why", WHY, "--data", data)
    assert said.exit_code == 0, said.output


def close_reviews(house: House, named: list[str] | None = None) -> None:
    listed = house.as_officer().get("/api/incidents").json()["rows"]
    for line in named or [row["line"] for row in listed]:
        at = f"/api/incidents/{line}"
        judged = {"harm": "none", "preventable": "no", "factors": [], "note": ""}
        for number, (what, body) in enumerate(
            [("classification", judged), ("closing", {"note": "done"}), ("close", {"note": "seen"})]
        ):
            client = house.as_lead() if what == "close" else house.as_officer()
            said = client.post(f"{at}/{what}", json={**body, "seen": number}, headers=OWN_PAGE)
            assert said.status_code == 200, said.text


def bodies(house: House) -> int:
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database:
        count: int = database.execute("SELECT count(body) FROM lines WHERE site != ''").fetchone()[0]
    return count


def test_nothing_is_erased_without_a_rule_nor_without_being_told_to(house: House, phone: Phone) -> None:
    assert erase(house)["fault"]["code"] == "no_rule"
    data = str(house.settings.data)

    async def withdraw() -> None:
        store = await Store.open(house.settings.database)
        gone = next(person for person in await store.staff() if person.name == OFFICER)
        await store.withdraw_staff(gone.id, "command", "left", 1)
        await store.close()

    keep_for(house)
    assert "10 years" in run("retention", "show", "--data", data).output
    close_reviews(house)
    before = bodies(house)
    said = erase(house)
    assert [(due["case"], due["code"], due["lines"], due["held"]) for due in said["due"]] == [
        (OLD, "HR-OLD", 5, None)
    ]
    assert (said["for_good"], said["erased"], bodies(house)) == (False, 0, before)
    in_words = run("erase", "--data", data).output
    assert OLD in in_words
    assert "Nothing was erased" in in_words
    run("retention", "set", "--for-good", "--by", LEAD, "--why", WHY, "--data", data)
    assert erase(house)["fault"]["code"] == "no_rule"
    asyncio.run(withdraw())
    for name in ("Nobody", OFFICER):
        by = ["--by", name, "--why", WHY, "--data", data, "--json"]
        refused = run("retention", "set", "--years", "10", *by)
        assert json.loads(refused.output)["fault"]["code"] == "staff_unknown", name


def test_a_case_under_review_stays(house: House, phone: Phone) -> None:
    keep_for(house)
    before = bodies(house)
    assert [due["held"] for due in erase(house, "--for-good")["due"]] == ["open_review"]
    one = erase(house, "--case", OLD, "--by", OFFICER, "--why", "asked for", "--for-good")
    assert one["fault"]["code"] == "held"
    assert bodies(house) == before


def test_every_page_reads_on_and_the_rates_are_as_they_were(house: House, phone: Phone) -> None:
    keep_for(house)
    close_reviews(house)
    officer = house.as_officer()
    before = {page: officer.get(page) for page in PAGES}
    assert {page: answer.status_code for page, answer in before.items()} == dict.fromkeys(PAGES, 200)
    assert WORDS in before[PAGES[0]].text
    assert erase(house, "--for-good")["erased"] == 5
    officer = house.as_officer()
    after = {page: officer.get(page) for page in PAGES}
    assert {page: answer.status_code for page, answer in after.items()} == dict.fromkeys(PAGES, 200)
    for page in ("/api/rates?of=near_miss", "/api/craft", "/api/incident-counts"):
        was, now = before[page].json(), after[page].json()
        for told in (was, now):
            told.pop("position", None)
        assert now == was, page
    story = after[PAGES[0]].json()
    assert WORDS not in after[PAGES[0]].text
    assert (story["code"], story["state"], story["outcome"]) == (None, "closed", "completed")
    [stone] = [entry for entry in story["entries"] if entry["type"] == "bodies.erased"]
    assert (stone["body"]["rule"], stone["body"]["years"], stone["body"]["why"]) == ("age", 10, WHY)
    listed = {row["case"]: row for row in after["/api/incidents"].json()["rows"]}
    assert (listed[OLD]["note"], listed[NEW]["note"]) == ("", WORDS)
    page = house.as_officer().get(f"/api/incidents/{listed[OLD]['line']}")
    assert (page.status_code, page.json()["row"]["state"]) == (200, "closed")


def test_the_bytes_are_gone_while_the_server_runs_and_no_phone_brings_them_back(
    house: House, phone: Phone
) -> None:
    keep_for(house)
    close_reviews(house)
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database:
        raws = [
            envelope + b"\t" + body
            for envelope, body in database.execute(
                "SELECT envelope, body FROM lines WHERE device = ? ORDER BY seq", (phone.device,)
            )
        ]
    assert erase(house, "--case", NEW, "--by", OFFICER, "--why", "asked for", "--for-good")["erased"] == 5
    assert erase(house, "--for-good")["erased"] == 5
    for path in house.settings.data.rglob("*"):
        if path.is_file():
            assert WORDS.encode() not in path.read_bytes(), path
    said = phone.sync(*raws, head_seq=phone.chain.seq)  # by a phone that forgot that it had sent them
    assert {line["status"] for line in said["lines"]} == {"repeat"}
    assert bodies(house) == 1, "but for the phone's own first line"
    missing = erase(house, "--case", NEW, "--by", OFFICER, "--why", "asked for", "--for-good")
    assert missing["fault"]["code"] == "case_unknown"


def test_an_export_verifies_and_says_what_was_erased(house: House, phone: Phone, tmp_path: Path) -> None:
    keep_for(house)
    close_reviews(house)
    erase(house, "--for-good")
    data = ["--data", str(house.settings.data)]
    assert run("export", str(tmp_path / "all"), *data).exit_code == 0
    said = run("verify", str(tmp_path / "all"))
    assert said.exit_code == 0, said.output
    assert f"of case {OLD}: 8 bodies erased by rule, after 10 years" in said.output
    assert WHY in said.output
    assert "Of 8 more the body was erased" in said.output
    verdict = json.loads(run("verify", str(tmp_path / "all"), "--json").output)
    assert (verdict["ok"], verdict["erased"]) == (True, 8)


def test_an_older_backup_still_holds_it_and_the_rule_is_run_again(
    house: House, phone: Phone, tmp_path: Path
) -> None:
    keep_for(house)
    close_reviews(house)
    backed_up(house, tmp_path / "one.backup")
    erase(house, "--for-good")
    restored = tmp_path / "restored"
    said = run("restore", str(tmp_path / "one.backup"), "--data", str(restored))
    assert "run chinrest erase" in said.output
    with TestClient(create_app(Settings(data=restored))):
        again = json.loads(run("erase", "--for-good", "--data", str(restored), "--json").output)
    assert again["erased"] == 5


def test_folds_made_anew_count_the_same(house: House, phone: Phone) -> None:
    keep_for(house)
    close_reviews(house)

    def sums() -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(house.settings.data / DATABASE)) as database:
            return database.execute("SELECT * FROM sums ORDER BY kind, key, sub, site, month").fetchall()

    async def refold() -> None:
        store = await Store.open(house.settings.database)
        await store.refold()
        await store.close()

    before = sums()
    assert ("use", "wide", "", "harbour") in {row[:4] for row in before}
    erase(house, "--for-good")
    assert sums() == before
    asyncio.run(refold())
    assert sums() == before


def test_an_incident_without_a_case_goes_by_rule_and_by_request(house: House, phone: Phone) -> None:
    keep_for(house)
    close_reviews(house)
    told = erase(house)
    assert told["loose"] == []
    line = phone.write(near_miss(WORDS), None)
    phone.sync(line)
    event = line.envelope.id
    by = ("--incident", event, "--by", OFFICER, "--why", "asked for")
    assert erase(house, *by)["fault"]["code"] == "held"
    close_reviews(house, [event])
    house.as_officer().get("/api/export/incidents.csv?q=HR-NEW")
    [due] = erase(house, *by)["loose"]
    assert (due["device"], due["lines"], len(due["words"])) == (phone.device, [event], 3)
    said = run("erase", *by, "--for-good", "--data", str(house.settings.data))
    assert "Erased: 1 body that phones wrote" in said.output
    assert "the words of 3 of the server's own lines" in said.output
    page = house.as_officer().get(f"/api/incidents/{event}").json()
    assert (page["row"]["note"], page["row"]["state"]) == ("", "closed")
    assert [page["review"]["closing"][name] for name in ("asked_note", "closed_note")] == ["(erased)"] * 2
    assert erase(house, *by)["fault"]["code"] == "incident_unknown"
    assert erase(house, *by, "--case", OLD)["fault"]["code"] == "value"
    # what was taken out, by age: the question had a case's code in it
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database, database:
        database.execute("UPDATE lines SET received_at = 0 WHERE type = 'log.exported'")
    in_words = run("erase", "--data", str(house.settings.data)).output
    assert "this server" in in_words
    assert erase(house, "--for-good")["words"] == 3 + 1, "of the old case's review, and the taking-out"


@pytest.mark.parametrize(
    ("now", "years", "then"),
    [
        (1_835_049_600_000, 8, 1_582_588_800_000),  # 2028-02-25 to 2020-02-25
        (1_835_395_200_000, 1, 1_803_772_800_000),  # 2028-02-29 to 2027-02-28
    ],
)
def test_years_are_those_of_the_calendar(now: int, years: int, then: int) -> None:
    assert years_before(now, years) == then


def test_the_command_line_is_refused_where_it_is_not_whole(house: House, phone: Phone) -> None:
    assert erase(house, "--case", OLD)["fault"]["code"] == "value"
    assert erase(house, "--why", "x")["fault"]["code"] == "value"
    data = str(house.settings.data)
    both = run("retention", "set", "--years", "2", "--for-good", "--by", LEAD, "--why", WHY, "--data", data)
    assert both.exit_code == 1
    none = run("retention", "set", "--years", "0", "--by", LEAD, "--why", WHY, "--data", data)
    assert none.exit_code == 2
