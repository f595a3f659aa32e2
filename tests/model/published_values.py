"""Published check values with their sources, from fixtures/reference."""

import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "reference"


def published(name: str) -> dict[str, Any]:
    """One file of published values."""
    return tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
