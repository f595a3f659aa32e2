"""Keys, names and values of a pack as words."""

import re
from typing import Any

from .walk import Path

LABELS = {
    "optics": "optic",
    "limits": "limits",
    "faces": "face tables",
    "dosing": "dose rules",
    "dyes": "dye",
    "screening": "question",
    "emergency": "emergency page",
    "reaction": "reaction tables",
    "contacts": "contact",
    "watch": "watch after the dye",
    "takeaway": "take-away card",
    "steps": "step",
    "stages": "stage",
    "fields": "frame",
    "protocols": "protocol",
    "windows": "window",
    "layouts": "laid series",
    "sites": "site",
    "choices": "choices",
    "phrases": "phrase",
    "own_regions": "own region",
    "rules": "rule",
    "answers": "answer",
    "cautions": "caution",
    "signs": "sign",
    "criteria": "criterion",
    "scales": "scale",
    "actions": "action",
    "observations": "reading",
    "weights": "usual weights",
    "touch": "table of words for the gap",
}
PARTS = {
    "margin_mm": ("margin to the face", "mm"),
    "per_kg_mg": ("dose by weight", "mg/kg"),
    "cap_mg": ("never more than", "mg"),
    "fixed_mg": ("fixed dose", "mg"),
    "keep_below_mg_per_kg": ("keep below", "mg/kg"),
    "keep_total_below_mg_per_kg": ("keep both dyes together below", "mg/kg"),
    "concentrations_mg_ml": ("concentrations", "mg/ml"),
    "default_concentration_mg_ml": ("concentration", "mg/ml"),
    "rounding_step_ml": ("rounded to", "ml"),
    "pixels_per_deg": ("pixels per degree", ""),
    "clock_warn_ms": ("clock that is pointed out", "ms"),
    "least_pupil_mm": ("least pupil", "mm"),
    "when": ("asked when", ""),
    "say": ("what is said, phrase", ""),
    "do": ("what is done", ""),
    "minutes": ("minutes", "min"),
    "keep_days": ("closed cases stay on the phone", "days"),
    "comfort_pause_at": ("comfort, pause from", ""),
    "comfort_rise_pause": ("comfort, pause at a rise of", ""),
    "chin_rest_break_min": ("break at the chin rest after", "min"),
    "close_optic_mm": ("close optic, up to", "mm"),
    "large_move_deg": ("large move of the gaze, from", "°"),
    "likely_clear_mm": ("likely clear from a gap of", "mm"),
    "close_mm": ("close from a gap of", "mm"),
}
"""Where a key's own words would not say enough."""
UNITS = {
    "mm": "mm",
    "cm": "cm",
    "deg": "°",
    "s": "s",
    "min": "min",
    "ms": "ms",
    "h": "h",
    "kg": "kg",
    "mg": "mg",
    "ml": "ml",
    "g": "g",
}
UNIT_END = re.compile(rf"_({'|'.join(UNITS)})$")
NAMES = ("name", "title", "text", "happened", "id")
SHORT = 60


def part_of(key: str) -> tuple[str, str]:
    """A key in words, and the unit of what it holds."""
    if key in PARTS:
        return PARTS[key]
    unit = UNIT_END.search(key)
    plain = key[: unit.start()] if unit else key
    return plain.replace("_", " "), UNITS[unit[1]] if unit else ""


def short(text: str) -> str:
    """A name out of a sentence."""
    plain = " ".join(text.split())
    return plain if len(plain) <= SHORT else plain[: SHORT - 2].rstrip() + " …"


def value(given: Any, unit: str = "") -> str:
    """A plain value as it is read."""
    if given is None or given == "" or given == [] or given == {}:
        return "nothing"
    if isinstance(given, bool):
        return "yes" if given else "no"
    if isinstance(given, int | float):
        return _with(f"{given:.10g}", unit)
    if isinstance(given, str):
        return _with(given, unit)
    if isinstance(given, list | tuple):
        flat = all(not isinstance(item, list | tuple | dict) for item in given)
        return ", ".join(value(item, unit if flat else "") if flat else f"({value(item)})" for item in given)
    said = []
    for key, item in given.items():
        if item in (None, "", [], {}) or _says_nothing(item):
            continue
        word, of = part_of(key)
        said.append(f"{word} {value(item, of)}")
    return "; ".join(said) or "nothing"


def _says_nothing(given: Any) -> bool:
    """A condition of which no part is given: always."""
    return isinstance(given, dict) and all(item in (None, "", [], {}) for item in given.values())


def _with(text: str, unit: str) -> str:
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}" if unit else text


def entry_name(entry: Any, key: str) -> str:
    """What an entry of a list is called: its own name, else what it is known by."""
    if isinstance(entry, dict):
        for name in NAMES:
            said = entry.get(name)
            if isinstance(said, str) and said.strip():
                return short(said)
    return key.strip("[]")


def inside(tree: Any, key: str) -> Any:
    """One step down a path, None where there is no such thing."""
    if isinstance(tree, dict):
        return tree.get(key)
    if isinstance(tree, list) and key.startswith("["):
        bare = key[1:-1]
        for entry in tree:
            if isinstance(entry, dict) and (entry.get("id") == bare or entry_known(entry) == bare):
                return entry
    return None


def entry_known(entry: dict[str, Any]) -> str:
    """By which a contact or a rule without an id stands in a path."""
    if "site" in entry and "name" in entry:
        return ", ".join(text for text in (entry["site"], entry["name"]) if text)
    return str(entry.get("happened", ""))


def subject_and_part(path: Path, older: Any, newer: Any) -> tuple[str, str, str]:
    """(what it is about, which part of it, the part's unit) of a path. Names are the newer's, where it has
    one."""
    said: list[str] = []
    part, unit = "", ""
    was, now = older, newer
    for i, key in enumerate(path):
        was, now = inside(was, key), inside(now, key)
        if key.startswith("[#"):
            said.append(f"number {key[2:-1]}")
        elif key.startswith("["):
            named = entry_name(now if now is not None else was, key)
            said[-1:] = [f"{said[-1]} {named}" if said else named]
        elif path[0] == "phrases" and i > 0:
            said.append(key)
        elif i == len(path) - 1 and i > 0:
            part, unit = part_of(key)
        else:
            said.append(LABELS.get(key, part_of(key)[0]))
            unit = part_of(key)[1]
    subject = ", ".join(said)
    return subject[:1].upper() + subject[1:], part, unit
