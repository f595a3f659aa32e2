"""A pack's source as tables by file, out of what a compiled pack holds: where a draft of the next begins."""

from typing import Any

import msgspec

from .parts import CHOICE_LISTS
from .reader import Table
from .schema import Pack
from .source import Source


def tables_of(guidance: Pack | Source) -> dict[str, Table]:
    """Every file of the source, by its name, as the reader of a source reads it. All steps stand in one file;
    what is nothing is left out, since TOML has no word for it. Comments are not kept in a pack."""
    plain: dict[str, Any] = _given(msgspec.to_builtins(guidance))
    page, choices = plain["emergency"], plain["choices"]
    found: dict[str, Table] = {
        "clinic.toml": {
            key: plain[key]
            for key in ("clinic", "version", "demo", "language", "cautions", "sites", "thresholds")
        },
        "optics.toml": {"optics": plain["optics"]},
        "faces.toml": plain["faces"],
        "limits.toml": plain["limits"],
        "steps.toml": {"stages": plain["stages"], "steps": plain["steps"]},
        "fields.toml": {"fields": plain["fields"]},
        "choices.toml": {key: choices[key] for key in ("harm_scale", *CHOICE_LISTS)},
        "emergency.toml": page,
        "protocols.toml": {"pace": plain["pace"], "protocols": plain["protocols"]},
        "planning.toml": plain["planning"],
    }
    if guidance.own_regions:
        found["regions.toml"] = {"regions": plain["own_regions"]}
    for language, said in plain["phrases"].items():
        found[f"phrases/{language}.toml"] = {
            "reviewed": language not in plain["phrases_unreviewed"],
            "fallback": plain["phrase_fallbacks"].get(language, ""),
            "phrases": said,
        }
    if guidance.dosing is not None:
        found["dyes.toml"] = {"dosing": plain["dosing"], "dyes": plain["dyes"]}
    if guidance.screening:
        found["screening.toml"] = {"questions": plain["screening"]}
    found |= {f"{key}.toml": plain[key] for key in ("reaction", "watch", "takeaway") if plain.get(key)}
    return found


def _given(value: Any) -> Any:
    """Without what is nothing."""
    if isinstance(value, dict):
        return {key: _given(item) for key, item in value.items() if item is not None}
    if isinstance(value, list | tuple):
        return [_given(item) for item in value]
    return value
