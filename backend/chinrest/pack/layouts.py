"""The layouts that a pack carries: each protocol with each optic that takes its dyes, one eye and two."""

from collections.abc import Mapping, Sequence
from typing import get_args

from msgspec import structs

from chinrest.model.face import FaceTables
from chinrest.model.fields.reach import Patient, Reach
from chinrest.model.fit import Limits
from chinrest.model.optic import Optic
from chinrest.model.series.ask import FieldsOf
from chinrest.model.series.lay import lay, layout_id
from chinrest.model.series.layout import Layout, SeriesField
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Eyes, Protocol, ProtocolWindow
from chinrest.model.series.remedies import with_remedies

from .plan_cache import PlanCache
from .planned import USUAL_CLASS, PackPlan
from .plans import usual_plans
from .schema import Field, Pack
from .source import Source

Gaze = tuple[float, float]
Plans = Mapping[tuple[str, str], Sequence[Gaze]]
"""(optic, region) -> the gazes of its plan, in order."""
CENTRE: Gaze = (0.0, 0.0)
RULES = 1
"""Number of the way in which layouts are made: raised with every change of it, so the cache is remade."""
AVERAGE = (
    "Head turns are those of an average adult. A face that needs other turns takes more or fewer seconds."
)


class OpticFields:
    """Where the eye looks for each window with one optic, and which of these share a turn of the head.

    Turns are those of the tables' reference adult; the same in either eye. A gaze that cannot be reached is
    left out and noted.
    """

    def __init__(
        self,
        optic: Optic,
        fields: Sequence[Field],
        plans: Plans,
        faces: FaceTables,
        limits: Limits,
        pace: Pace,
    ) -> None:
        self.optic, self.plans, self.pace = optic, plans, pace
        self.fields = {field.id: field for field in fields}
        self._notes: dict[str, list[str]] = {}
        self._reach = Reach(Patient(), optic, "right", faces, limits)
        self._turns: list[tuple[float, float]] = []

    def __call__(self, window: ProtocolWindow) -> list[SeriesField]:
        told: list[str] = []
        self._notes[window.id] = told
        asked = self._asked(window, told)
        return [field for name, label, gaze in asked if (field := self._at(name, label, gaze, told))]

    def notes(self, window: ProtocolWindow) -> list[str]:
        """What was not as asked when this window was last asked for."""
        return self._notes[window.id]

    def _asked(self, window: ProtocolWindow, told: list[str]) -> list[tuple[str, str, Gaze]]:
        if window.at == "fields":
            named = [self.fields[name] for name in window.fields]
            return [(field.id, field.name, field.gaze_deg) for field in named]
        if window.at == "plan":
            gazes = self.plans.get((self.optic.id, window.region))
            if gazes:
                return [(f"{window.region}-{i + 1}", f"Field {i + 1}", gaze) for i, gaze in enumerate(gazes)]
            told.append(
                f"'{window.name}': no plan of {window.region!r} with this optic; the centre stands for it."
            )
        return [("centre", "Centre", CENTRE)]

    def _at(self, name: str, label: str, gaze: Gaze, told: list[str]) -> SeriesField | None:
        reached = self._reach.at(gaze)
        if reached is None and gaze != CENTRE:
            told.append(f"'{label}' cannot be reached with this optic and an average face, and is left out.")
            return None
        pose = (round(reached.yaw_deg, 1), round(reached.pitch_deg, 1)) if reached else None
        turn = self._turn(pose) if pose else 0
        h, v = gaze
        return SeriesField(id=name, name=label, h=h, v=v, turn=turn, turn_deg=pose and self._turns[turn])

    def _turn(self, pose: tuple[float, float]) -> int:
        """The first turn that is near enough to this pose, or a new one."""
        for number, known in enumerate(self._turns):
            if max(abs(known[0] - pose[0]), abs(known[1] - pose[1])) < self.pace.turn_from_deg:
                return number
        self._turns.append(pose)
        return len(self._turns) - 1


def takes(optic: Optic, protocol: Protocol) -> bool:
    """Whether an optic can take every dye of a protocol."""
    return all(injection.dye in optic.modalities for injection in protocol.dyes)


def layout_of(
    protocol: Protocol,
    optic: Optic,
    eyes: Eyes,
    optics: Sequence[Optic],
    by_optic: Mapping[str, OpticFields],
    pace: Pace,
    cache: PlanCache,
) -> Layout:
    """One layout, with what would make it fit where something is missed."""
    able = [other.id for other in optics if takes(other, protocol)]
    asked = {each: {window.id: by_optic[each](window) for window in protocol.windows} for each in able}
    notes = [note for window in protocol.windows for note in by_optic[optic.id].notes(window)]

    def fields_of(each: str) -> FieldsOf:
        return lambda window: asked[each][window.id]

    def made() -> Layout:
        others = {other: fields_of(other) for other in able if other != optic.id}
        laid = lay(protocol, optic.id, eyes, fields_of(optic.id), pace)
        return with_remedies(laid, protocol, fields_of(optic.id), others, pace)

    follows = {
        "layout": RULES,
        "protocol": protocol,
        "optic": optic.id,
        "eyes": eyes,
        "fields": asked,
        "pace": pace,
    }
    laid = cache.get(follows, Layout, made)
    return structs.replace(laid, notes=[*dict.fromkeys(notes), AVERAGE])


def layouts(source: Source, plans: Sequence[PackPlan], cache: PlanCache) -> list[Layout]:
    """All that a phone may follow. Eyes are told apart as study and fellow, so one layout serves either.

    `plans`: those of the reference adult are laid.
    """
    by_optic = source_fields(source, plans)
    return [
        layout_of(protocol, optic, eyes, source.optics, by_optic, source.pace, cache)
        for protocol in source.protocols
        for optic in source.optics
        if takes(optic, protocol)
        for eyes in get_args(Eyes)
    ]


def guidance_layout(
    guidance: Source | Pack, protocol: str, optic: str, eyes: Eyes, cache: PlanCache
) -> Layout:
    """One layout of a compiled pack, or laid from a source. Raises KeyError for ids that are not in it."""
    if isinstance(guidance, Pack):
        name = layout_id(protocol, optic, eyes)
        return {layout.id: layout for layout in guidance.layouts}[name]
    followed = {known.id: known for known in guidance.protocols}[protocol]
    plans = usual_plans(guidance, cache, {window.region for window in followed.windows})
    return layout_of(
        followed,
        {known.id: known for known in guidance.optics}[optic],
        eyes,
        guidance.optics,
        source_fields(guidance, plans),
        guidance.pace,
        cache,
    )


def source_fields(source: Source, plans: Sequence[PackPlan]) -> dict[str, OpticFields]:
    """Where the eye looks with each optic of a source; plans are those of the reference adult."""
    usual = {
        (plan.optic, plan.region): [(h, v) for h, v, _ in plan.fields]
        for plan in plans
        if USUAL_CLASS in plan.classes and plan.feasible
    }
    return {
        optic.id: OpticFields(optic, source.fields, usual, source.faces, source.limits, source.pace)
        for optic in source.optics
    }
