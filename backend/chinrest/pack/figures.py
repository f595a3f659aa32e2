"""Do a source's figures make sense: optics by first principles, limits and face tables in their order?"""

from collections.abc import Iterator
from typing import get_args

from chinrest.model.eye import Eye
from chinrest.model.face import (
    BrowClass,
    Capsule,
    EyeDepthClass,
    Face,
    FaceTables,
    Landmark,
    NeckClass,
    NoseClass,
)
from chinrest.model.fit import AdultBand, Limits
from chinrest.model.optic import optic_faults

from .faults import PackFault
from .parts import Parts

Found = Iterator[tuple[str, str]]


def figure_faults(parts: Parts) -> Iterator[PackFault]:
    if "optics.toml" in parts.present and not parts.named("optics"):
        yield PackFault(file="optics.toml", key="optics", reason="is empty; a pack has at least one optic")
    eye = parts.limits.eye if parts.limits else Eye()
    for optic in parts.optics:
        for fault in optic_faults(optic, eye.pupil_depth_mm):
            yield PackFault(file="optics.toml", key=f"optics[{optic.id}].{fault.key}", reason=fault.reason)
    if parts.limits:
        for key, reason in _limit_faults(parts.limits):
            yield PackFault(file="limits.toml", key=key, reason=reason)
        for optic in parts.optics:
            if 0 < optic.working_distance_mm <= parts.limits.margin_mm:
                yield PackFault(
                    file="limits.toml",
                    key="margin_mm",
                    reason=f"is {parts.limits.margin_mm:g}; must be below the working distance of every"
                    f" optic, and {optic.id!r} works at {optic.working_distance_mm:g} mm",
                )
        yield from _gaze_faults(parts, parts.limits)
    if parts.faces:
        for key, reason in _face_faults(parts.faces):
            yield PackFault(file="faces.toml", key=key, reason=reason)


def _range(key: str, value: float, low: float, high: float) -> Found:
    if not low <= value <= high:
        yield key, f"is {value:g}; must lie from {low:g} to {high:g}"


def _whole(key: str, given: object, wanted: tuple[str, ...]) -> Found:
    """A table by class must hold every class."""
    assert isinstance(given, dict)  # noqa: S101 -- the kinds were checked when it was read
    for name in wanted:
        if name not in given:
            yield f"{key}.{name}", "is missing"


def _limit_faults(limits: Limits) -> Found:
    yield from _range("margin_mm", limits.margin_mm, 0.5, 30)
    yield from _range("target_cm", limits.target_cm, 20, 1000)
    yield from _range("sight_line_radius_mm", limits.sight_line_radius_mm, 0, 50)
    yield from _whole("necks", limits.necks, get_args(NeckClass))
    wider: tuple[str, float, float] | None = None
    for name in ("free", "limited", "fixed"):
        neck = limits.necks.get(name)
        if neck is None:
            continue
        yield from _range(f"necks.{name}.yaw_deg", neck.yaw_deg, 0, 80)
        yield from _range(f"necks.{name}.pitch_deg", neck.pitch_deg, 0, 60)
        if wider and (neck.yaw_deg > wider[1] or neck.pitch_deg > wider[2]):
            yield f"necks.{name}", f"must not turn further than {wider[0]}"
        wider = (name, neck.yaw_deg, neck.pitch_deg)
    turn = limits.eye_turn
    yield from _range("eye_turn.warn_deg", turn.warn_deg, 1, turn.stop_side_deg)
    yield from _range("eye_turn.stop_side_deg", turn.stop_side_deg, 1, 60)
    yield from _range("eye_turn.stop_down_deg", turn.stop_down_deg, 1, 60)
    yield from _whole("eye_turn.stop_up_deg", turn.stop_up_deg, get_args(AdultBand))
    for band, stop in turn.stop_up_deg.items():
        yield from _range(f"eye_turn.stop_up_deg.{band}", stop, 1, 60)
    for name in ("yaw", "pitch", "eye"):
        yield from _range(f"comfort.{name}_deg", getattr(limits.comfort, f"{name}_deg"), 1, 90)
        yield from _range(f"comfort.{name}_weight", getattr(limits.comfort, f"{name}_weight"), 0.001, 1000)
    yield from _solver_faults(limits)


def _solver_faults(limits: Limits) -> Found:
    solver, words = limits.solver, limits.touch_words
    yield from _range("solver.guard_mm", solver.guard_mm, 0.0001, 0.5)
    yield from _range("solver.relative_gap", solver.relative_gap, 1e-9, 0.01)
    yield from _range("solver.absolute_gap", solver.absolute_gap, 1e-9, 0.01)
    yield from _range("solver.least_box_deg", solver.least_box_deg, 1e-6, 0.1)
    yield from _range("solver.distance_step_mm", solver.distance_step_mm, 0.1, 5)
    yield from _range("touch_words.likely_clear_up_to", words.likely_clear_up_to, 0, 0.5)
    yield from _range("touch_words.close_up_to", words.close_up_to, words.likely_clear_up_to, 1)
    yield from _range("touch_words.samples", words.samples, 64, 100_000)


def _gaze_faults(parts: Parts, limits: Limits) -> Iterator[PackFault]:
    """A frame's gaze must be one that an eye, with the head turned for it, can reach at all."""
    side = limits.eye_turn.stop_side_deg + max((neck.yaw_deg for neck in limits.necks.values()), default=0)
    nod = max((neck.pitch_deg for neck in limits.necks.values()), default=0)
    up = max(limits.eye_turn.stop_up_deg.values(), default=0) + nod
    down = limits.eye_turn.stop_down_deg + nod
    for field in parts.fields:
        h, v = field.gaze_deg
        key = f"fields[{field.id}].gaze_deg"
        if abs(h) > side:
            yield PackFault(file="fields.toml", key=key, reason=f"{h:g} to the side; nobody reaches {side:g}")
        if not -down <= v <= up:
            yield PackFault(
                file="fields.toml", key=key, reason=f"{v:g} up; nobody reaches beyond {-down:g} to {up:g}"
            )


def _face_faults(tables: FaceTables) -> Found:
    for name in ("pd_range", "exophthalmometry_range"):
        span = getattr(tables, name)
        if span.low >= span.high:
            yield f"{name}.high", f"is {span.high:g}; must be above low, {span.low:g}"
    yield from _range("pd_reference_mm", tables.pd_reference_mm, tables.pd_range.low, tables.pd_range.high)
    yield from _range("pd_measured_spread_mm", tables.pd_measured_spread_mm, 0, 10)
    depth, span = tables.eye_depth, tables.exophthalmometry_range
    if depth.deep_set_below_mm >= depth.prominent_above_mm:
        yield "eye_depth.prominent_above_mm", "must be above deep_set_below_mm"
    yield from _range("eye_depth.reference_mm", depth.reference_mm, span.low, span.high)
    yield from _range("eye_depth.measured_spread_mm", depth.measured_spread_mm, 0, 10)
    for key, classes, wanted in (
        ("eye_depth.classes", depth.classes, get_args(EyeDepthClass)),
        ("nose_classes", tables.nose_classes, get_args(NoseClass)),
        ("brow_classes", tables.brow_classes, get_args(BrowClass)),
    ):
        yield from _whole(key, classes, wanted)
        values = []
        for name in wanted:
            value = classes.get(name)
            if value is not None:
                yield from _range(f"{key}.{name}.spread_mm", value.spread_mm, 0, 20)
                values.append(value.value_mm)
        if values != sorted(values):
            yield key, f"values must rise in the order {', '.join(wanted)}"
    for key, face in (("nominal", tables.nominal), ("forward", tables.forward)):
        yield from _landmark_faults(key, face)
    if not tables.capsules:
        yield "capsules", "is empty; without them nothing can be touched"
    if len(tables.capsules) > 30:
        yield "capsules", f"has {len(tables.capsules)}; a phone's kernel keeps at most 30"
    for i, capsule in enumerate(tables.capsules):
        yield from _capsule_faults(f"capsules[#{i + 1}]", capsule)


def _landmark_faults(key: str, face: Face) -> Found:
    yield from _whole(f"{key}.landmarks", face.landmarks, get_args(Landmark))
    for name, placed in face.landmarks.items():
        if min(placed.sd_mm) < 0:
            yield f"{key}.landmarks.{name}.sd_mm", "holds a value below 0"
        if not placed.source.strip():
            yield f"{key}.landmarks.{name}.source", "is empty; every landmark names where it comes from"


def _capsule_faults(key: str, capsule: Capsule) -> Found:
    for name, end in (("start", capsule.start), ("end", capsule.end)):
        yield from _range(f"{key}.{name}.radius_mm", end.radius_mm, 0.1, 60)
