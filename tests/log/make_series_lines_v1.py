"""Wrote fixtures/formats/line-v1/series-device.ndjson once: a series by the clock, a burst, a clock in doubt.

    python tests/log/make_series_lines_v1.py FILE

Kept to show how; never run to overwrite. The case is invented: no such patient, optic or clinic.
"""

import sys
from pathlib import Path

from invented import START, Phone

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1ccc"
LAYOUT = "fluorescein:wide:two"
FRAME = {
    "eye": "right",
    "optic": "wide",
    "modality": "fluorescein",
    "field": "centre",
    "gaze_deg": [0.0, 0.0],
}


def phone() -> Phone:
    made = Phone("series phone", START + 360_000)
    made.write("case.opened", CASE, code="T-0415", modalities=["fluorescein"])
    made.write("series.laid", CASE, protocol="fluorescein", layout=LAYOUT, eyes=["right", "left"])
    burst = {"eye": "right", "optic": "wide", "frames": ["transit:study"]}
    begun = made.write("series.burst", CASE, state="started", dye_s=8.4, **burst)
    made.write("series.burst", CASE, state="ended", dye_s=41.0, **burst)
    made.write("series.looked", CASE, burst=begun.envelope.id, shots=33, bad=[3, 12])
    made.write(
        "frame.taken",
        CASE,
        outcome="taken",
        series_frame="transit:study",
        burst=begun.envelope.id,
        **FRAME,
    )
    made.write(
        "frame.taken", CASE, outcome="again", reason="blink", series_frame="mid:study", dye_s=124.5, **FRAME
    )
    made.write("clock.uncertain", CASE, dye="fluorescein", wall_s=3741.2, mono_s=139.0)
    made.write(
        "clock.uncertain",
        CASE,
        dye="fluorescein",
        wall_s=3760.0,
        mono_s=157.8,
        agreed_s=165.0,
        by="nurse",
    )
    made.write("series.stopped", CASE, why="the patient cannot go on")
    return made


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(b"".join(raw + b"\n" for raw in phone().raws))
