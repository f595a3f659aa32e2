"""One happening behind two buttons is one incident.

By the rule of JOIN_MIN (common practice, no source), before it by what the phone says, before both by what
the officer says."""

from itertools import permutations

import pytest
from invented import Phone, kept

from chinrest.log.amendments import Standing, stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import REACTION, fold_incidents
from chinrest.log.joining import DYE_REACTION, JOIN_MIN, Join, joins
from chinrest.log.kept import SERVER_SITE, KeptLine
from chinrest.log.tallies import fold_tallies

MINUTE = 60_000


def phone() -> Phone:
    made = Phone()
    made.write("case.opened", "c1")
    made.write(
        "dye.injected", "c1", dye="fluorescein", arm="left", route="vein", pressed_at=0, pressed_mono=0
    )
    return made


def event(made: Phone, what: str = DYE_REACTION, **fields: object) -> str:
    return made.write("safety.noted", "c1", what=what, reached_patient=True, **fields).envelope.id


def opened(made: Phone) -> str:
    return made.write("reaction.started", "c1").envelope.id


def standing_of(*phones: Phone) -> list[Standing]:
    return stand(kept(line) for one in phones for line in one.lines)


def counted(standing: list[Standing]) -> int:
    found = fold_tallies(fold_case("c1", standing), standing, fold_incidents(standing))
    assert found is not None
    return sum(tally.n for tally in found.tallies if tally.kind == "reaction")


@pytest.mark.parametrize(
    ("minutes", "count"), [(0, 1), (2, 1), (JOIN_MIN - 1, 1), (JOIN_MIN + 1, 2), (60, 2)]
)
def test_an_emergency_soon_after_the_event_is_that_same_one(minutes: int, count: int) -> None:
    made = phone()
    noted = event(made)
    made.at += minutes * MINUTE
    line = opened(made)
    standing = standing_of(made)
    assert [row.what for row in fold_incidents(standing)] == [DYE_REACTION, REACTION][:count]
    assert counted(standing) == count
    at = made.lines[-1].envelope.at
    said = [Join(reaction=line, incident=noted, at=at, how="rule")]
    assert joins(standing) == said[: 2 - count]


def test_so_is_an_event_while_it_runs_or_soon_after_its_end() -> None:
    made = phone()
    opened(made)
    made.at += 40 * MINUTE
    event(made)
    assert counted(standing_of(made)) == 1
    made = phone()
    opened(made)
    made.write("reaction.ended", "c1", outcome="case_goes_on")
    made.at += (JOIN_MIN + 1) * MINUTE
    event(made)
    assert counted(standing_of(made)) == 2


def test_one_event_goes_to_one_emergency_and_the_last_before_it() -> None:
    made = phone()
    event(made)
    nearer = event(made)
    first = opened(made)
    made.write("reaction.ended", "c1", outcome="case_goes_on")
    assert [(j.reaction, j.incident) for j in joins(standing_of(made))] == [(first, nearer)]
    assert counted(standing_of(made)) == 2
    opened(made)
    assert counted(standing_of(made)) == 2  # the second one takes the event that was left


def test_what_the_phone_said_comes_before_the_rule() -> None:
    made = phone()
    event(made)
    line = opened(made)
    own = event(made, reaction=line)
    assert [(j.incident, j.how) for j in joins(standing_of(made))] == [(own, "said")]
    assert counted(standing_of(made)) == 2


def test_another_kind_a_late_one_or_one_taken_back_is_never_joined_by_the_rule() -> None:
    made = phone()
    event(made, "faint")
    event(made, late=True)
    taken_back = event(made)
    made.write("line.amended", "c1", line=taken_back, body=None)
    opened(made)
    assert joins(standing_of(made)) == []


def test_two_phones_with_clocks_an_hour_apart_are_compared_after_setting_them_right() -> None:
    made, other = phone(), Phone("other")
    event(made)
    other.at = made.at + 60 * MINUTE + 2 * MINUTE
    opened(other)
    right = [kept(line) for line in made.lines]

    def off(ms: int) -> list[Standing]:
        wrong = [
            KeptLine(envelope=k.envelope, body=k.body, received_at=k.received_at, offset_ms=ms, site=k.site)
            for k in map(kept, other.lines)
        ]
        return stand([*right, *wrong])

    assert len(joins(off(60 * MINUTE))) == 1
    assert joins(off(0)) == []


def test_the_officer_parts_them_and_joins_them_again_and_a_phone_cannot() -> None:
    made, desk = phone(), Phone("desk")
    noted = event(made)
    line = opened(made)
    desk.at = made.at

    def with_word(site: str, *, parted: bool) -> list[Standing]:
        desk.write("incident.parted", "c1", incident=noted, by="o1", reaction=line, why="two", parted=parted)
        own = [
            KeptLine(envelope=k.envelope, body=k.body, received_at=k.received_at, offset_ms=0, site=site)
            for k in map(kept, desk.lines)
        ]
        return stand([*map(kept, made.lines), *own])

    claimed = with_word("site-1", parted=True)
    assert [j.parted for j in joins(claimed)] == [False]
    parted = with_word(SERVER_SITE, parted=True)
    assert [(j.parted, j.parted_by, j.why) for j in joins(parted)] == [(True, "o1", "two")]
    assert counted(parted) == 2
    assert counted(with_word(SERVER_SITE, parted=False)) == 1


def test_any_order_of_arrival_gives_the_same() -> None:
    made = phone()
    event(made)
    opened(made)
    made.write("reaction.ended", "c1", outcome="case_goes_on")
    whole = joins(standing_of(made))
    assert len(whole) == 1
    for order in permutations(made.lines):
        assert joins(stand(map(kept, order))) == whole
