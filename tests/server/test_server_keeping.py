"""How old the last backup is, is said at the desk, in the log and at the start; and what is kept, due and
erased, with who did it and under which tombstone."""

import asyncio
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from callers import LEAD, OFFICER, House
from carrying import Phone
from litestar.testing import TestClient
from msgspec.structs import replace
from structlog.testing import capture_logs
from test_server_backup import backed_up
from test_server_erase import NEW, OLD, WHY, close_reviews, erase, keep_for, near_miss, phone

from chinrest.commands.ready import make_ready
from chinrest.server.app import create_app
from chinrest.server.context import now_ms
from chinrest.server.keeping import DAY_MS, backup_standing
from chinrest.server.settings import DATABASE, Settings
from chinrest.store import Store

__all__ = ["phone"]


def standing(house: House, **settings: Any) -> dict[str, Any]:
    async def ask() -> Any:
        store = await Store.open(house.settings.database)
        try:
            said = await backup_standing(store, replace(house.settings, **settings), now_ms())
            started = await make_ready(
                store, replace(house.settings, origin="http://x", **settings), None, opened=False
            )
        finally:
            await store.close()
        return said, [hint for hint in started.hints if "chinrest backup" in hint]

    said, hints = asyncio.run(ask())
    assert bool(hints) == (said.state in ("old", "never")), "the start says what the desk says"
    return {"state": said.state, "last_at": said.last_at, "limit_days": said.limit_days}


def logged(settings: Settings) -> list[Any]:
    with capture_logs() as logs, TestClient(create_app(settings)):
        pass
    return [(entry["log_level"], entry["last_at"]) for entry in logs if entry["event"] == "no recent backup"]


def test_the_desk_says_how_old_the_last_backup_is(house: House, tmp_path: Path) -> None:
    def told() -> Any:
        return house.as_admin().get("/api/backup").json()

    assert told() == {"state": "fine", "last_at": None, "limit_days": 7}, "nobody has sent anything"
    sender = house.phone()
    assert told()["state"] == "fine"
    sender.sync(sender.first_line())
    assert told() == {"state": "never", "last_at": None, "limit_days": 7}
    assert standing(house)["state"] == "never"
    assert standing(house, kind="hub")["state"] == "elsewhere"
    assert logged(house.settings) == [("warning", None)]
    made = backed_up(house, tmp_path / "one.backup")["made_at"]
    assert told() == {"state": "fine", "last_at": made, "limit_days": 7}
    assert logged(house.settings) == []
    earlier = made - 7 * DAY_MS - 60_000
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database, database:
        database.execute("UPDATE backed_up SET made_at = ?", (earlier,))
    for client in (house.as_officer, house.as_lead, house.as_admin):
        assert client().get("/api/backup").json() == {"state": "old", "last_at": earlier, "limit_days": 7}
    assert standing(house)["state"] == "old"
    assert standing(house, backup_days=8) == {"state": "fine", "last_at": earlier, "limit_days": 8}
    assert logged(house.settings) == [("warning", earlier)]


def test_the_demo_is_nobody_s_to_back_up(house: House) -> None:
    sender = house.phone()
    sender.sync(sender.first_line())

    async def ask() -> str:
        store = await Store.open(house.settings.database)
        try:
            return (await backup_standing(store, replace(house.settings, demo=True), now_ms())).state
        finally:
            await store.close()

    assert asyncio.run(ask()) == "fine"


def test_the_rule_what_is_due_and_what_was_erased(house: House, phone: Phone) -> None:
    page = house.as_officer().get("/api/retention").json()
    assert page == {"rule": None, "erasures": [], "tombstones": 0}
    assert house.as_officer().get("/api/retention/due").json() == {"before": None, "sites": []}
    keep_for(house)
    rule = house.as_admin().get("/api/retention").json()["rule"]
    assert (rule["years"], rule["why"], rule["by"]) == (10, WHY, LEAD)
    assert 0 <= now_ms() - rule["since"] < 600_000
    due = house.as_lead().get("/api/retention/due").json()
    [site] = due["sites"]
    assert (site["site"], site["site_name"], site["cases"], site["open_review"]) == (
        "harbour",
        "Harbour",
        0,
        1,
    )
    close_reviews(house)
    loose = phone.write(near_miss("from home"), None)
    phone.sync(loose)
    close_reviews(house, [loose.envelope.id])
    with closing(sqlite3.connect(house.settings.data / DATABASE)) as database, database:
        database.execute("UPDATE lines SET received_at = 0 WHERE id = ?", (loose.envelope.id,))
    [site] = house.as_lead().get("/api/retention/due").json()["sites"]
    said = erase(house)
    assert (site["cases"], site["bodies"], site["loose"], site["words"]) == (1, 5, 1, 6)
    assert site["bodies"] == sum(one["lines"] for one in said["due"]), "as the command says"
    assert (site["oldest_at"], site["open_review"], site["not_passed_on"]) == (0, 0, 0)

    erase(house, "--for-good")
    erase(house, "--case", NEW, "--by", OFFICER, "--why", "asked for", "--for-good")
    found = house.as_officer().get("/api/retention").json()
    asked, of_none, old = found["erasures"]
    assert found["tombstones"] == 3
    assert (asked["rule"], asked["by"], asked["case"], asked["why"]) == ("request", OFFICER, NEW, "asked for")
    assert (old["rule"], old["years"], old["case"], old["loose"]) == ("age", 10, OLD, False)
    assert (old["bodies"], old["words"], old["refused"]) == (5, 3, 0)
    assert "chinrest erase" in old["by"]
    assert (of_none["case"], of_none["loose"], of_none["bodies"], of_none["words"]) == (None, True, 1, 3)
    stones = house.as_officer().get(f"/api/cases/{OLD}").json()["entries"]
    assert old["tombstones"] == [entry["id"] for entry in stones if entry["type"] == "bodies.erased"]
    assert house.as_lead().get("/api/retention/due").json()["sites"] == []
    # an admin reads no case, and so is told of none
    assert {each["case"] for each in house.as_admin().get("/api/retention").json()["erasures"]} == {None}
    assert OLD not in json.dumps(house.as_admin().get("/api/retention").json())


@pytest.mark.parametrize("path", ["/api/backup", "/api/retention", "/api/retention/due"])
def test_a_photographer_is_not_told(house: House, path: str) -> None:
    said = house.as_photographer().get(path)
    assert (said.status_code, said.json()["code"]) == (403, "overseer_only")
