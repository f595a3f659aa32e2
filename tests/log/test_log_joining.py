"""One happening behind two buttons is one incident.

By the rule of JOIN_MIN (common practice, no source), before it by what the phone says, before both by what
the officer says."""

import random
from itertools import permutations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import Phone, kept

from chinrest.log.amendments import Standing, stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import REACTION, fold_incidents
from chinrest.log.joining import DYE_REACTION, JOIN_MIN, Join, joins
from chinrest.log.kept import SERVER_SITE
from chinrest.log.reactions import fold_reactions
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


def with_clocks(*phones: tuple[Phone, int]) -> list[Standing]:
    """Each phone with how many ms its clock was ahead of the server's."""
    return stand(kept(line, offset_ms=ahead) for one, ahead in phones for line in one.lines)


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
    assert len(joins(with_clocks((made, 0), (other, 60 * MINUTE)))) == 1
    assert joins(with_clocks((made, 0), (other, 0))) == []


def test_an_end_that_another_phone_wrote_is_set_right_as_well() -> None:
    made, other = phone(), Phone("other")
    opened(made)
    other.at = made.at + 60 * MINUTE + 2 * MINUTE
    other.write("reaction.ended", "c1", outcome="case_goes_on")
    made.at += 30 * MINUTE
    event(made)
    assert counted(with_clocks((made, 0), (other, 60 * MINUTE))) == 2
    assert counted(with_clocks((made, 0), (other, 0))) == 1


@pytest.mark.parametrize("hours", [-1, 0, 1])
def test_an_end_told_afterwards_on_another_phone_is_minutes_after_the_opening_whatever_its_clock(
    hours: int,
) -> None:
    made, other = phone(), Phone("other")
    opened(made)
    other.at = made.at + (hours + 3) * 60 * MINUTE
    other.write("reaction.ended", "c1", outcome="case_stopped", late=True, after_min=30)
    made.at += 35 * MINUTE
    event(made)
    standing = with_clocks((made, 0), (other, hours * 60 * MINUTE))
    assert counted(standing) == 1
    made.at += 60 * MINUTE
    event(made)
    assert counted(with_clocks((made, 0), (other, hours * 60 * MINUTE))) == 2


def test_the_nearest_is_by_clocks_set_right() -> None:
    """By its own clock, an hour behind, the other phone's event comes first; it came last."""
    made, other = phone(), Phone("other")
    event(made)
    other.at = made.at - 60 * MINUTE + 2 * MINUTE
    later = event(other)
    made.at += 4 * MINUTE
    line = opened(made)
    standing = with_clocks((made, 0), (other, -60 * MINUTE))
    assert [(j.reaction, j.incident) for j in joins(standing)] == [(line, later)]


def test_an_emergency_that_two_phones_opened_is_told_of_by_either_opening() -> None:
    made, other = phone(), Phone("other")
    line = opened(made)
    other.at = made.at
    second = opened(other)
    own = event(other, reaction=second)
    standing = standing_of(made, other)
    assert [(j.reaction, j.incident, j.how) for j in joins(standing)] == [(line, own, "said")]
    assert [row.line for row in fold_incidents(standing)] == [own]
    assert counted(standing) == 1


def test_an_opening_that_comes_late_undoes_no_parting() -> None:
    made, other, desk = phone(), Phone("other"), Phone("desk")
    other.at = made.at
    earlier = opened(other)
    made.at = other.at
    line = opened(made)
    noted = event(made)
    desk.at = made.at
    desk.write("incident.parted", "c1", incident=noted, by="o1", reaction=line, why="two", parted=True)
    own = [kept(one, site=SERVER_SITE) for one in desk.lines]
    before = stand([*map(kept, made.lines), *own])
    assert [(j.reaction, j.parted) for j in joins(before)] == [(line, True)]
    after = stand([*map(kept, made.lines), *map(kept, other.lines), *own])
    assert [(j.reaction, j.parted) for j in joins(after)] == [(earlier, True)]
    assert counted(after) == 2


def test_two_events_that_tell_of_one_emergency_count_once_with_the_heavier_harm() -> None:
    made, other = phone(), Phone("other")
    line = opened(made)
    mild = event(made, reaction=line, harm="mild")
    other.at = made.at
    severe = event(other, reaction=line, harm="severe")
    event(other, "fall", reaction=line, harm="none")
    standing = standing_of(made, other)
    assert [(j.incident, j.again) for j in joins(standing)][:2] == [(mild, True), (severe, False)]
    assert counted(standing) == 1
    found = fold_tallies(fold_case("c1", standing), standing, fold_incidents(standing))
    assert found is not None
    assert [t.sub for t in found.tallies if t.kind == "reaction"] == ["severe"]
    # both are there to be read, and taking the heavier one back leaves the other counted
    assert len(fold_incidents(standing)) == 3
    other.write("line.amended", "c1", line=severe, body=None)
    standing = standing_of(made, other)
    assert [(j.incident, j.again) for j in joins(standing)][:1] == [(mild, False)]
    assert counted(standing) == 1


def test_an_emergency_that_the_desk_had_worked_on_stays_listed_and_counts_once() -> None:
    """Its open action would be seen nowhere else."""
    made, desk = phone(), Phone("desk")
    line = opened(made)
    desk.at = made.at
    action = {"action": "a1", "text": "check the kit", "owner": "o1", "due": "2026-12-01"}
    desk.write("action.added", "c1", incident=line, by="o1", **action)
    own = [kept(one, site=SERVER_SITE) for one in desk.lines]
    noted = event(made)
    standing = stand([*map(kept, made.lines), *own])
    assert [(j.reaction, j.incident) for j in joins(standing)] == [(line, noted)]
    assert [(row.line, row.again) for row in fold_incidents(standing)] == [(noted, False), (line, True)]
    assert counted(standing) == 1
    found = fold_tallies(fold_case("c1", standing), standing, fold_incidents(standing))
    assert found is not None
    assert sum(tally.n for tally in found.tallies if tally.kind == "event") == 1


def test_an_emergency_taken_back_is_joined_to_nothing_and_stays_listed_as_taken_back() -> None:
    made = phone()
    line = opened(made)
    event(made, reaction=line)
    made.write("line.amended", "c1", line=line, body=None)
    standing = standing_of(made)
    assert joins(standing) == []
    assert [(row.what, row.withdrawn) for row in fold_incidents(standing)] == [
        (DYE_REACTION, False),
        (REACTION, True),
    ]


def test_an_opening_whose_body_was_erased_and_amended_is_still_an_emergency() -> None:
    made = phone()
    line = opened(made)
    made.write("line.amended", "c1", line=line, body={"screen": "series"})
    own = event(made)
    erased = [
        msgspec.structs.replace(one, body=None) if one.envelope.id == line else one
        for one in map(kept, made.lines)
    ]
    assert [(j.reaction, j.incident) for j in joins(stand(erased))] == [(line, own)]


def test_another_sites_event_takes_no_emergency_out_of_the_list() -> None:
    made, stranger = phone(), Phone("stranger")
    line = opened(made)
    stranger.at = made.at
    event(stranger, "faint", reaction=line)
    standing = stand([*map(kept, made.lines), *(kept(one, site="south") for one in stranger.lines)])
    assert joins(standing) == []
    assert REACTION in [row.what for row in fold_incidents(standing)]


def test_the_officer_parts_them_and_joins_them_again_and_a_phone_cannot() -> None:
    made, desk = phone(), Phone("desk")
    noted = event(made)
    line = opened(made)
    desk.at = made.at

    def with_word(site: str, *, parted: bool) -> list[Standing]:
        desk.write("incident.parted", "c1", incident=noted, by="o1", reaction=line, why="two", parted=parted)
        own = [kept(one, site=site) for one in desk.lines]
        return stand([*map(kept, made.lines), *own])

    claimed = with_word("site-1", parted=True)
    assert [j.parted for j in joins(claimed)] == [False]
    parted = with_word(SERVER_SITE, parted=True)
    assert [(j.parted, j.parted_by, j.why) for j in joins(parted)] == [(True, "o1", "two")]
    assert counted(parted) == 2
    assert counted(with_word(SERVER_SITE, parted=False)) == 1


def test_no_phone_amends_what_the_officer_decided() -> None:
    made, desk = phone(), Phone("desk")
    noted = event(made)
    line = opened(made)
    desk.at = made.at
    said = {"incident": noted, "by": "o1", "reaction": line, "why": "two"}
    decision = desk.write("incident.parted", "c1", parted=True, **said).envelope.id
    made.at = desk.at
    made.write("line.amended", "c1", line=decision, body={**said, "parted": False})
    made.write("line.amended", "c1", line=decision, body=None)
    own = [kept(one, site=SERVER_SITE) for one in desk.lines]
    standing = stand([*map(kept, made.lines), *own])
    assert [j.parted for j in joins(standing)] == [True]
    assert counted(standing) == 2


def test_any_order_of_arrival_gives_the_same() -> None:
    made = phone()
    event(made)
    opened(made)
    made.write("reaction.ended", "c1", outcome="case_goes_on")
    whole = joins(standing_of(made))
    assert len(whole) == 1
    for order in permutations(made.lines):
        assert joins(stand(map(kept, order))) == whole


# each line: which of two phones, what, how many minutes after its last one
HAPPENED = st.lists(
    st.tuples(
        st.integers(0, 1),
        st.sampled_from(("open", "end", "event", "told", "late", "fall", "back", "again", "part", "join")),
        st.integers(0, 15),
    ),
    max_size=14,
)


@given(HAPPENED, st.randoms(use_true_random=False))
def test_each_happening_counts_once_whatever_was_said_of_it(
    script: list[tuple[int, str, int]], dice: random.Random
) -> None:
    phones, desk = (phone(), Phone("other")), Phone("desk")
    openings: list[str] = []
    events: list[str] = []
    taken_back: list[str] = []
    for which, what, minutes in script:
        one = phones[which]
        one.at = max(one.at, desk.at) + minutes * MINUTE
        if what == "open":
            openings.append(opened(one))
        elif what == "end":
            one.write("reaction.ended", "c1", outcome="case_goes_on")
        elif what in ("event", "late"):
            events.append(event(one, late=what == "late"))
        elif what in ("told", "fall") and openings:
            kind = DYE_REACTION if what == "told" else "fall"
            events.append(event(one, kind, reaction=openings[minutes % len(openings)]))
        elif what == "back" and openings + events:
            target = (openings + events)[minutes % len(openings + events)]
            taken_back.append(one.write("line.amended", "c1", line=target, body=None).envelope.id)
        elif what == "again" and taken_back:
            one.write("line.amended", "c1", line=taken_back[-1], body=None)
        elif what in ("part", "join"):
            desk.at = one.at
            here = joins(standing_of(*phones))
            if here:
                said = here[minutes % len(here)]
                named = {"incident": said.incident, "reaction": said.reaction}
                desk.write("incident.parted", "c1", by="o1", why="w", parted=what == "part", **named)
    lines = [kept(line) for one in phones for line in one.lines]
    lines += [kept(line, site=SERVER_SITE) for line in desk.lines]
    standing = stand(lines)
    found, listed = joins(standing), fold_incidents(standing)
    dice.shuffle(lines)
    assert joins(stand(lines)) == found
    assert fold_incidents(stand(lines)) == listed

    runs = {run.line for run in fold_reactions(standing)}
    assert {join.reaction for join in found} <= runs
    assert len({join.incident for join in found}) == len(found)
    by_rule = [join.reaction for join in found if join.how == "rule"]
    assert len(set(by_rule)) == len(by_rule)
    assert set(by_rule).isdisjoint(join.reaction for join in found if join.how == "said")
    # what happened, counted another way: each emergency with what tells of it is one group, parted ones apart
    stands = {row.line: row.what for row in listed if not row.withdrawn}
    group = {join.incident: join.reaction for join in found if not join.parted}
    of_dye = {group.get(line, line) for line, what in stands.items() if what == DYE_REACTION}
    alone = runs - set(group.values())
    assert {line for line, what in stands.items() if what == REACTION} == alone
    assert counted(standing) == len(of_dye | alone)
