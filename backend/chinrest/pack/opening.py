"""Opens what a person names on the command line: a source folder, or a compiled pack."""

from pathlib import Path

from .compiled import read_pack
from .schema import Pack
from .source import Source, load


def open_guidance(path: Path) -> Source | Pack:
    """A folder is read as a source, a file as a compiled pack; both have optics, faces, limits, steps.

    Raises PackFaults with every fault found.
    """
    return load(path) if path.is_dir() else read_pack(path)[0]
