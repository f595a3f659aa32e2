"""Reactions: one record from its opening to its end, one incident, and practice that turns real.

That signs are kept and no class stands in a line follows from the published scales' own disagreement:
vomiting is grade III in Ring and Messmer (1977), moderate in Brown (2004), and mild in series of fluorescein.
"""

from itertools import permutations

import msgspec
import pytest
from invented import Phone, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import REACTION, IncidentFact, fold_incidents
from chinrest.log.reaction_events import ReactionBody
from chinrest.log.reactions import attached_to, fold_reactions


def incidents(*phones: Phone) -> list[IncidentFact]:
    return fold_incidents(stand(kept(line) for phone in phones for line in phone.lines))


def reaction_of(phone: Phone) -> list[object]:
    return list(fold_reactions(stand(kept(line) for line in phone.lines)))


def ran(phone: Phone, case: str = "c1", *, practice: bool = False) -> str:
    """A reaction with one sign, to its end; the id of the line that opened it."""
    opened = phone.write("reaction.started", case, practice=practice)
    phone.write("reaction.sign", case, practice=practice, sign="nausea", seen=True)
    phone.write("reaction.sign", case, practice=practice, sign="nausea", seen=False)
    phone.write("reaction.ended", case, practice=practice, outcome="case_goes_on")
    return opened.envelope.id


def test_no_line_of_a_reaction_has_a_field_for_a_class() -> None:
    names = {field.name for cls in ReactionBody.__args__ for field in msgspec.structs.fields(cls)}
    assert names.isdisjoint({"class", "grade", "severity", "class_id", "scale"})


def test_a_reaction_is_one_incident_that_nobody_need_report() -> None:
    phone = Phone()
    phone.write("case.opened", "c1", code="T-7")
    line = ran(phone)
    [found] = incidents(phone)
    assert (found.line, found.what, found.case_code) == (line, REACTION, "T-7")
    assert (found.reached_patient, found.near_miss, found.harm) == (True, False, None)


@pytest.mark.parametrize(
    ("after_min", "ended_after_ms"),
    [
        (12.5, 750_000),
        (0.0, 0),
        (None, 3_600_000),
        (1e6, 3_600_000),
        (-1.0, 3_600_000),
        (1e308, 3_600_000),  # more ms than there are numbers
    ],
)
def test_an_end_that_nobody_logged_then_is_told_afterwards(
    after_min: float | None, ended_after_ms: int
) -> None:
    """One that could not have been (before the opening, after the telling) counts as when it was told."""
    phone = Phone()
    opened = phone.write("reaction.started", "c1").envelope
    [runs] = fold_reactions(stand(kept(line) for line in phone.lines))
    assert runs.ended_at is None
    phone.at = opened.at + 3_600_000 - 1000
    phone.write("reaction.ended", "c1", outcome="case_stopped", late=True, after_min=after_min)
    [over] = fold_reactions(stand(kept(line) for line in phone.lines))
    assert over.ended_at == opened.at + ended_after_ms


def test_a_late_end_joins_no_event_from_after_the_emergency() -> None:
    """An event of two hours later would fall into an emergency whose end was logged the next day."""
    phone = Phone()
    opened = phone.write("reaction.started", "c1").envelope
    phone.at = opened.at + 2 * 3_600_000
    event = phone.write("safety.noted", "c1", what="dye_reaction", reached_patient=True)
    phone.at = opened.at + 20 * 3_600_000
    phone.write("reaction.ended", "c1", outcome="case_stopped", late=True, after_min=15)
    assert {found.line for found in incidents(phone)} == {opened.id, event.envelope.id}


def test_a_safety_event_that_tells_of_it_is_the_incident_instead() -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    line = ran(phone)
    event = phone.write("safety.noted", "c1", what="dye_reaction", reached_patient=True, reaction=line)
    [found] = incidents(phone)
    assert (found.line, found.what) == (event.envelope.id, "dye_reaction")
    phone.write("line.amended", "c1", line=event.envelope.id, body=None)
    told, alone = incidents(phone)
    assert (told.withdrawn, alone.what, alone.withdrawn) == (True, REACTION, False)


def test_opened_with_nothing_seen_says_of_nobody_that_it_reached_them() -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    phone.write("reaction.started", "c1")
    phone.write("reaction.sign", "c1", sign="none_seen", seen=True)
    [found] = incidents(phone)
    assert found.reached_patient is None


def test_opened_by_mistake_stays_in_the_list_as_withdrawn() -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    opened = phone.write("reaction.started", "c1")
    phone.write("line.amended", "c1", line=opened.envelope.id, body=None)
    [found] = incidents(phone)
    assert (found.what, found.withdrawn) == (REACTION, True)
    assert reaction_of(phone) == []


def test_two_phones_that_open_it_make_one_reaction() -> None:
    first, second = Phone("first"), Phone("second")
    first.write("case.opened", "c1")
    first.write("reaction.started", "c1")
    second.at = first.at
    second.write("reaction.started", "c1")
    second.write("reaction.sign", "c1", sign="hives_or_rash", seen=True)
    first.at = second.at
    first.write("reaction.ended", "c1", outcome="case_stopped")
    [found] = incidents(first, second)
    assert found.line == first.lines[1].envelope.id
    [reaction] = fold_reactions(stand(kept(line) for line in [*first.lines, *second.lines]))
    assert (reaction.signs, reaction.outcome) == (["hives_or_rash"], "case_stopped")


def test_all_that_was_ever_seen_is_kept_in_any_order_of_arrival() -> None:
    phone = Phone()
    phone.write("case.opened", "c1")
    ran(phone)
    phone.write("reaction.observed", "c1", pulse=130, saturation=91)
    whole = reaction_of(phone)
    [reaction] = fold_reactions(stand(kept(line) for line in phone.lines))
    assert reaction.signs == ["nausea"]  # though it was gone again
    assert reaction.readings[0].pulse == 130  # written a moment after the end, and not lost
    for order in permutations(phone.lines):
        assert list(fold_reactions(stand(kept(line) for line in order))) == whole


def test_with_no_case_it_stands_alone_until_it_is_attached() -> None:
    phone = Phone()
    ran(phone, "alone")
    [found] = incidents(phone)
    assert found.case_code is None
    phone.write("reaction.attached", "alone", reaction="alone", to="c1", code="T-9")
    standing = stand(kept(line) for line in phone.lines)
    assert fold_incidents(standing)[0].case_code == "T-9"
    tie = attached_to(standing)
    assert tie is not None
    assert tie.to == "c1"
    assert fold_case("alone", standing).opened is False


def test_practice_counts_for_nothing_until_it_is_real_and_then_whole() -> None:
    phone = Phone()
    phone.write("case.opened", "c1", practice=True)
    ran(phone, practice=True)
    [played] = incidents(phone)
    assert played.practice
    real = phone.write("practice.ended", "c1")
    [counted] = incidents(phone)
    assert not counted.practice
    assert not fold_case("c1", stand(kept(line) for line in phone.lines)).practice
    phone.write("line.amended", "c1", line=real.envelope.id, body=None)
    assert incidents(phone)[0].practice
