"""The officer's list and timeline."""

from typing import Any

from invented import START, Phone
from stored import a_case, meddle, opened, rows, runs, send

from chinrest.log.house_events import CaseRead
from chinrest.log.review_events import ClosingAsked, IncidentClassified, IncidentClosed
from chinrest.store.engines import Place


def north() -> Phone:
    phone = Phone("Room 2")
    phone.write("case.opened", "c1", code="T-0412")
    phone.write("safety.noted", "c1", what="faint", harm="mild", note="Came round, Ärztin told", optic="wide")
    phone.write("safety.noted", "c1", what="optic_not_latched", reached_patient=False)
    phone.write("safety.noted", "c2", what="faint", practice=True)
    return phone


def south() -> Phone:
    phone = Phone("Van phone", START + 10**6)
    phone.write("safety.noted", "c3", what="fall", harm="none", reached_patient=None)
    return phone


@runs
async def test_filters(file: Place) -> None:
    one, two = north(), south()
    async with opened(file, one) as store, opened(file, two, site="south") as _:
        await send(store, one, one.raws)
        await send(store, two, two.raws)

        async def found(**wanted: Any) -> list[str]:
            listed = await store.incidents(**wanted)
            assert listed.total == len(listed.rows)
            return [row.what for row in listed.rows]

        assert await found() == ["fall", "faint", "optic_not_latched", "faint"]
        assert await found(site="south") == ["fall"]
        assert await found(site="west") == []
        assert await found(kind="near_miss") == ["optic_not_latched"]
        assert await found(kind="event") == ["fall", "faint", "faint"]
        assert await found(kind="else") == []
        assert await found(what="faint") == ["faint", "faint"]
        assert await found(what="faint", practice=False) == ["faint"]
        assert await found(practice=True) == ["faint"]
        assert await found(harm="mild") == ["faint"]
        assert await found(q="t-04") == ["optic_not_latched", "faint"]
        assert await found(q="ärztin") == ["faint"]
        assert await found(q="VAN") == ["fall"]
        assert await found(q="%") == []
        listed = await store.incidents(limit=1, offset=1)
        assert (listed.total, listed.position, [row.what for row in listed.rows]) == (4, 5, ["faint"])
        [row] = (await store.incidents(harm="mild")).rows
        assert (row.case, row.case_code, row.site, row.site_name, row.device_label, row.optic) == (
            "c1",
            "T-0412",
            "north",
            "North clinic",
            "Room 2",
            "wide",
        )
        assert (row.received_at, row.near_miss, row.amended, row.withdrawn) == (START, False, False, False)


@runs
async def test_the_timeline_and_the_reading_of_it(file: Place) -> None:
    one = north()
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        assert await store.timeline("no such case") is None
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert (timeline.code, timeline.site_name, timeline.state, timeline.position) == (
            "T-0412",
            "North clinic",
            "open",
            4,
        )
        assert [entry.seq for entry in timeline.entries] == [1, 2, 3]
        assert {entry.device_label for entry in timeline.entries} == {"Room 2"}
        assert {entry.offset_ms for entry in timeline.entries} == {250}
        read = await store.append_own(CaseRead(salt="s", by="officer"), "officer", START + 10**6, case="c1")
        again = await store.timeline("c1")
        assert again is not None
        assert (again.entries[-1].id, again.entries[-1].type) == (read, "case.read")
        assert again.site == "north"


@runs
async def test_folds_made_anew_are_the_same_and_from_the_lines_alone(file: Place) -> None:
    one = north()
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        before = rows(file, "SELECT * FROM incidents ORDER BY line")
        meddle(file, "DELETE FROM incidents", "UPDATE cases SET code = 'wrong', state = 'closed'")
        await store.refold()
        assert rows(file, "SELECT * FROM incidents ORDER BY line") == before
        assert rows(file, "SELECT code, state FROM cases WHERE case_id = 'c1'") == [("T-0412", "open")]


@runs
async def test_an_erased_or_sealed_body_leaves_the_chain_and_the_rest_standing(file: Place) -> None:
    """Erasing and sealing come later; the store can already hold such lines."""
    one = north()
    async with opened(file, one) as store:
        await send(store, one, one.raws)
        sealed = "decode('00ff', 'hex')" if isinstance(file, str) else "x'00ff'"
        meddle(
            file,
            "UPDATE lines SET body = NULL, body_state = 'erased' WHERE seq = 2",
            f"UPDATE lines SET body = {sealed}, body_state = 'sealed' WHERE seq = 3",
        )
        await store.refold()
        assert [row.what for row in (await store.incidents()).rows] == ["faint"]
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert [(entry.known, entry.body is None) for entry in timeline.entries] == [
            (True, False),
            (True, True),
            (True, True),
        ]
        assert (await store.pull("north", "two", None, 10**6)).lines == [one.raws[0], one.raws[3]]
        one.write("step.done", "c1")
        await send(store, one, one.raws[4:])
        assert await store.holds(one.device) == [(1, 5)]


@runs
async def test_reviews_are_the_same_made_anew_from_the_lines_alone(file: Place) -> None:
    phone = a_case(lines=3)
    event = phone.write(
        "safety.noted", "c1", what="faint", reached_patient=True, harm=None, signs=[], done=[], told=[]
    )
    incident = event.envelope.id
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        judged = IncidentClassified(
            salt="s", incident=incident, by="olga", harm="mild", preventable="no", factors=[]
        )
        await store.decide(judged, 0, START)
        await store.decide(ClosingAsked(salt="s", incident=incident, by="olga", note="seen"), 1, START)
        await store.decide(IncidentClosed(salt="s", incident=incident, by="lea", note=""), 2, START)
        assert (await store.review_of(incident)).state == "closed"
        phone.write("case.closed", "c1", outcome="completed")
        await send(store, phone, phone.raws[-1:])
        before = rows(file, "SELECT * FROM reviews ORDER BY incident")
        assert [(row[2], bool(row[3])) for row in before] == [("in_review", True)]
        await store.refold()
        assert rows(file, "SELECT * FROM reviews ORDER BY incident") == before
