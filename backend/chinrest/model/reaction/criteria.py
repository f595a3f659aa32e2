"""While a reaction runs: which of the clinic's criteria are met. They only ever escalate.

A sign that was once seen stays seen, a low reading counts as its sign, and a further sign can only meet more
criteria. There is no answer that says all is well: none met is no word at all.
"""

from collections.abc import Iterable, Mapping, Set

from .tables import Criterion, Observed, ReactionTables


def signs_of(tables: ReactionTables, readings: Mapping[Observed, int]) -> set[str]:
    """Signs that measured numbers count as: below `sign_below`, whatever the reason for the low reading."""
    return {
        field.sign
        for field in tables.observations
        if field.sign_below is not None
        and field.sign
        and readings.get(field.id, field.most) < field.sign_below
    }


def ever_seen(
    tables: ReactionTables, toggles: Iterable[tuple[str, bool]], readings: Iterable[Mapping[Observed, int]]
) -> set[str]:
    """Every sign seen at any time in one reaction: taking one back in the log does not take back that it
    was."""
    seen = {sign for sign, on in toggles if on}
    for reading in readings:
        seen |= signs_of(tables, reading)
    return seen


def met(tables: ReactionTables, seen: Set[str]) -> list[Criterion]:
    """Criteria that these signs meet, in the pack's order."""
    return [
        criterion
        for criterion in tables.criteria
        if sum(any(sign in seen for sign in group) for group in criterion.groups) >= criterion.least
    ]
