"""What belongs to no case is erased by its own age, and what the desk wrote goes with what it is about."""

from hashlib import sha256
from typing import Any, get_args

import msgspec
import pytest
from invented import START, Phone
from sqlalchemy import LargeBinary, String
from stored import altered, everything, folds, opened, restored, rows, runs, said, send
from test_store_erasing import (
    BY_AGE,
    WORDS,
    YEAR,
    a_full_case,
    erase_due,
    exported,
    verdict_of,
)

from chinrest.log.erasure_events import BodiesErased, ErasedDecision
from chinrest.log.erasures import ERASED, decisions_of, tombstone_text, without_words
from chinrest.log.erasures import WORDS as WORD_FIELDS
from chinrest.log.house_events import LogExported
from chinrest.log.registry import SERVER_TYPES
from chinrest.log.review_events import (
    ActionAdded,
    ActionChanged,
    ActionFinished,
    ClosingAsked,
    IncidentClassified,
    IncidentClosed,
    IncidentCommented,
    IncidentLinked,
    IncidentReopened,
    ReactionParted,
    ReviewBody,
)
from chinrest.store import Store, reach
from chinrest.store.engines import Place
from chinrest.store.erasing import Erased, Order
from chinrest.store.moving import move
from chinrest.store.relaying import Passed
from chinrest.store.tables import metadata

LATER = START + YEAR


def a_loose_event(phone: Phone) -> str:
    """From home, and amended; the line that made the incident."""
    event = phone.write("safety.noted", what="faint", harm="mild", note=WORDS, late=True).envelope.id
    body = {"what": "faint", "reached_patient": True, "harm": "moderate", "note": f"{WORDS}, and more"}
    full = {**body, "signs": [], "done": [], "told": [], "late": True}
    phone.write("line.amended", line=event, body=full, why=WORDS)
    return event


async def erase_loose(store: Store, now: int = LATER) -> Erased:
    done = [
        await store.erase_loose(one, BY_AGE, now) for one in await store.loose_before(now) if not one.held
    ]
    return Erased(
        bodies=sum(one.bodies for one in done),
        words=sum(one.words for one in done),
        refused=sum(one.refused for one in done),
    )


async def worked_on(store: Store, incident: str, at: int = START) -> None:
    """By every kind of review line that holds words, and to its end."""
    of: Any = {"salt": "s", "incident": incident, "by": "olga"}
    action: Any = {**of, "action": "a1"}
    for seen, body in enumerate(
        (
            IncidentClassified(**of, harm="mild", preventable="no", factors=[WORDS], note=WORDS),
            IncidentCommented(**of, text=WORDS),
            IncidentLinked(**of, other="x", why=WORDS),
            ActionAdded(**action, text=WORDS, owner=WORDS, due="2027-01-01"),
            ActionChanged(**action, owner=f"{WORDS}!", due="2027-02-01", why=WORDS),
            ActionFinished(**action, done=True, note=WORDS),
            ClosingAsked(**of, note=WORDS),
            IncidentReopened(**of, why=WORDS),
            ClosingAsked(**of, note=WORDS),
            IncidentClosed(**{**of, "by": "lea"}, note=WORDS),
        )
    ):
        await store.decide(body, seen, at)


def with_words(file: Place) -> set[str]:
    """Tables that a person's words or a case's code stand in."""
    return {
        table
        for table, found in everything(file).items()
        for row in found
        for cell in row
        if any(
            word in (bytes(cell) if isinstance(cell, bytes | memoryview) else str(cell).encode())
            for word in (WORDS.encode(), WORDS.casefold().encode(), b"HR-4711", b"hr-4711")
        )
    }


@runs
async def test_an_event_without_a_case_goes_and_counts_as_before(file: Place, other_file: Place) -> None:
    phone, other = Phone("phone"), Phone("other")
    phone.write_raw("device.enrolled", b'{"salt":"s","public_key":"AAAA","label":"P","site":"north"}')
    event = a_loose_event(phone)
    phone.write_raw("some.thing_new", msgspec.json.encode({"said": WORDS}))
    a_loose_event(other)
    async with opened(file, phone, other) as store:
        await send(store, phone, phone.raws)
        await send(store, other, other.raws, at=LATER)
        await worked_on(store, event)
        before = {row.line: row for row in (await store.incidents()).rows}
        review = await store.review_of(event)
        [due] = await store.loose_before(LATER)
        assert (due.device, due.site, len(due.lines), len(due.words)) == (phone.device, "north", 3, 10)
        assert (due.refused, due.oldest_at, due.held) == (0, START, None)
        assert await erase_loose(store) == Erased(bodies=3, words=10)
        assert await store.loose_before(LATER) == []

        gone = rows(file, "SELECT seq FROM lines WHERE device = ? AND body IS NULL", phone.device)
        assert sorted(gone) == [(2,), (3,), (4,)], "the phone's key stays"
        assert rows(file, "SELECT count(*) FROM lines WHERE device = ? AND body IS NULL", other.device) == [
            (0,)
        ]
        row = {row.line: row for row in (await store.incidents()).rows}[event]
        assert row == msgspec.structs.replace(before[event], note="")
        assert (row.harm, row.amended, row.officer_harm, row.state) == ("moderate", True, "mild", "closed")
        told = await store.review_of(event)
        assert (told.count, told.state) == (review.count, "closed")
        assert [(c.by, c.at, c.text) for c in told.comments] == [("olga", START, ERASED)]
        assert [(a.due, a.state, a.owner) for a in told.actions] == [("2027-02-01", "done", ERASED)]
        assert told.judged is not None
        assert (told.judged.classified.harm, told.judged.classified.factors) == ("mild", [ERASED])
        after = folds(file)
        await store.refold()
        assert folds(file) == after
        verdict = await verdict_of(store)
        assert verdict.ok, verdict.first_bad
        assert (verdict.erased, [(e.case, e.bodies) for e in verdict.erasures]) == (13, [(None, 13)])
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 4
        await store.new_epoch(LATER)
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 4
        assert (
            sorted(rows(file, "SELECT seq FROM lines WHERE device = ? AND body IS NULL", phone.device))
            == gone
        )
    await move(file, other_file, lambda _table, _rows: None)
    async with opened(other_file) as moved:
        assert (await verdict_of(moved)).erased == 13
        assert {r.line: r for r in (await moved.incidents()).rows}[event] == row


@runs
async def test_nothing_of_a_person_is_left_in_any_table(file: Place) -> None:
    """By every way in that there is: a case, none, refused lines of both, reviews, and what was taken out."""
    phone = a_full_case()
    event = a_loose_event(phone)
    forked = restored(Phone("forked"), 0, 0)
    for name in ("one", "two"):
        forked.write("safety.noted", what="faint", note=f"{WORDS}, {name}")
    twin = Phone("forked")
    twin.at += 50
    twin.write("safety.noted", what="fall", note=WORDS)
    async with opened(file, phone, forked) as store:
        await send(store, phone, [*phone.raws, phone.raws[0] + b" "])
        # a body that does not fit its type: the reason of the refusal quotes it
        bad = msgspec.json.encode({"salt": "s", "outcome": WORDS})
        last = phone.write("case.closed", "c1", outcome="completed").raw
        envelope, _, _ = altered(last, body_sha256=sha256(bad).hexdigest()).partition(b"\t")
        assert said(await send(store, phone, [envelope + b"\t" + bad])) == ["bad_body"]
        await send(store, forked, forked.raws)
        assert said(await send(store, forked, twin.raws)) == ["fork"]
        for row in (await store.incidents()).rows:
            await worked_on(store, row.line)
        taken = LogExported(salt="s", by="olga", what="incidents_csv", query="q=HR-4711", rows=1)
        await store.append_own(taken, "olga", START)
        assert {"lines", "refused", "stubs", "incidents", "cases"} <= with_words(file), (
            "or it would look for nothing"
        )
        assert rows(file, "SELECT count(*) FROM stubs WHERE reason LIKE ?", f"%{WORDS}%") == [(1,)]

        assert [one.held for one in await erase_due(store, LATER)] == [None]
        done = await erase_loose(store)
        assert (done.bodies, done.refused) == (4, 1), "the refused line of the case went with it"
        assert with_words(file) == set()
        assert (await verdict_of(store)).ok
        answer = await send(store, forked, twin.raws)
        assert said(answer) == ["fork"]
        assert with_words(file) == set(), "and what is offered again brings nothing back"
        assert WORDS.encode() not in b"".join(await exported(store))
        assert {row.line for row in (await store.incidents()).rows} >= {event}
        await store.refold()
        assert with_words(file) == set()


@runs
async def test_what_the_desk_writes_later_has_its_own_age(file: Place) -> None:
    phone = a_full_case()
    event = a_loose_event(phone)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        for row in (await store.incidents()).rows:
            await worked_on(store, row.line)
        await erase_due(store, LATER)
        await erase_loose(store)
        for row in (await store.incidents()).rows:
            await store.decide(
                IncidentCommented(salt="s", incident=row.line, by="olga", text=WORDS), None, LATER
            )
        assert (await store.due_before(LATER), await store.loose_before(LATER)) == ([], [])
        [due] = await store.due_before(LATER + 1)
        assert (due.case, due.lines, due.words, due.held) == ("c1", 0, 1, None)
        [loose] = await store.loose_before(LATER + 1)
        assert (loose.lines, len(loose.words), loose.held) == ([], 1, None)
        await erase_due(store, LATER + 1)
        await erase_loose(store, LATER + 1)
        assert with_words(file) == set()
        assert (await store.review_of(event)).count == 11
        assert (await verdict_of(store)).ok


@runs
async def test_an_incident_without_a_case_stays_under_review_and_goes_by_request(file: Place) -> None:
    phone = Phone("phone")
    event, other = a_loose_event(phone), a_loose_event(phone)
    request = Order(by="olga", rule="request", years=None, why="asked for it")
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        assert [one.held for one in await store.loose_before(LATER)] == ["open_review"]
        assert await erase_loose(store) == Erased()
        held = await store.loose_incident(event)
        assert held is not None
        assert await store.erase_loose(held, request, LATER) == Erased()
        await worked_on(store, event)
        due = await store.loose_incident(event)
        assert due is not None
        assert await store.erase_loose(due, request, LATER) == Erased(bodies=2, words=10)
        assert await store.loose_incident(event) is None
        assert await store.loose_incident("nowhere") is None
        notes = {row.line: row.note for row in (await store.incidents()).rows}
        assert notes == {event: "", other: f"{WORDS}, and more"}
        # amended afterwards: that is as old as it came, and counts for nothing
        phone.write("line.amended", line=event, body=None, why=WORDS)
        await send(store, phone, phone.raws[4:], at=LATER)
        assert {row.line: row.withdrawn for row in (await store.incidents()).rows} == {
            event: False,
            other: False,
        }
        assert (await store.review_of(event)).late
        assert {one.held for one in await store.loose_before(LATER + 1)} == {"open_review"}


@runs
async def test_a_hub_keeps_without_a_case_what_the_hospital_lacks(file: Place) -> None:
    phone = Phone("phone")
    event = a_loose_event(phone)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await worked_on(store, event)
        await store.pin_beyond("hospital", "KEY", START)
        for seq, held in ((1, "not_passed_on"), (2, None)):
            word: Any = {"server": "hospital", "epoch": "e", "kind": "final", "at": 1, "signature": "s"}
            await store.note_passed([Passed(device=phone.device, seq=seq, head_sha256="0" * 64, **word)])
            [due] = await store.loose_before(LATER)
            assert due.held == held


@runs
async def test_refused_lines_of_no_case_are_due_at_their_phones_site(file: Place) -> None:
    """Though nothing else of that phone is due."""
    phone = Phone("phone")
    async with opened(file, phone) as store:
        await send(store, phone, [b"nonsense"])
        [due] = await store.loose_before(LATER)
        assert (due.site, due.lines, due.refused) == ("north", [], 1)


@runs
async def test_what_is_counted_together_is_erased_together(file: Place) -> None:
    """Not as a phone writes it, and yet it could come: nothing is counted twice afterwards."""
    phone = Phone("phone")
    pose = {"eye": "right", "optic": "wide", "gaze_deg": [0.0, 0.0], "outcome": "as_advised", "touched": True}
    phone.write("pose.found", **pose)
    phone.write("safety.noted", what="touched_by_optic", eye="right", optic="wide")
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws[:1])
        await send(store, phone, phone.raws[1:], at=LATER)
        [row] = (await store.incidents()).rows
        await worked_on(store, row.line)
        assert [one.lines for one in await store.loose_before(LATER)] == []
        [due] = await store.loose_before(LATER + 1)
        assert len(due.lines) == 2
        await erase_loose(store, LATER + 1)
        assert [each.line for each in (await store.incidents()).rows] == [row.line]


def test_every_column_of_text_has_an_answer() -> None:
    """A new column that could hold what somebody wrote needs one in `chinrest.store.reach`."""
    wordy = {
        name: {column.name for column in table.columns if isinstance(column.type, String | LargeBinary)}
        for name, table in metadata.tables.items()
    }
    assert {name: set(columns) for name, columns in reach.COLUMNS.items()} == {
        name: columns for name, columns in wordy.items() if columns
    }


def test_every_type_of_the_servers_own_chain_has_an_answer() -> None:
    answers = [reach.WITH_THE_INCIDENT, reach.BY_ITS_OWN_AGE, reach.STAYS]
    assert frozenset().union(*answers) == SERVER_TYPES
    assert sum(map(len, answers)) == len(SERVER_TYPES)


KEPT_FIELDS = {
    *("salt", "incident", "by", "harm", "preventable", "reaction", "other", "linked", "parted"),
    *("action", "due", "done"),
}
"""Of review lines: ids, days, and what is picked from a list."""


@pytest.mark.parametrize("of", get_args(ReviewBody), ids=lambda cls: cls.__name__)
def test_every_field_of_a_review_is_kept_or_taken_out(of: type[msgspec.Struct]) -> None:
    assert set(of.__struct_fields__) <= KEPT_FIELDS | WORD_FIELDS


def test_words_are_taken_out_and_the_rest_reads_as_before() -> None:
    parted = ReactionParted(salt="s", incident="i", by="olga", reaction="r", why=WORDS, parted=False)
    kept = without_words("L", parted)
    assert WORDS.encode() not in msgspec.json.encode(kept)

    class Stone(msgspec.Struct):
        decisions: list[Any]

    stones: Any = [Stone([kept, msgspec.structs.replace(kept, line="M", type="unheard.of")])]
    assert decisions_of(stones) == {"L": msgspec.structs.replace(parted, salt="", why=ERASED)}


def test_a_tombstone_from_before_decisions_were_kept_still_verifies() -> None:
    """What was signed then said nothing of them."""
    told: dict[str, Any] = {
        **{"type": "bodies.erased", "salt": "s", "by": "command", "rule": "age", "years": 1, "why": "w"},
        **{"erasure": "e", "bodies": ["b"], "case": None, "at": None, "month": None, "tallies": []},
        **{"incidents": [], "refused": 0, "signature": ""},
    }
    stone = msgspec.convert(told, BodiesErased)
    digest = sha256(msgspec.json.encode(["c1", told], order="sorted")).hexdigest()
    assert tombstone_text("c1", stone) == f"chinrest tombstone {digest}"
    kept = ErasedDecision(line="L", type="incident.closed", body={})
    assert tombstone_text("c1", msgspec.structs.replace(stone, decisions=[kept])) != tombstone_text(
        "c1", stone
    )
