"""What the tests of the pack share."""

import time
from collections.abc import Callable
from pathlib import Path

from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFault, PackFaults
from chinrest.pack.source import load

Spoil = Callable[[str, str, str], None]


def faults_in(folder: Path) -> list[PackFault]:
    """Every fault of a source; none when it loads."""
    try:
        load(folder)
    except PackFaults as error:
        return error.faults
    return []


class Compiled:
    """The demo's bytes, and the seconds that they took."""

    def __init__(self) -> None:
        started = time.perf_counter()
        self.data = compile_pack(load(demo_path()))
        self.seconds = time.perf_counter() - started
