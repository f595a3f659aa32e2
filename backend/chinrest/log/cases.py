"""What is known of a case as a whole: a fold over its lines as they stand."""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from chinrest.log.amendments import Standing, home_of
from chinrest.log.case_events import CaseClosed, CaseOpened
from chinrest.log.erasures import erasure_of
from chinrest.log.kept import SERVER_SITE
from chinrest.log.reaction_events import PracticeEnded


class CaseFact(Struct, frozen=True, kw_only=True):
    """`site` is the case's own (`home_of`). `opened` says whether its opening line is there. A case is closed
    while any closing line stands. It is practice until somebody says that it is real: then the whole of it
    counts, what stood before too. Lines from other sites count for nothing of this. One whose bodies were
    erased is closed, without a code, and else as the tombstone says."""

    case: str
    site: str
    code: str | None
    opened: bool
    state: Literal["open", "closed"]
    outcome: str | None
    practice: bool


def fold_case(case: str, standing: Sequence[Standing]) -> CaseFact:
    """`standing` is all lines of the case, in order and not empty."""
    erased = erasure_of(standing)
    if erased is not None:
        of = erased.case
        return CaseFact(
            case=case,
            site=of.site,
            code=None,
            opened=of.opened,
            state="closed",
            outcome=of.outcome,
            practice=of.practice,
        )
    opening = first_opening(standing)
    origin = next((line for line in standing if line.kept.site != SERVER_SITE), standing[0])
    if opening is not None:
        origin = opening
    outcome: str | None = None
    for line in standing:
        if isinstance(line.body, CaseClosed) and not line.withdrawn and not line.foreign:
            outcome = line.body.outcome
    return CaseFact(
        case=case,
        site=home_of(standing),
        code=code_of(standing),
        opened=opening is not None,
        state="open" if outcome is None else "closed",
        outcome=outcome,
        practice=origin.kept.envelope.practice and not made_real(standing),
    )


def made_real(standing: Sequence[Standing]) -> bool:
    """Whether somebody said of a practice case that it is real."""
    return any(
        isinstance(line.body, PracticeEnded) and not line.withdrawn and not line.foreign for line in standing
    )


def first_opening(standing: Sequence[Standing]) -> Standing | None:
    """The opening line, by preference one that stands."""
    openings = [line for line in standing if isinstance(line.body, CaseOpened) and not line.foreign]
    return next((line for line in openings if not line.withdrawn), openings[0] if openings else None)


def code_of(standing: Sequence[Standing]) -> str | None:
    """The clinic's own case code, as it stands."""
    opening = first_opening(standing)
    return opening.body.code if opening is not None and isinstance(opening.body, CaseOpened) else None
