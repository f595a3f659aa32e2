"""How long the demo pack takes to compile, and one exact fit to solve, in Python."""

import gzip
import statistics
import time
from itertools import product

from chinrest.model.answer import fit_request
from chinrest.model.face import FaceMeasures
from chinrest.model.fit import FitRequest
from chinrest.pack.compiler import compile_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.opening import load

from .table import Row, against


def measure() -> list[Row]:
    source = load(demo_path())
    began = time.perf_counter()
    compiled = compile_pack(source)
    seconds = time.perf_counter() - began
    rows = [
        against("demo pack compiled from its cache, one core", seconds, 60, "s"),
        against("demo pack, gzip", len(gzip.compress(compiled)) / 1000, 400, "kB"),
    ]
    questions = [
        FitRequest(
            optic=optic.id,
            eye="right",
            measures=FaceMeasures(pd_mm=pd, exophthalmometry=depth, nose=nose, brow="medium", neck=neck),
            gaze_deg=gaze,
            age_band="40-59",
        )
        for optic, pd, depth, nose, neck, gaze in product(
            source.optics,
            (58.0, 66.0),
            (11.0, 16.0, 20.0),
            ("low", "high"),
            ("free", "limited"),
            ((0.0, 0.0), (20.0, 10.0)),
        )
    ]
    taken = []
    for question in questions:
        began = time.perf_counter()
        fit_request(question, source.optics, source.faces, source.limits)
        taken.append((time.perf_counter() - began) * 1000)
    taken.sort()
    rows.append(
        against(
            f"one exact fit in Python, median of {len(taken)} patients", statistics.median(taken), 50, "ms"
        )
    )
    rows.append(against("the same, slowest", taken[-1], 50, "ms"))
    return rows
