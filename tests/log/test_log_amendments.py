"""Lines as they stand after amendments: the latest that stands decides, and everything stays visible."""

import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from invented import START, Phone, fields_of, kept

from chinrest.log.amendments import Standing, stand
from chinrest.log.case_events import ComfortNoted, LineAmended
from chinrest.log.cases import fold_case
from chinrest.log.incidents import fold_incidents
from chinrest.log.kept import KeptLine
from chinrest.log.line import Line
from chinrest.log.timeline import build_timeline


def standing_of(*phones: Phone) -> dict[str, Standing]:
    lines = [kept(line) for phone in phones for line in phone.lines]
    return {line.kept.envelope.id: line for line in stand(lines)}


def comfort(phone: Phone, score: int) -> Line:
    return phone.write("comfort.noted", "c1", score=score, bothers=[])


def amend(phone: Phone, line: Line, body: dict[str, Any] | None, case: str = "c1") -> Line:
    return phone.write("line.amended", case, line=line.envelope.id, body=body)


def score(line: Standing) -> int:
    assert isinstance(line.body, ComfortNoted)
    return line.body.score


def test_a_new_body_stands_in_place_of_the_first_and_both_can_be_read() -> None:
    phone = Phone()
    line = comfort(phone, 3)
    by = amend(phone, line, {"score": 8, "bothers": ["light"]})
    found = standing_of(phone)[line.envelope.id]
    assert score(found) == 8
    assert isinstance(found.first, ComfortNoted)
    assert found.first.score == 3
    assert found.amended_by == by.envelope.id
    assert not found.withdrawn


def test_the_latest_of_several_decides() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    for new in (2, 3, 4):
        last = amend(phone, line, {"score": new, "bothers": []})
    found = standing_of(phone)[line.envelope.id]
    assert (score(found), found.amended_by) == (4, last.envelope.id)


def test_withdrawn_and_put_back() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    away = amend(phone, line, None)
    assert standing_of(phone)[line.envelope.id].withdrawn
    amend(phone, away, None)
    found = standing_of(phone)[line.envelope.id]
    assert not found.withdrawn
    assert found.amended_by is None
    assert score(found) == 1


def test_an_amendment_of_an_amendment_changes_what_it_says() -> None:
    phone = Phone()
    line, bystander = comfort(phone, 1), comfort(phone, 2)
    first = amend(phone, line, {"score": 5, "bothers": []})
    assert isinstance(first.body, LineAmended)
    amend(phone, first, {**fields_of(first.body), "body": {"score": 6, "bothers": []}})
    found = standing_of(phone)
    assert (score(found[line.envelope.id]), score(found[bystander.envelope.id])) == (6, 2)
    assert found[line.envelope.id].amended_by == first.envelope.id


def test_a_withdrawn_line_keeps_the_body_that_it_had() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    amend(phone, line, {"score": 7, "bothers": []})
    last = amend(phone, line, None)
    found = standing_of(phone)[line.envelope.id]
    assert (score(found), found.withdrawn, found.amended_by) == (7, True, last.envelope.id)


def test_put_right_after_it_was_withdrawn() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    amend(phone, line, None)
    last = amend(phone, line, {"score": 7, "bothers": []})
    found = standing_of(phone)[line.envelope.id]
    assert (score(found), found.withdrawn, found.amended_by) == (7, False, last.envelope.id)


def test_one_of_another_case_changes_nothing() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    amend(phone, line, None, case="c2")
    assert not standing_of(phone)[line.envelope.id].withdrawn


def test_one_that_does_not_fit_its_target_changes_nothing() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    amend(phone, line, {"step": "identifiers"})
    found = standing_of(phone)[line.envelope.id]
    assert (score(found), found.amended_by) == (1, None)


def test_one_that_fits_counts_before_a_later_one_that_does_not() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    good = amend(phone, line, {"score": 9, "bothers": []})
    amend(phone, line, {"score": "nine"})
    found = standing_of(phone)[line.envelope.id]
    assert (score(found), found.amended_by) == (9, good.envelope.id)


def test_an_amendment_whose_target_has_not_come_waits_for_it() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    amend(phone, line, None)
    [alone] = stand([kept(phone.lines[1])])
    assert isinstance(alone.body, LineAmended)
    assert standing_of(phone)[line.envelope.id].withdrawn


def test_an_unknown_type_can_be_withdrawn() -> None:
    phone = Phone()
    line = phone.write_raw("balloon.released", b'{"salt":"s"}', "c1")
    amend(phone, line, None)
    found = standing_of(phone)[line.envelope.id]
    assert (found.known, found.withdrawn) == (False, True)


def test_another_device_whose_clock_is_behind_can_amend() -> None:
    phone, late = Phone("one"), Phone("two", at=START - 10**9)
    line = comfort(phone, 1)
    amend(late, line, {"score": 4, "bothers": []})
    assert score(standing_of(phone, late)[line.envelope.id]) == 4


def ring(size: int) -> tuple[Phone, Line]:
    """Amendments that amend each other, which honest ids cannot do: their ids are known beforehand here."""
    names = [Phone(f"ring {number}") for number in range(size)]
    ahead = [Phone(f"ring {number}").write("step.done", "c1").envelope.id for number in range(size)]
    for number, phone in enumerate(names):
        phone.write("line.amended", "c1", line=ahead[(number + 1) % size], body=None)
    together = Phone("together")
    victim = comfort(together, 1)
    together.lines += [phone.lines[0] for phone in names]
    return together, victim


def test_a_ring_of_amendments_ends_and_touches_nothing_else() -> None:
    for size in (1, 2, 3, 7):
        phone, victim = ring(size)
        found = standing_of(phone)[victim.envelope.id]
        assert (score(found), found.amended_by) == (1, None)


def test_a_very_long_chain_of_amendments_ends() -> None:
    phone = Phone()
    line = comfort(phone, 1)
    last = line
    for _ in range(5001):
        last = amend(phone, last, None)
    # each withdraws the one before: an odd number of them leaves the first line withdrawn
    assert standing_of(phone)[line.envelope.id].withdrawn


EVENTS = st.sampled_from(["comfort", "safety", "touch", "open", "close", "advice", "unknown"])
STEP = st.tuples(
    st.integers(0, 2),  # which device
    st.integers(-3000, 3000),  # how its clock jumps
    st.one_of(EVENTS, st.tuples(st.integers(0, 30), st.booleans())),  # an event, or an amendment of a line
)


def written(steps: list[tuple[int, int, Any]]) -> list[Line]:
    """A case by three devices with jumping clocks, its lines amended at random."""
    phones = [Phone(f"phone {number}") for number in range(3)]
    made: list[Line] = []
    for number, (which, jump, what) in enumerate(steps):
        phone = phones[which]
        phone.at += jump
        if isinstance(what, tuple):
            if not made:
                continue
            target = made[what[0] % len(made)]
            fields = None if what[1] or target.body is None else fields_of(target.body)
            if fields is not None and "note" in fields:
                fields["note"] = f"changed {number}"
            if fields is not None and "touched" in fields:
                fields["touched"] = not fields["touched"]
            made.append(amend(phone, target, fields))
        elif what == "comfort":
            made.append(comfort(phone, number % 11))
        elif what == "safety":
            kind = "touched_by_optic" if number % 2 else "faint"
            made.append(phone.write("safety.noted", "c1", what=kind, reached_patient=number % 3 > 0))
        elif what == "touch":
            made.append(phone.write("pose.found", "c1", touched=True))
        elif what == "open":
            made.append(phone.write("case.opened", "c1", code=f"T-{number}"))
        elif what == "close":
            made.append(phone.write("case.closed", "c1"))
        elif what == "advice":
            made.append(phone.write("pose.advised", "c1"))
        else:
            made.append(phone.write_raw("balloon.released", b'{"salt":"s"}', "c1"))
    return made


def everything(lines: list[KeptLine]) -> tuple[object, ...]:
    standing = stand(lines)
    return (
        fold_case("c1", standing),
        fold_incidents(standing),
        build_timeline("c1", standing, device_labels={}, site_names={}, position=1),
    )


@settings(deadline=None)
@given(st.lists(STEP, min_size=1, max_size=40), st.randoms())
def test_every_fold_is_the_same_for_any_arrival(
    steps: list[tuple[int, int, Any]], rng: random.Random
) -> None:
    lines = [kept(line) for line in written(steps)]
    if not lines:
        return
    shuffled = lines + rng.sample(lines, len(lines) // 3)
    rng.shuffle(shuffled)
    assert everything(shuffled) == everything(lines)
