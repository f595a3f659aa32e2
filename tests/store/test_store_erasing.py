"""Bodies erased by rule: the bytes are gone, the chain and the counts stay, and nothing brings them back."""

from typing import Any

import msgspec
import pytest
from invented import START, Phone
from msgspec.structs import replace
from stored import (
    HEAD,
    a_case,
    altered,
    envelope_hash,
    everything,
    folds,
    meddle,
    opened,
    rows,
    runs,
    said,
    send,
)

from chinrest.log.erasure_events import BodiesErased
from chinrest.log.erasures import signed
from chinrest.log.export import decode_row
from chinrest.log.line import decode_line
from chinrest.log.registry import decode_body
from chinrest.log.review_events import ClosingAsked, IncidentClassified, IncidentClosed, IncidentCommented
from chinrest.log.signing import new_key
from chinrest.log.verify import Verdict, verify
from chinrest.store import Store, StoreError
from chinrest.store.engines import Place
from chinrest.store.erasing import IN_USE_MS, Due, Order
from chinrest.store.moving import move
from chinrest.store.relaying import Passed

DYE = {"dye": "fluorescein", "arm": "left", "route": "vein", "pressed_at": 0, "pressed_mono": 0}
YEAR = 365 * 86_400_000
BY_AGE = Order(by="command", rule="age", years=1, why="our rule, invented")
REVIEW_LINES = 3
"""That `reviewed` writes of an incident."""
WORDS = "She told us of her sister"
"""Somebody's words, to be looked for in every file."""


def a_full_case(name: str = "phone", case: str = "c1", at: int = START) -> Phone:
    phone = Phone(name, at)
    phone.write("case.opened", case, code="HR-4711", note=WORDS)
    phone.write("optic.chosen", case, optic="wide", suggested=None, reason="")
    phone.write("dye.injected", case, **DYE)
    phone.write("safety.noted", case, what="faint", harm="mild", note=WORDS, optic="wide")
    phone.write("comfort.noted", case, score=7, bothers=["light"], note=WORDS)
    phone.write("case.closed", case, outcome="completed", note=WORDS)
    return phone


async def reviewed(store: Store, at: int = START) -> None:
    """Every incident, to its end."""
    for row in (await store.incidents()).rows:
        of: Any = {"salt": "s", "incident": row.line}
        judged = IncidentClassified(**of, by="olga", harm="mild", preventable="no", factors=[])
        await store.decide(judged, 0, at)
        await store.decide(ClosingAsked(**of, by="olga", note=""), 1, at)
        await store.decide(IncidentClosed(**of, by="lea", note=""), 2, at)


async def erase_due(store: Store, now: int = START + YEAR) -> list[Due]:
    due = await store.due_before(now)
    for one in due:
        if one.held is None:
            await store.erase(one, BY_AGE, now)
    return due


async def exported(store: Store, now: int = START) -> list[bytes]:
    async with store.export(now) as export:
        return [row async for row in export]


async def verdict_of(store: Store) -> Verdict:
    return verify(await exported(store))


def counts(file: Place) -> tuple[list[Any], ...]:
    """What rates are made of."""
    _cases, _incidents, tallies, sums, reviews, _lines = folds(file)
    return tallies, sums, reviews


@runs
async def test_bodies_go_and_the_chain_and_the_counts_stay(file: Place) -> None:
    phone, other = a_full_case(), a_full_case("other", "c2", START + YEAR)
    async with opened(file, phone, other) as store:
        await send(store, phone, [*phone.raws, phone.raws[-1] + b" "], at=START)
        await send(store, other, other.raws, at=START + YEAR)
        await reviewed(store)
        before, held = counts(file), await store.holds(phone.device)
        listed = {row.line: row for row in (await store.incidents()).rows}
        with store.hear() as hearing:
            [due] = await erase_due(store)
            assert "lines" in await hearing.next(10)
        assert (due.case, due.code, due.lines, due.refused, due.held) == ("c1", "HR-4711", 6, 1, None)

        gone = rows(file, "SELECT body, body_state FROM lines WHERE device = ?", phone.device)
        assert gone == [(None, "erased")] * 6
        assert rows(file, "SELECT count(*) FROM lines WHERE body IS NULL") == [(6 + REVIEW_LINES,)]
        assert rows(file, "SELECT count(*) FROM refused WHERE raw IS NOT NULL") == [(0,)]
        assert counts(file) == before, "what rates count is as it was"
        assert await store.holds(phone.device) == held
        assert await store.due_before(START + YEAR) == []

        for row in (await store.incidents()).rows:
            kept = ("", None) if row.case == "c1" else (WORDS, "HR-4711")
            assert row == replace(listed[row.line], note=kept[0], case_code=kept[1])
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert (timeline.state, timeline.outcome, timeline.code) == ("closed", "completed", None)
        assert [e.body for e in timeline.entries if e.device == phone.device] == [None] * 6
        stone = timeline.entries[-1]
        assert stone.type == "bodies.erased"
        assert (stone.body or {})["why"] == "our rule, invented"
        after = everything(file)
        await store.refold()
        assert counts(file) == before, "and so it is when every fold is made anew"
        assert everything(file) == after


@runs
async def test_the_export_says_how_many_and_under_which_tombstone(file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        lines = (await verdict_of(store)).lines
        await erase_due(store)
        verdict = await verdict_of(store)
        assert verdict.ok, verdict.first_bad
        assert (verdict.erased, verdict.lines) == (9, lines - 9 + 1)
        [erasure] = verdict.erasures
        assert (erasure.case, erasure.rule, erasure.years, erasure.bodies) == ("c1", "age", 1, 9)
        assert WORDS.encode() not in b"".join(await exported(store))


@runs
async def test_a_missing_body_without_a_tombstone_is_a_fault(file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        await erase_due(store)
        sound = await exported(store)
        place = next(n for n, row in enumerate(sound, start=1) if b'"erased"' in row[:20])
        # somebody else's hand: one body more is gone than the tombstone names
        [row] = (await store.incidents()).rows
        late = IncidentCommented(salt="s", incident=row.line, by="olga", text="asked again")
        await store.decide(late, None, START)
        meddle(file, "UPDATE lines SET body = NULL WHERE type = 'incident.commented'")
        other = verify(await exported(store))
        assert (other.ok, other.first_bad and other.first_bad.code) == (False, "no_tombstone")
        assert other.first_bad is not None
        assert b"incident.commented" in (await exported(store))[other.first_bad.number - 1]
        # the tombstone itself gone
        meddle(file, "UPDATE lines SET body = NULL WHERE type = 'bodies.erased'")
        none = verify(await exported(store))
        assert (none.ok, none.first_bad and none.first_bad.code) == (False, "no_tombstone")
    # a changed envelope is found like any other
    row = decode_row(sound[place - 1][:-1])
    assert not isinstance(row, str)
    spoiled = [*sound]
    spoiled[place - 1] = sound[place - 1].replace(b'\\"seq\\":1', b'\\"seq\\":2')
    bad = verify(spoiled).first_bad
    assert bad is not None
    assert bad.number in (place, place + 1)


@runs
async def test_a_tombstone_that_the_server_did_not_sign_is_none(file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        await erase_due(store)
        [line] = [decode_line(row[:-1]) for row in await exported(store) if b'"type":"bodies.erased"' in row]
        stone = decode_body(line.envelope, line.body_bytes)
        assert isinstance(stone, BodiesErased)
        forged = signed("c1", replace(stone, erasure="another"), new_key())
        await store.append_own(forged, "command", START, case="c1")
        bad = (await verdict_of(store)).first_bad
        assert bad is not None
        assert bad.code == "bad_signature"


@runs
async def test_a_phone_cannot_erase(file: Place) -> None:
    """What it writes of that type says nothing: neither to the folds nor to whoever verifies."""
    phone = a_full_case()
    other = Phone("other")
    fields: dict[str, Any] = {
        **{"salt": "s", "by": "command", "rule": "age", "years": 1, "why": "x", "erasure": "e", "bodies": []},
        **{"case": {"site": "south", "opened": False, "outcome": None, "practice": True}},
        **{"at": None, "month": None, "tallies": [], "incidents": [], "refused": 0, "signature": ""},
    }
    other.write_raw("bodies.erased", msgspec.json.encode(fields), "c1")
    async with opened(file, phone, other) as store:
        await send(store, phone, phone.raws)
        before = folds(file)
        assert said(await send(store, other, other.raws)) == ["stored"]
        assert folds(file) == before
        assert (await verdict_of(store)).ok


@runs
async def test_what_is_offered_again_does_not_come_back(file: Place, other_file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        await erase_due(store)
        await store.new_epoch(START + YEAR)
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 6
        carried = await store.take_batch(phone.device, phone.raws, START, HEAD, carried=True)
        assert said(carried) == ["repeat"] * 6
        # one whose body was changed is another's, and is refused as ever
        assert said(await send(store, phone, [altered(phone.raws[1], actor="CD")])) == ["id_taken"]
        assert rows(file, "SELECT count(*) FROM lines WHERE body IS NULL") == [(6 + REVIEW_LINES,)]
        pulled = await store.pull("north", "another", None, 10**6)
        assert pulled.lines == []
    await move(file, other_file, lambda _table, _rows: None)
    async with opened(other_file) as moved:
        assert (await verdict_of(moved)).erased == 6 + REVIEW_LINES
        assert (await moved.timeline("c1")) is not None


@runs
async def test_what_comes_late_is_kept_and_counted_beside_it(file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        await erase_due(store)
        before = counts(file)[1]
        first = phone.lines[3].envelope.id
        phone.write("safety.noted", "c1", what="fall", harm="none", note="later", late=True)
        phone.write("line.amended", "c1", line=first, body=None, why="was another patient")
        await send(store, phone, phone.raws[6:], at=START + 2 * YEAR)
        assert {(row.what, row.note) for row in (await store.incidents()).rows} == {
            ("faint", ""),
            ("fall", "later"),
        }
        after = counts(file)[1]
        assert [row for row in after if row not in before] == [
            ("event", "fall", "none", "north", "2026-11", 1)
        ]
        assert [row for row in before if row not in after] == []
        # with an incident that nobody has looked at, and so not before that is done
        [due] = await erase_due(store, START + 4 * YEAR)
        assert (due.lines, due.held) == (2, "open_review")
        for row in (await store.incidents()).rows:
            if row.state != "closed":
                of: Any = {"salt": "s", "incident": row.line}
                seen = (await store.review_of(row.line)).count
                await store.decide(
                    IncidentClassified(**of, by="olga", harm="none", preventable="no", factors=[]),
                    seen,
                    START,
                )
                await store.decide(ClosingAsked(**of, by="olga", note=""), seen + 1, START)
                await store.decide(IncidentClosed(**of, by="lea", note=""), seen + 2, START)
        [due] = await erase_due(store, START + 4 * YEAR)
        assert due.held is None
        assert counts(file)[1] == after
        verdict = await verdict_of(store)
        assert (verdict.ok, verdict.erased, len(verdict.erasures)) == (True, 8 + 3 * REVIEW_LINES, 2)
        await store.refold()
        assert counts(file)[1] == after


@runs
async def test_a_case_under_review_is_never_erased(file: Place) -> None:
    phone, practice = a_full_case(), Phone("practice")
    practice.write("safety.noted", "c9", what="faint", practice=True)
    async with opened(file, phone, practice) as store:
        await send(store, phone, phone.raws)
        await send(store, practice, practice.raws)
        due = {one.case: one for one in await store.due_before(START + YEAR)}
        assert {case: one.held for case, one in due.items()} == {"c1": "open_review", "c9": None}
        request = Order(by="olga", rule="request", years=None, why="asked for it")
        for order in (BY_AGE, request):
            with pytest.raises(StoreError, match="open_review"):
                await store.erase(due["c1"], order, START + YEAR)
        assert rows(file, "SELECT count(*) FROM lines WHERE body IS NULL") == [(0,)]


@runs
async def test_a_case_that_could_not_be_folded_stays(file: Place) -> None:
    """Nobody knows what it would count, nor whether it holds an incident."""
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        meddle(file, f"INSERT INTO unfolded VALUES ('c1', '{phone.device}', true)")
        assert [due.held for due in await erase_due(store)] == ["not_folded"]
        assert rows(file, "SELECT count(*) FROM lines WHERE body IS NULL") == [(0,)]


@runs
async def test_one_that_somebody_works_on_is_not_erased_by_request(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        assert await store.due_case("nowhere", START) is None
        for now, held in ((START + IN_USE_MS - 1, "in_use"), (START + IN_USE_MS, None)):
            due = await store.due_case("c1", now)
            assert due is not None
            assert due.held == held
        assert due is not None
        late = phone.write("step.done", "c1", step="later")
        await send(store, phone, [late.raw], at=START + 5)
        with pytest.raises(StoreError, match="changed"):
            await store.erase(due, BY_AGE, START + YEAR)


@runs
async def test_a_long_case_has_several_tombstones(file: Place) -> None:
    phone = a_case(lines=400)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await store.settle()
        before = counts(file)
        await erase_due(store)
        verdict = await verdict_of(store)
        assert (verdict.ok, verdict.erased) == (True, 400)
        assert len(verdict.erasures) > 2
        assert sum(erasure.bodies for erasure in verdict.erasures) == 400
        await store.refold()
        assert counts(file) == before


@runs
async def test_a_hub_erases_nothing_that_the_hospital_lacks(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await store.pin_beyond("hospital", "KEY", START)
        for seq, held in ((7, "not_passed_on"), (8, None)):
            passed = Passed(
                device=phone.device,
                server="hospital",
                epoch="e",
                kind="final",
                seq=seq,
                head_sha256="0" * 64,
                at=1,
                signature="s",
            )
            await store.note_passed([passed])
            [due] = await store.due_before(START + YEAR)
            assert due.held == held


@runs
async def test_a_hub_sends_of_what_it_erased_the_envelopes_and_the_tombstones(file: Place) -> None:
    """Of a batch whose last body went, too: its head stays the device's own, and the chain goes on."""
    phone = a_case(lines=4)
    phone.write("step.done", "c2")
    bare = [raw.partition(b"\t")[0] + b"\t" for raw in phone.raws]
    async with opened(file, phone) as store:
        for upto in (4, 5):
            head = replace(
                HEAD, head_seq=upto, head_sha256=envelope_hash(phone.raws[upto - 1]), signature="signed"
            )
            await store.take_batch(phone.device, phone.raws[:upto], START, head)
        for case, sent in (("c1", [*bare[:4], *phone.raws[4:]]), ("c2", bare)):
            due = next(one for one in await store.due_before(START + YEAR) if one.case == case)
            await store.erase(due, BY_AGE, START + YEAR)
            parcel = await store.next_parcel(phone.device, 0, 10**6)
            assert parcel is not None
            assert (parcel.raws, parcel.head_seq) == (sent, 5)
            told = {digest for stone in parcel.tombstones for digest in stone.body.bodies}
            assert told == {line.envelope.body_sha256 for line in phone.lines if line.raw not in parcel.raws}
