"""Which optic to take: one row an optic with every figure, and one suggested with the trade named."""

from collections.abc import Sequence

from msgspec import Struct, structs

from .errors import InputError
from .fields.plan import FieldPlan
from .fit import EyeSide
from .optic import Modality, Optic

EPS = 1e-6


class ChoiceAsked(Struct, frozen=True, kw_only=True):
    """What is asked beside the region: kinds of image, cross-sections, least pixels per degree, most minutes.

    Empty, False or None: not asked.
    """

    modalities: list[Modality] = []
    cross_sections: bool = False
    detail_px_per_deg: float | None = None
    minutes: float | None = None


class ChoiceRow(Struct, frozen=True, kw_only=True):
    """One optic. `possible`: it does all that is asked but for the minutes; else `why_not` says what it
    does not.

    `fields`, `seconds` and `coverage` (fraction of the region) are the plan's, at least `lower_bound`
    fields being needed; `reachable` is what all gazes within reach show. `detail_px_per_deg`; largest head
    turn, chin and eye turn of the plan (deg); least working distance (mm). `dominated_by`: optics that are
    no worse in any of these and better in one. `says`: the figures as a sentence; `against`: what another
    optic would give and take instead, by its id.
    """

    optic: str
    name: str
    possible: bool
    why_not: list[str]
    fields: int
    lower_bound: int
    proved: bool
    seconds: float
    coverage: float
    reachable: float
    detail_px_per_deg: float
    cross_sections: bool
    modalities: list[Modality]
    head_turn_deg: float
    chin_deg: float
    eye_turn_deg: float
    working_distance_mm: float
    within_minutes: bool | None = None
    dominated_by: list[str] = []
    says: str = ""
    against: dict[str, str] = {}


class Choice(Struct, frozen=True, kw_only=True):
    """`suggested` is None where no optic does what is asked; `reason` says why that one, or why none, in one
    sentence: its name, its figures and the trade. `why` and `trades` are the same for a screen, in pieces:
    the rule that chose it with its figures, and what each other optic that does it would give and take.

    `quickest` and `farthest`: possible optics in the order of fewest seconds, and of greatest distance from
    the eye. Without minutes the quickest is suggested; with them the farthest of those that keep them. An
    optic that another dominates never is.
    """

    region: str
    eye: EyeSide
    rows: list[ChoiceRow]
    quickest: list[str]
    farthest: list[str]
    suggested: str | None
    reason: str
    why: str
    trades: list[str]


def check_choice(asked: ChoiceAsked) -> None:
    """Raises InputError, with the range."""
    if asked.detail_px_per_deg is not None and not 0.1 <= asked.detail_px_per_deg <= 10_000.0:
        raise InputError("detail", f"{asked.detail_px_per_deg:g} is outside 0.1 to 10000 pixels per degree")
    if asked.minutes is not None and not 0.1 <= asked.minutes <= 600.0:
        raise InputError("minutes", f"{asked.minutes:g} is outside 0.1 to 600 minutes")


def choose(
    asked: ChoiceAsked, optics: Sequence[Optic], plans: Sequence[FieldPlan], eye: EyeSide, region: str
) -> Choice:
    """The table, from the plan of each optic (in the optics' order). The phone has it for a region and a face
    with nothing else asked, and asks the rest of its rows: its counterpart is `chairside/choice/suggest.ts`,
    held to this by `tests/model/test_choice_parity.py`."""
    check_choice(asked)
    rows = [_row(asked, optic, plan) for optic, plan in zip(optics, plans, strict=True)]
    possible = [row for row in rows if row.possible]
    rows = [
        structs.replace(
            row,
            dominated_by=[other.optic for other in possible if _dominates(other, row)]
            if row.possible
            else [],
            says=_says(row),
            against={other.optic: _against(row, other) for other in possible if other.optic != row.optic}
            if row.possible
            else {},
        )
        for row in rows
    ]
    possible = [row for row in rows if row.possible]
    quickest = sorted(possible, key=lambda row: (row.seconds, -row.working_distance_mm))
    farthest = sorted(possible, key=lambda row: (-row.working_distance_mm, row.seconds))
    pick = _pick(asked, quickest, farthest)
    return Choice(
        region=region,
        eye=eye,
        rows=rows,
        quickest=[row.optic for row in quickest],
        farthest=[row.optic for row in farthest],
        suggested=pick.optic if pick else None,
        reason=_reason(asked, pick),
        why=_why(asked, pick),
        trades=list(pick.against.values()) if pick else [],
    )


def _pick(asked: ChoiceAsked, quickest: list[ChoiceRow], farthest: list[ChoiceRow]) -> ChoiceRow | None:
    """In time and not too close first; where none keeps the minutes, the quickest."""
    if asked.minutes is not None:
        in_time = [row for row in farthest if row.within_minutes and not row.dominated_by]
        if in_time:
            return in_time[0]
    return next((row for row in quickest if not row.dominated_by), None)


def _row(asked: ChoiceAsked, optic: Optic, plan: FieldPlan) -> ChoiceRow:
    why_not = []
    missing = [kind.replace("_", " ") for kind in asked.modalities if kind not in optic.modalities]
    if missing:
        why_not.append(f"It does not take {' or '.join(missing)}.")
    if asked.cross_sections and not optic.cross_sections:
        why_not.append("It takes no cross-sections.")
    detail = asked.detail_px_per_deg
    if detail is not None and optic.pixels_per_deg < detail:
        why_not.append(
            f"It shows {_plain(optic.pixels_per_deg)} pixels per degree; {_plain(detail)} are asked."
        )
    if plan.reason is not None:
        why_not.append(plan.reason.sentence)
    poses = plan.poses
    return ChoiceRow(
        optic=optic.id,
        name=optic.name,
        possible=not why_not,
        why_not=why_not,
        fields=plan.count,
        lower_bound=plan.lower_bound,
        proved=plan.proved,
        seconds=plan.seconds,
        coverage=plan.region_fraction,
        reachable=plan.reachable_fraction,
        detail_px_per_deg=optic.pixels_per_deg,
        cross_sections=optic.cross_sections,
        modalities=optic.modalities,
        head_turn_deg=max((abs(pose.yaw_deg) for pose in poses), default=0.0),
        chin_deg=max((abs(pose.pitch_deg) for pose in poses), default=0.0),
        eye_turn_deg=max((_length(pose.eye_in_head_deg) for pose in poses), default=0.0),
        working_distance_mm=min(
            (pose.working_distance_mm for pose in poses), default=optic.working_distance_mm
        ),
        within_minutes=None if asked.minutes is None else plan.seconds <= asked.minutes * 60.0,
    )


def _length(turn: tuple[float, float]) -> float:
    return round(float((turn[0] ** 2 + turn[1] ** 2) ** 0.5), 1)


def _figures(row: ChoiceRow) -> tuple[float, ...]:
    """Less is better in each."""
    return (
        row.fields,
        row.seconds,
        -round(row.coverage, 2),
        -row.detail_px_per_deg,
        row.head_turn_deg,
        row.chin_deg,
        row.eye_turn_deg,
        -row.working_distance_mm,
        not row.cross_sections,
    )


def _dominates(one: ChoiceRow, other: ChoiceRow) -> bool:
    pairs = list(zip(_figures(one), _figures(other), strict=True))
    kinds = set(other.modalities) <= set(one.modalities)
    return kinds and all(a <= b + EPS for a, b in pairs) and any(a < b - EPS for a, b in pairs)


def _says(row: ChoiceRow) -> str:
    if not row.fields:
        return " ".join(row.why_not)
    frames = f"{row.fields} field{'s' if row.fields > 1 else ''}"
    turn = f"head turned up to {row.head_turn_deg:.0f}°" if row.head_turn_deg >= 0.5 else "no head turn"
    return (
        f"{frames} in about {row.seconds:.0f} s, from {row.working_distance_mm:g} mm, {turn},"
        f" {row.detail_px_per_deg:g} pixels per degree"
    )


def _against(row: ChoiceRow, other: ChoiceRow) -> str:
    """What taking the other instead of this one would give, and what it would cost."""
    gives, takes = [], []

    def weigh(difference: float, least: float, better: str, worse: str) -> None:
        if difference <= -least:
            gives.append(better)
        elif difference >= least:
            takes.append(worse)

    fields = other.fields - row.fields
    count = f"{abs(fields)} field{'s' if abs(fields) > 1 else ''}"
    weigh(fields, 1, f"{count} fewer", f"{count} more")
    longer = other.seconds - row.seconds
    weigh(longer, 1.0, f"{-longer:.0f} s less", f"{longer:.0f} s more")
    nearer = row.working_distance_mm - other.working_distance_mm
    weigh(nearer, 0.5, f"{-nearer:.0f} mm farther from the eye", f"{nearer:.0f} mm nearer to the eye")
    turn = other.head_turn_deg - row.head_turn_deg
    weigh(turn, 1.0, f"{-turn:.0f}° less head turn", f"{turn:.0f}° more head turn")
    coarse = row.detail_px_per_deg - other.detail_px_per_deg
    weigh(coarse, 0.5, f"{-coarse:.0f} pixels per degree more", f"{coarse:.0f} pixels per degree less")
    less = (row.coverage - other.coverage) * 100.0
    weigh(less, 1.0, f"{-less:.0f} % more of the region", f"{less:.0f} % less of the region")
    if row.cross_sections != other.cross_sections:
        (gives if other.cross_sections else takes).append(
            "cross-sections" if other.cross_sections else "no cross-sections"
        )
    if not gives:
        return f"{other.name} would be no better: {_listed(takes) or 'the same in all'}."
    return f"{other.name} would give {_listed(gives)}" + (f", but {_listed(takes)}." if takes else ".")


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""


NONE = "None of the clinic's optics does all that is asked: each row says why not."


def _reason(asked: ChoiceAsked, pick: ChoiceRow | None) -> str:
    if pick is None:
        return NONE
    late = asked.minutes is not None and not pick.within_minutes
    first = f"{pick.name}: {pick.says}"
    if late:
        first += f"; no optic keeps to {_plain(asked.minutes)} minutes, and this is the quickest"
    trades = [f"{words[:-1]}" for words in pick.against.values()]
    return "; ".join([first, *trades]) + "."


def _why(asked: ChoiceAsked, pick: ChoiceRow | None) -> str:
    if pick is None:
        return NONE
    if asked.minutes is None:
        return f"The quickest: {pick.says}."
    if pick.within_minutes:
        return f"The farthest from the eye that keeps to {_plain(asked.minutes)} min: {pick.says}."
    return f"None keeps to {_plain(asked.minutes)} min; this is the quickest: {pick.says}."


def _plain(number: float | None) -> str:
    """With the fewest digits that say it, as the phone writes it; no point after a whole number."""
    return repr(float(number)).removesuffix(".0") if number is not None else ""
