"""Incidents: safety events as they stand after their amendments."""

from collections.abc import Sequence

from msgspec import Struct

from chinrest.log.amendments import Standing
from chinrest.log.case_events import Harm, PoseFound, SafetyNoted
from chinrest.log.cases import code_of


class IncidentRow(Struct, frozen=True, kw_only=True):
    """One safety event as it stands after its amendments."""

    line: str
    case: str | None
    case_code: str | None
    site: str
    site_name: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Harm | None
    near_miss: bool
    practice: bool
    optic: str | None
    device_label: str
    amended: bool
    withdrawn: bool
    note: str


class IncidentList(Struct, frozen=True, kw_only=True):
    rows: list[IncidentRow]
    total: int
    position: int


TOUCHED = "touched_by_optic"
"""The id of the safety event 'touched by the optic', in packs and in the log."""


class IncidentFact(Struct, frozen=True, kw_only=True):
    """An incident as folded from the log; names of sites and devices are added when it is read."""

    line: str
    case: str | None
    case_code: str | None
    site: str
    device: str
    at: int
    received_at: int
    what: str
    reached_patient: bool | None
    harm: Harm | None
    near_miss: bool
    practice: bool
    optic: str | None
    amended: bool
    withdrawn: bool
    note: str


def fold_incidents(standing: Sequence[Standing]) -> list[IncidentFact]:
    """Incidents among the lines of one case (or of one device's lines without a case).

    Each safety event is one, as it stands after its amendments; a withdrawn one stays in the list as
    withdrawn. A pose that was found to touch is one too, unless a safety event that stands says so already:
    in order, each touching pose takes the first TOUCHED event not yet taken whose eye and optic are the same
    or unsaid. So two touches and one event make two incidents, and neither is counted twice. A pose that no
    longer touches after an amendment stays in the list as withdrawn. A safety event whose body is gone can't
    be listed.
    """
    code = code_of(standing)
    spare = [
        line.body
        for line in standing
        if isinstance(line.body, SafetyNoted) and not line.withdrawn and line.body.what == TOUCHED
    ]
    found: list[IncidentFact] = []
    for line in standing:
        if isinstance(line.body, SafetyNoted):
            found.append(_noted(line, line.body, code))
        elif isinstance(line.body, PoseFound):
            stands = line.body.touched and not line.withdrawn
            said = next((event for event in spare if stands and _same_touch(line.body, event)), None)
            if said is not None:
                spare.remove(said)
            elif stands or (isinstance(line.first, PoseFound) and line.first.touched):
                found.append(_touched(line, line.body, code, withdrawn=not stands))
    return found


def _same_touch(pose: PoseFound, event: SafetyNoted) -> bool:
    return event.eye in (None, pose.eye) and event.optic in (None, pose.optic)


def _noted(line: Standing, body: SafetyNoted, code: str | None) -> IncidentFact:
    return _fact(
        line,
        code,
        what=body.what,
        reached_patient=body.reached_patient,
        harm=body.harm,
        optic=body.optic,
        withdrawn=line.withdrawn,
        note=body.note,
    )


def _touched(line: Standing, body: PoseFound, code: str | None, *, withdrawn: bool) -> IncidentFact:
    return _fact(
        line,
        code,
        what=TOUCHED,
        reached_patient=True,
        harm=None,
        optic=body.optic,
        withdrawn=withdrawn,
        note="",
    )


def _fact(
    line: Standing,
    code: str | None,
    *,
    what: str,
    reached_patient: bool | None,
    harm: Harm | None,
    optic: str | None,
    withdrawn: bool,
    note: str,
) -> IncidentFact:
    e = line.kept.envelope
    return IncidentFact(
        line=e.id,
        case=e.case,
        case_code=code,
        site=line.kept.site,
        device=e.device,
        at=e.at,
        received_at=line.kept.received_at,
        what=what,
        reached_patient=reached_patient,
        harm=harm,
        near_miss=reached_patient is False,
        practice=e.practice,
        optic=optic,
        amended=line.amended_by is not None,
        withdrawn=withdrawn,
        note=note,
    )
