"""How long a plan of fields takes with its proof, reach and all, from nothing remembered."""

import time

from chinrest.model.fields.plan import FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach, candidates
from chinrest.model.retina.regions import region_of
from chinrest.pack.demo import demo_path
from chinrest.pack.source import load

from .table import Row, against

CASES = [
    ("narrow", "posterior_pole", PlanAsked()),
    ("narrow", "posterior_pole", PlanAsked(coverage=0.99, overlap=0.3)),
    ("narrow", "seven_fields", PlanAsked()),
    ("narrow", "seven_fields", PlanAsked(coverage=0.9, overlap=0.3)),
    ("wide", "seven_fields", PlanAsked()),
    ("wide", "midperiphery", PlanAsked()),
    ("wide", "midperiphery", PlanAsked(coverage=0.98, overlap=0.3)),
    ("ultrawide", "midperiphery", PlanAsked(coverage=0.98)),
    ("ultrawide", "far_periphery", PlanAsked(coverage=0.75)),
]
UP_TO = 9


def measure() -> list[Row]:
    source = load(demo_path())
    optics = {optic.id: optic for optic in source.optics}
    patient = Patient(age_band="60-79")
    rows: list[Row] = []
    slowest, proved, counted = 0.0, 0, 0
    for optic, region, asked in CASES:
        began = time.perf_counter()
        reach = Reach(patient, optics[optic], "right", source.faces, source.limits)
        reach.all(candidates())
        within = time.perf_counter() - began
        made = plan(
            region_of(region),
            asked,
            optics[optic],
            "right",
            patient,
            source.faces,
            source.limits,
            reach=reach,
            pace=source.pace,
        )
        seconds = time.perf_counter() - began
        rows.append(Row(_what(made), f"{seconds:.1f} s, of which reach {within:.1f} s"))
        if made.feasible and made.lower_bound <= UP_TO:
            counted += 1
            proved += made.proved
            slowest = max(slowest, seconds)
    rows.append(
        Row(
            f"plans of up to {UP_TO} fields proved", f"{proved} of {counted}", f"{counted}", proved == counted
        )
    )
    rows.append(against("the slowest of them", slowest, 10, "s"))
    return rows


def _what(made: FieldPlan) -> str:
    proof = "proved" if made.proved else f"at least {made.lower_bound}"
    asked = f"{made.asked.coverage:.0%}, joined by {made.asked.overlap:.0%}"
    return f"plan: {made.optic}, {made.region}, {asked}: {made.count} fields, {proof}"
