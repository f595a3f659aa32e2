"""`python -m chinrest.pack.working SOURCE.json PACK.json PLANS.gz`: compiles a draft's tables in a process of
its own, which gives way to the phones' server, and tells on its output how far it is.

Each line is JSON: `{"piece": name}` for each plan that is worked out, at last `{"faults": [...]}`, empty
where the pack was written and proved.
"""

import json
import os
import sys
import time
from contextlib import suppress
from pathlib import Path

import msgspec

from .compiler import compile_pack
from .faults import PackFault, PackFaults
from .layouts import layouts
from .plan_cache import PlanCache, caches_for
from .plans import planned
from .proving import faults_of
from .source import load_tables

SAVE_EVERY_S = 30.0
GIVES_WAY = 10


def _tell(what: object) -> None:
    print(msgspec.json.encode(what).decode(), flush=True)


def _cache(path: Path) -> PlanCache:
    try:
        return PlanCache.read(path).merge(caches_for(None))
    except PackFaults:  # damaged: it only saves time
        return caches_for(None)


def work(source: Path, target: Path, plans: Path) -> list[PackFault]:
    """Writes the compiled pack; the faults, where the source or what came of it has any."""
    try:
        draft = load_tables(json.loads(source.read_text("utf-8")))
    except PackFaults as error:
        return error.faults
    cache, written = _cache(plans), time.monotonic()

    def told(name: str) -> None:
        nonlocal written
        if time.monotonic() - written > SAVE_EVERY_S:  # minutes of work are not to be lost
            cache.write(plans)
            written = time.monotonic()
        _tell({"piece": name})

    layouts(draft, planned(draft, cache, told).plans, cache)
    cache.write(plans)
    raw = compile_pack(draft, cache)
    faults = faults_of(raw)
    if not faults:
        target.write_bytes(raw)
    return faults


if __name__ == "__main__":
    with suppress(OSError):
        os.nice(GIVES_WAY)
    _tell({"faults": work(*map(Path, sys.argv[1:4]))})
