"""How long every fold takes to be made anew from the lines, and how much memory it holds.

Over CHINREST_BENCH_CASES invented cases, or over the folder that CHINREST_BENCH_DATA names (made before by
`chinrest demo`), which is then changed: its folds are made anew.
"""

import asyncio
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from chinrest.store import Store

from .desk_side import CASES
from .table import Row, against

LIMIT_S = 180
"""At 100,000 cases, on two cores."""
MEMORY_MB = 600


async def again(database: Path) -> tuple[float, int]:
    """Seconds, and lines that stand."""
    store = await Store.open(database)
    try:
        began = time.perf_counter()
        await store.refold()
        return time.perf_counter() - began, await store.position()
    finally:
        await store.close()


def measure() -> list[Row]:
    chinrest = [sys.executable, "-m", "chinrest.cli"]
    with tempfile.TemporaryDirectory() as folder:
        given = os.environ.get("CHINREST_BENCH_DATA")
        data = Path(given) if given else Path(folder, "data")
        if given is None:
            making = [*chinrest, "demo", "--cases", str(CASES), "--sites", "5", "--data", str(data)]
            subprocess.run(making, check=True, capture_output=True)
        # in a process of its own: its memory is then that of the refold alone
        told = subprocess.run(
            [sys.executable, "-m", "tests.bench.refold_side", str(data / "chinrest.db")],
            check=True,
            capture_output=True,
            text=True,
        )
    seconds, lines, megabytes = told.stdout.split()
    name = f"every fold anew from {int(lines):,} lines"
    return [
        against(name, float(seconds), LIMIT_S, "s", 0),
        against(f"{name}: most memory", float(megabytes), MEMORY_MB, "MB", 0),
    ]


if __name__ == "__main__":
    took, count = asyncio.run(again(Path(sys.argv[1])))
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 + (
        resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    )
    print(f"{took:.1f} {count} {most:.0f}")
