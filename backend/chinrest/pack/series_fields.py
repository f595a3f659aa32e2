"""Where the eye looks for each window of a protocol, with one optic and one kind of face."""

from collections.abc import Mapping, Sequence

from chinrest.model.fields.reach import Reach
from chinrest.model.series.layout import SeriesField
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import ProtocolWindow

from .planned import PackPlan, ReachClass
from .plans import class_patient
from .schema import Field
from .source import Source

Gaze = tuple[float, float]
CENTRE: Gaze = (0.0, 0.0)


class OpticFields:
    """Gazes by window, and which of them share a turn of the head, for the usual face of one reach class.

    The same in either eye. A gaze that cannot be reached is left out and noted.
    """

    def __init__(
        self,
        optic: str,
        fields: Sequence[Field],
        plans: Mapping[str, Sequence[Gaze]],
        reach: Reach,
        pace: Pace,
    ) -> None:
        """`plans`: region -> the gazes of its plan, in order."""
        self.optic, self.plans, self.pace = optic, plans, pace
        self.fields = {field.id: field for field in fields}
        self._reach = reach
        self._notes: dict[str, list[str]] = {}
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
            gazes = self.plans.get(window.region)
            if gazes:
                return [(f"{window.region}-{i + 1}", f"Field {i + 1}", gaze) for i, gaze in enumerate(gazes)]
            told.append(
                f"'{window.name}': no plan of {window.region!r} with this optic; the centre stands for it."
            )
        return [("centre", "Centre", CENTRE)]

    def _at(self, name: str, label: str, gaze: Gaze, told: list[str]) -> SeriesField | None:
        reached = self._reach.at(gaze)
        if reached is None and gaze == CENTRE:
            told.append("The usual face of this kind has no pose for the centre with this optic.")
        elif reached is None:
            told.append(f"'{label}' cannot be reached with this optic and the usual face, and is left out.")
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


def class_fields(source: Source, plans: Sequence[PackPlan], each: ReachClass) -> dict[str, OpticFields]:
    """Where the eye looks with each optic for one reach class, by its plans."""
    patient = class_patient(source.faces, each)
    found = {}
    for optic in source.optics:
        own = {
            plan.region: [(h, v) for h, v, _ in plan.fields]
            for plan in plans
            if plan.optic == optic.id and each.id in plan.classes and plan.feasible
        }
        reach = Reach(patient, optic, "right", source.faces, source.limits)
        found[optic.id] = OpticFields(optic.id, source.fields, own, reach, source.pace)
    return found
