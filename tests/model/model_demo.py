"""The demo's optics, faces and limits as the model takes them, read straight from their source."""

import tomllib
from pathlib import Path
from typing import Any

import msgspec

from chinrest.model.face import FaceMeasures, FaceTables
from chinrest.model.fit import FitRequest, Limits
from chinrest.model.optic import Optic

SOURCE = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pack"


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((SOURCE / name).read_text("utf-8"))


FACES = msgspec.convert(_read("faces.toml"), FaceTables)
LIMITS = msgspec.convert(_read("limits.toml"), Limits)
OPTICS = msgspec.convert(_read("optics.toml")["optics"], list[Optic])
OPTIC = {optic.id: optic for optic in OPTICS}
AVERAGE = FaceMeasures(pd_mm=63.0, exophthalmometry="average", nose="medium", brow="medium", neck="free")


def request(optic: str = "ultrawide", **given: Any) -> FitRequest:
    """A question about the average adult; measures and the rest may be given by name."""
    measures = {name: given.pop(name) for name in AVERAGE.__struct_fields__ if name in given}
    return FitRequest(
        optic=optic,
        eye=given.pop("eye", "right"),
        measures=msgspec.structs.replace(AVERAGE, **measures),
        age_band=given.pop("age_band", "18-39"),
        **given,
    )
