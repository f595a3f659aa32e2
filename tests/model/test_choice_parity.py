"""Which optic is suggested: the phone's own code, over the pack's table, against the reference model.

Optics, plans and requests are drawn at random (and are nobody's): figures from few values, so that ties and
dominated rows are common.
"""

from random import Random
from typing import Any, get_args

from model_demo import OPTICS
from msgspec import structs
from phone_code import ask_phone_code

from chinrest.model.choice import ChoiceAsked, choose
from chinrest.model.fields.plan import FieldPlan, PlanAsked, PlanReason
from chinrest.model.fields.seconds import Stop
from chinrest.model.optic import Modality, Optic
from chinrest.pack.planned import PackChoice

PHONE = """
import { suggest } from "@src/chairside/choice/suggest";
const answer = (all) => all.map(({ table, asked }) => {
  const { rows, suggested, why, trades } = suggest(table, asked);
  return { rows: rows.map((j) => [j.row.optic, j.whyNot, j.dominatedBy, j.inTime]),
    suggested: suggested?.optic ?? null, why, trades };
});
"""
HOW_MANY = 4000
MODALITIES: list[Modality] = list(get_args(Modality))


def _optic(draw: Random, number: int) -> Optic:
    return structs.replace(
        OPTICS[0],
        # a whole number as an id stands in another order in JavaScript's objects
        id=draw.choice([f"optic{number}", str(number)]),
        name=f"Optic {number}",
        modalities=draw.sample(MODALITIES, draw.choice([1, 3, 3])),
        cross_sections=draw.random() < 0.5,
        pixels_per_deg=draw.choice([10.0, 12.34567, 20.0, 30.5, 40.0]),
    )


def _plan(draw: Random, optic: Optic) -> FieldPlan:
    count = draw.randint(0, 5)
    feasible = count > 0 and draw.random() < 0.8
    why = PlanReason(code="region_beyond_reach", sentence="At most 71.2 % can be reached.")
    poses = [
        Stop(
            gaze_deg=(0.0, 0.0),
            yaw_deg=draw.choice([0.0, -4.2]),
            pitch_deg=0.0,
            working_distance_mm=draw.choice([15.0, 30.0, 50.0]),
            eye_in_head_deg=(0.0, 0.0),
        )
        for _ in range(count)
    ]
    return FieldPlan(
        optic=optic.id,
        eye="right",
        region="posterior_pole",
        asked=PlanAsked(),
        feasible=feasible,
        reason=None if feasible else why,
        fields=[(0.0, 0.0, 50.0)] * count,
        poses=poses,
        count=count,
        lower_bound=count,
        proved=True,
        region_fraction=draw.choice([0.5, 0.95, 0.96]),
        reachable_fraction=1.0,
        least_join_overlap=None,
        seconds=draw.choice([6.0, 30.0, 60.0, 90.5, 180.0]),
        moves=0,
        turns=0,
        discomfort=0.0,
        discomfort_proved=True,
        gaps=[],
        other_optics=[],
        face="this patient's",
    )


def _asked(draw: Random) -> ChoiceAsked:
    return ChoiceAsked(
        modalities=draw.sample(MODALITIES, draw.randint(0, len(MODALITIES))),
        cross_sections=draw.random() < 0.3,
        detail_px_per_deg=draw.choice([None, None, 10.0, 12.5, 20.0, 40.0]),
        minutes=draw.choice([None, 0.1, 0.5, 1.0, 1.5, 3.0]),
    )


def test_phone_and_model_suggest_the_same_optic_for_the_same_reason() -> None:
    draw = Random(20)
    asked_of_phone: list[dict[str, Any]] = []
    wanted: list[dict[str, Any]] = []
    for _ in range(HOW_MANY):
        optics = [_optic(draw, number) for number in draw.sample(range(1, 9), draw.randint(1, 5))]
        plans = [_plan(draw, optic) for optic in optics]
        asked = _asked(draw)
        bare = choose(ChoiceAsked(), optics, plans, "right", "posterior_pole")
        table = PackChoice(
            region=bare.region,
            classes=["average.medium.free"],
            rows=bare.rows,
            quickest=bare.quickest,
            farthest=bare.farthest,
        )
        request = {
            "modalities": asked.modalities,
            "crossSections": asked.cross_sections,
            "detail_px_per_deg": asked.detail_px_per_deg,
            "minutes": asked.minutes,
        }
        asked_of_phone.append({"table": table, "asked": request})
        made = choose(asked, optics, plans, "right", "posterior_pole")
        wanted.append(
            {
                "rows": [[row.optic, row.why_not, row.dominated_by, row.within_minutes] for row in made.rows],
                "suggested": made.suggested,
                "why": made.why,
                "trades": made.trades,
            }
        )
    answers = ask_phone_code(PHONE, asked_of_phone)
    for question, got, want in zip(asked_of_phone, answers, wanted, strict=True):
        assert got == want, question["asked"]
    # what was drawn asks the rule itself: picks of every kind, ties, rows that another dominates
    starts = {want["why"].split(" ")[0] + want["why"].split(" ")[1] for want in wanted}
    assert starts == {"Noneof", "Thequickest:", "Thefarthest", "Nonekeeps"}
    assert sum(any(row[2] for row in want["rows"]) for want in wanted) > HOW_MANY / 20
