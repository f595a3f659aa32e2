"""An interchangeable non-contact optic, as the clinic enters it from the maker's handbook."""

from __future__ import annotations

from math import atan, degrees, radians, tan
from typing import Literal

import msgspec

Modality = Literal["colour", "fluorescein", "indocyanine_green"]


class Optic(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One optic. Lengths in mm, angles in degrees, mass in grams.

    The body is a convex solid of revolution about the instrument's axis. `profile` lists (z, radius), z
    from the plane of the front rim away from the patient; it starts at z = 0, z rises, and the outline
    never bends inward. `field_deg` is the full cone angle at the eye's entrance pupil at
    `working_distance_mm`, which runs from the cornea to the rim plane along the axis. `tolerance_mm` is how
    far past that distance the handbook still allows. `clear_radius_mm` is the usable radius of the front
    element, at the rim plane.
    """

    id: str
    name: str
    summary: str
    field_deg: float
    field_settings_deg: list[float] = []
    """Smaller fields the optic can be set to; empty when there is only the one."""
    working_distance_mm: float
    tolerance_mm: float
    clear_radius_mm: float
    profile: list[tuple[float, float]]
    least_pupil_mm: float
    modalities: list[Modality]
    cross_sections: bool
    mass_g: float
    pixels_per_deg: float
    inside_light_deg: float
    """Largest gaze from the axis that the light inside the instrument can ask for through this optic."""
    focus_start: str
    focus_steps: list[str]
    swap_steps: list[str]


class OpticFault(msgspec.Struct, frozen=True, kw_only=True):
    """A fault in an optic's figures: which key, and why it cannot stand."""

    key: str
    reason: str


def field_at_distance_deg(optic: Optic, working_distance_mm: float, pupil_depth_mm: float) -> float:
    """Full field left at a working distance: the cone from entrance pupil to the clear edge.

    An upper bound (illumination fails first), and never more than the optic's own field. First principles:
    half angle = atan(clear radius / distance from rim plane to entrance pupil).
    """
    cone = 2.0 * degrees(atan(optic.clear_radius_mm / (working_distance_mm + pupil_depth_mm)))
    return min(optic.field_deg, cone)


def optic_faults(optic: Optic, pupil_depth_mm: float) -> list[OpticFault]:
    """Every way in which the figures contradict themselves or first principles; empty when sound."""
    faults: list[OpticFault] = []

    def fault(key: str, reason: str) -> None:
        faults.append(OpticFault(key=key, reason=reason))

    for key, low, high in (
        ("field_deg", 1.0, 179.0),
        ("working_distance_mm", 1.0, 300.0),
        ("tolerance_mm", 0.0, 100.0),
        ("clear_radius_mm", 0.5, 200.0),
        ("least_pupil_mm", 0.5, 10.0),
        ("mass_g", 1.0, 10000.0),
        ("pixels_per_deg", 0.1, 10000.0),
        ("inside_light_deg", 0.0, 90.0),
    ):
        value = getattr(optic, key)
        if not low <= value <= high:
            fault(key, f"is {value:g}; must lie from {low:g} to {high:g}")
    for setting in optic.field_settings_deg:
        if not 0.0 < setting < optic.field_deg:
            fault(
                "field_settings_deg", f"{setting:g} must be above 0 and below field_deg {optic.field_deg:g}"
            )
    if not optic.modalities:
        fault("modalities", "is empty; name at least one")
    faults.extend(_profile_faults(optic))
    if not faults:
        needed_mm = (optic.working_distance_mm + pupil_depth_mm) * tan(radians(optic.field_deg / 2.0))
        if needed_mm > optic.clear_radius_mm + 0.05:
            fault(
                "clear_radius_mm",
                f"is {optic.clear_radius_mm:g}; a field of {optic.field_deg:g} deg at"
                f" {optic.working_distance_mm:g} mm needs at least {needed_mm:.1f} (first principles)",
            )
    return faults


def _profile_faults(optic: Optic) -> list[OpticFault]:
    points = optic.profile
    if len(points) < 2:
        return [OpticFault(key="profile", reason="needs at least two points")]
    faults: list[OpticFault] = []
    if points[0][0] != 0.0:
        faults.append(OpticFault(key="profile", reason=f"must start at the rim, z = 0, not {points[0][0]:g}"))
    if points[0][1] < optic.clear_radius_mm:
        faults.append(
            OpticFault(
                key="profile",
                reason=f"rim radius {points[0][1]:g} is less than clear_radius_mm {optic.clear_radius_mm:g}",
            )
        )
    for i, (z, radius) in enumerate(points):
        if radius <= 0.0:
            faults.append(
                OpticFault(key="profile", reason=f"point {i + 1}: radius {radius:g} must be above 0")
            )
        if i and z <= points[i - 1][0]:
            faults.append(
                OpticFault(key="profile", reason=f"point {i + 1}: z {z:g} must be above the point before")
            )
    if faults:
        return faults
    for i in range(1, len(points) - 1):
        (z0, r0), (z1, r1), (z2, r2) = points[i - 1], points[i], points[i + 1]
        if (r1 - r0) * (z2 - z1) < (r2 - r1) * (z1 - z0) - 1e-9:
            faults.append(
                OpticFault(key="profile", reason=f"bends inward at point {i + 1}: the outline must be convex")
            )
    return faults
