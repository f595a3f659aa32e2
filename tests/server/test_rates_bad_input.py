"""What a committee asks first of a rate: what became of the odd cases. Each has a rule that the page shows,
and is counted or left out by it. All cases are invented."""

import asyncio
import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
from callers import OWN_PAGE, SITES, House
from carrying import Phone, opened
from hub_calling import Hub
from test_server_rates import asked, injected, noted, visit

from chinrest.log.case_events import LineAmended, OpticChosen
from chinrest.log.line import Line
from chinrest.log.write import new_salt
from chinrest.server.context import now_ms
from chinrest.store import Store

TEN_YEARS_MS = 10 * 365 * 86_400_000
THIS_MONTH = datetime.now(UTC).strftime("%Y-%m")


def ready(house: House) -> Phone:
    phone = house.phone()
    phone.sync(phone.first_line())
    return phone


def months(house: House, **wanted: Any) -> dict[str, tuple[int, int]]:
    rows = asked(house, of="reaction", by="month", **wanted)["rows"]
    return {row["key"]: (row["events"], row["procedures"]) for row in rows}


def total(house: House, of: str = "reaction", **wanted: Any) -> tuple[int, int]:
    counted = asked(house, of=of, **wanted)["total"]
    return counted["events"], counted["procedures"]


def says(house: House, rule: str, of: str = "reaction", **wanted: Any) -> None:
    rules = asked(house, of=of, **wanted)["rules"]
    assert [one for one in rules if rule in one], rules


def dated(phone: Phone, at: int) -> list[Line]:
    """A visit with an injection and a reaction, by a clock that says `at`."""
    case = str(uuid.uuid4())
    bodies = [opened(), injected(), noted("dye_reaction")]
    return [phone.chain.write(body, at=at, mono=1, actor="AB", case=case) for body in bodies]


def test_nothing_done_and_a_period_without_procedures(house: House) -> None:
    report = asked(house, of="reaction")
    assert (report["total"]["rate"], report["total"]["none"]) == (
        None,
        "Nothing of the kind was done: there is no rate.",
    )
    visit(ready(house), injected(), noted("dye_reaction"))
    assert total(house) == (1, 1)
    early = asked(house, of="reaction", first="2001-01", last="2001-12")["total"]
    assert (early["events"], early["procedures"], early["rate"]) == (0, 0, None)
    says(house, "Where nothing was done there is no rate")


def test_more_events_than_procedures(house: House) -> None:
    """Two reactions late at night are told of; the line of one injection is all there is."""
    phone = ready(house)
    visit(phone, injected(), *[noted("dye_reaction") for _ in range(2)])
    row = asked(house, of="reaction")["total"]
    assert (row["events"], row["procedures"], row["rate"]) == (2, 1, None)
    assert row["none"].startswith("More events than procedures on record")
    says(house, "none where more events than procedures are on record")


def test_a_renamed_site_keeps_its_cases(house: House) -> None:
    visit(ready(house), injected())
    before = asked(house, of="reaction", by="site")["rows"]

    async def rename() -> None:
        store = await Store.open(house.settings.database, sites={**SITES, "harbour": "Quayside Eye Clinic"})
        await store.close()

    asyncio.run(rename())
    names = {site["id"]: site["name"] for site in house.as_officer().get("/api/sites").json()}
    assert names["harbour"] == "Quayside Eye Clinic"
    assert asked(house, of="reaction", by="site")["rows"] == before
    says(house, "a renamed one keeps its cases")


def test_what_is_amended_counts_as_it_stands_and_practice_never(house: House) -> None:
    phone = ready(house)
    case = visit(phone, injected())
    event = phone.write(noted("dye_reaction"), case)
    phone.sync(event)
    assert total(house) == (1, 1)
    gone = LineAmended(salt=new_salt(), line=event.envelope.id, body=None, why="wrong case")
    phone.sync(phone.write(gone, case))
    assert total(house) == (0, 1)
    bodies = [opened(), OpticChosen(salt=new_salt(), optic="wide"), injected(), noted("dye_reaction")]
    for body in bodies:
        phone.sync(
            phone.chain.write(body, at=now_ms(), mono=1, actor="AB", case="in-practice", practice=True)
        )
    assert total(house) == (0, 1)
    says(house, "Left out: 1 practice")
    says(house, "what was taken back does not count")


def test_a_withdrawn_devices_lines_count_and_so_do_those_that_a_hub_brings_later(house: House) -> None:
    phone = ready(house)
    visit(phone, injected(), noted("dye_reaction"))
    held = dated(phone, now_ms())  # written before, and not yet sent
    done = house.as_lead().post(
        f"/api/devices/{phone.device}/withdraw", json={"why": "lost"}, headers=OWN_PAGE
    )
    assert done.status_code == 200
    assert total(house) == (1, 1)
    refused = phone.post(phone.body(*held))
    assert (refused.status_code, refused.json()["code"]) == (403, "device_withdrawn")
    assert total(house) == (1, 1)
    hub = Hub()
    hub.approve(house.settings)
    answer = hub.carry(house.client, hub.parcel(phone, "harbour", *(line.raw for line in held)))
    assert answer.status_code == 200, answer.text
    assert total(house) == (2, 2)
    says(house, "A withdrawn device's lines count, those too that a hub brings later")


@pytest.mark.parametrize("off_ms", [TEN_YEARS_MS, -TEN_YEARS_MS])
def test_a_clock_ten_years_wrong_is_set_right_where_it_was_compared(house: House, off_ms: int) -> None:
    phone = ready(house)
    phone.sync(*dated(phone, now_ms() + off_ms), now=now_ms() + off_ms)
    assert months(house) == {THIS_MONTH: (1, 1)}
    says(house, "set right by what that clock was off when the line came, be it years")
    says(house, "0 cases are dated before this server was set up or after its last line came")


@pytest.mark.parametrize("off_ms", [TEN_YEARS_MS, -TEN_YEARS_MS])
def test_a_clock_ten_years_wrong_that_nobody_compared_is_counted_and_told(house: House, off_ms: int) -> None:
    phone, hub = Phone(house.client), Hub()
    hub.approve(house.settings)
    lines = [phone.first_line(), *dated(phone, now_ms() + off_ms)]
    answer = hub.carry(house.client, hub.parcel(phone, "harbour", *(line.raw for line in lines)))
    assert answer.status_code == 200, answer.text
    assert total(house) == (1, 1)  # in all time it counts
    assert total(house, first=THIS_MONTH, last=THIS_MONTH) == (0, 0)  # in this month it does not
    named = datetime.fromtimestamp((now_ms() + off_ms) / 1000, UTC).strftime("%Y-%m")
    assert months(house) == {named: (1, 1)}
    says(house, "1 case is dated before this server was set up or after its last line came")
