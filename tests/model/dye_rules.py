"""Dose rules for the tests: the demo's, and rules made up at random to drive every branch."""

import random
import tomllib
from pathlib import Path
from typing import Any

import msgspec

from chinrest.model.dye.dose import Dose, DoseRequest
from chinrest.model.dye.rule import Dosing, Dye
from chinrest.model.dye.work import work_dose

SOURCE = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pack"
TABLE = tomllib.loads((SOURCE / "dyes.toml").read_text("utf-8"))
DOSING = msgspec.convert(TABLE["dosing"], Dosing)
DYES = msgspec.convert(TABLE["dyes"], list[Dye])
DYE = {dye.id: dye for dye in DYES}
TODAY = "2026-11-25"


def dye(base: str = "fluorescein", **given: Any) -> Dye:
    """A demo dye with some of its rule changed."""
    return msgspec.structs.replace(DYE[base], **given)


def dosing(**given: Any) -> Dosing:
    return msgspec.structs.replace(DOSING, **given)


def work(*dyes: Dye, rule: Dosing = DOSING, **asked: Any) -> Dose:
    """The answer for the first of the dyes (the demo's where none is given)."""
    known = list(dyes) or DYES
    return work_dose(DoseRequest(**{"dye": known[0].id, "on": TODAY, **asked}), known, rule)


def _text(rng: random.Random, top: int, places: int) -> str:
    """A decimal above 0, sometimes with zeros at its end."""
    places = rng.randint(0, places)
    part = "".join(rng.choice("0123456789") for _ in range(places))
    text = f"{rng.randint(0, top)}" + (f".{part}" if part else "")
    return text if text.strip("0.") else "1"


def random_dye(rng: random.Random, name: str) -> Dye:
    """Any rule at all, sensible or not: the arithmetic must be the same on both sides."""
    fixed = rng.random() < 0.4
    strengths = [_text(rng, 300, 2) for _ in range(rng.randint(1, 3))]
    dates = rng.choice(
        [("2024-01-01", "2099-12-31")] * 8
        + [("", ""), ("2026-11-26", "2027-01-01"), ("2020-01-01", "2026-11-24")]
    )
    return Dye(
        id=name,
        name=f"Dye {name}",
        modality="fluorescein",
        routes=["intravenous"],
        rule="fixed" if fixed else "per_kg",
        per_kg_mg="" if fixed else _text(rng, 12, 3),
        fixed_mg=_text(rng, 600, 2) if fixed else "",
        cap_mg=_text(rng, 700, 2),
        keep_below_mg_per_kg=_text(rng, 20, 2) if rng.random() < 0.4 else "",
        concentrations_mg_ml=strengths,
        default_concentration_mg_ml=rng.choice(["", strengths[0]]),
        rounding_step_ml=rng.choice(["0.01", "0.1", "0.05", "0.2", "0.5", "1", "0.025"]),
        rounding=rng.choice(["nearest", "nearest", "down"]),
        flush_ml="5",
        use_by_h=rng.choice(["", "6", "0.5"]),
        arm_to_eye_s=(7.0, 14.0),
        approved_by=rng.choice(["A lead"] * 9 + [" "]),
        approved_on=dates[0],
        valid_until=dates[1],
        cautions=["A caution"],
        source=["invented"],
    )


def random_question(rng: random.Random, dyes: list[Dye]) -> DoseRequest:
    slip = rng.choice(
        ["", "0", "-4", "18,5", "1e9", "1000000000", "18 kg", "0.0000001", "651", " 18", "٣", "18."]
    )
    strength = rng.choice(["", "", "100,0", "7", *rng.choice(dyes).concentrations_mg_ml])
    return DoseRequest(
        dye=rng.choice([*(dye.id for dye in dyes)] * 9 + ["no_such_dye", ""]),
        on=rng.choice([TODAY] * 12 + ["25.11.2026", "2026-02-30", "20261125"]),
        weight_kg=slip if rng.random() < 0.1 else _text(rng, rng.choice([3, 30, 120, 700]), 3),
        band=rng.choice(["", "", "adult", "5_to_11", "under_1", "no_such_band"])
        if rng.random() < 0.3
        else "",
        weight_confirmed=rng.random() < 0.7,
        concentration_mg_ml=strength,
        with_dye=rng.choice([dye.id for dye in dyes]) if rng.random() < 0.3 else "",
        made_up_min=rng.choice([0, 30, 31, 360, 361, -1, 2_000_000]) if rng.random() < 0.2 else None,
    )
