"""A copy of the demo's source that a test may spoil, and the demo compiled once."""

import re
import shutil
from pathlib import Path

import pytest
from pack_sources import Compiled, Spoil

from chinrest.pack.demo import demo_path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo's source, copied."""
    return Path(shutil.copytree(demo_path(), tmp_path / "source"))


@pytest.fixture
def spoil(folder: Path) -> Spoil:
    """spoil(file, pattern, replacement): changes the one place that the pattern finds first."""

    def change(file: str, pattern: str, replacement: str) -> None:
        path = folder / file
        text, changed = re.subn(pattern, replacement, path.read_text("utf-8"), count=1, flags=re.DOTALL)
        assert changed == 1, f"{pattern!r} is not in {file}"
        path.write_text(text, "utf-8")

    return change


@pytest.fixture(scope="session")
def compiled() -> Compiled:
    return Compiled()
