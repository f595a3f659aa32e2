"""Where a difference belongs, from what can do most harm on; and which way it leans, where that is plain."""

from typing import Any

from .walk import Place

GROUPS = {
    "turn": "Clearance and turn, as computed",
    "figures": "Optics, limits and face tables",
    "dose": "Dose rules",
    "stops": "Stops, and the questions before the dye",
    "emergency": "Emergency page and numbers, reactions",
    "after": "Watching after the dye, and going home",
    "thresholds": "Thresholds",
    "series": "Protocols and series",
    "steps": "Other steps, and frames",
    "phrases": "What is said to the patient",
    "clinic": "Clinic, sites, cautions, lists to pick from",
    "plans": "Plans of fields",
    "proofs": "Tables and check vectors that follow from the rest",
}
"""In this order they are read: what turns a head toward glass first, what only follows from the rest last."""

OF_KEY = {
    **dict.fromkeys(("optics", "limits", "faces", "touch", "pupil"), "figures"),
    **dict.fromkeys(("dosing", "dyes"), "dose"),
    "screening": "stops",
    **dict.fromkeys(("emergency", "reaction"), "emergency"),
    **dict.fromkeys(("watch", "takeaway"), "after"),
    "thresholds": "thresholds",
    **dict.fromkeys(("protocols", "pace", "layouts"), "series"),
    **dict.fromkeys(("steps", "stages", "fields"), "steps"),
    **dict.fromkeys(("phrases", "phrases_unreviewed", "phrase_fallbacks"), "phrases"),
    **dict.fromkeys(("clinic", "version", "demo", "language", "cautions", "sites", "choices"), "clinic"),
    **dict.fromkeys(
        (
            "planning",
            "own_regions",
            "reach_classes",
            "plans",
            "pattern_names",
            "patterns",
            "sweeps",
            "optic_choices",
        ),
        "plans",
    ),
}
WEIGHTS = ("note", "should", "must", "stop")
CONSEQUENCES = ("go", "note", "ask", "stop")
LESS_IS_CARELESS = {"margin_mm", "minutes", "sd_mm", "spread_mm", "samples", "flush_ml", "least_pupil_mm"}
MORE_IS_CARELESS = {
    *("stop_side_deg", "stop_down_deg", "warn_deg", "yaw_deg", "pitch_deg"),
    *("likely_clear_up_to", "close_up_to", "tolerance_mm"),
    *("per_kg_mg", "fixed_mg", "cap_mg", "keep_below_mg_per_kg", "keep_total_below_mg_per_kg", "use_by_h"),
    *("comfort_pause_at", "comfort_rise_pause", "large_move_deg", "clock_warn_ms", "remind_s"),
}


def group_of(place: Place, was: dict[str, Any], now: dict[str, Any]) -> str:
    """Which group a difference belongs to; what no group knows follows from the rest."""
    top = place.path[0]
    if top == "steps" and len(place.path) > 1 and _is_stop(place.path[1], was, now):
        return "stops"
    return OF_KEY.get(top, "proofs")


def _is_stop(entry: str, was: dict[str, Any], now: dict[str, Any]) -> bool:
    """A step that is a stop in either pack."""
    return any(
        f"[{step['id']}]" == entry and step["weight"] == "stop"
        for side in (was, now)
        for step in side.get("steps", [])
    )


def less_careful(place: Place) -> bool:
    """Whether the newer is plainly the less careful. False says nothing: most changes lean neither way."""
    top, key = place.path[0], place.path[-1]
    if place.kind == "removed":
        return (
            top in ("steps", "screening", "cautions", "watch")
            or "contacts" in place.path
            or "first" in place.path
            or "local_steps" in place.path
            or "criteria" in place.path
            or (key.startswith("[") and top in ("dyes",) and "cautions" in place.path)
        )
    if place.kind != "changed":
        return False
    for order, name in ((WEIGHTS, "weight"), (CONSEQUENCES, "consequence")):
        if key == name and place.was in order and place.now in order:
            return order.index(place.now) < order.index(place.was)
    was, now = _number(place.was), _number(place.now)
    if was is None or now is None:
        # a ceiling that was taken away
        return key in MORE_IS_CARELESS and was is not None and place.now in ("", None)
    if "stop_up_deg" in place.path:
        return now > was
    return (key in LESS_IS_CARELESS and now < was) or (key in MORE_IS_CARELESS and now > was)


def _number(given: Any) -> float | None:
    if isinstance(given, bool):
        return None
    try:
        return float(given)
    except (TypeError, ValueError):
        return None
