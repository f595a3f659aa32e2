"""Wrote fixtures/formats/line-v1/plan-device.ndjson once: an optic against the suggestion, a plan, a sweep.

    python tests/log/make_plan_lines_v1.py FILE

Kept to show how; never run to overwrite. The case is invented: no such patient, optic or clinic.
"""

import sys
from pathlib import Path

from invented import START, Phone

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1bbb"


def phone() -> Phone:
    made = Phone("plan phone", START + 240_000)
    made.write("case.opened", CASE, code="T-0414", modalities=["colour"])
    made.write("language.chosen", CASE, language="ar")
    made.write("optic.chosen", CASE, optic="wide", suggested="ultra", reason="afraid of closeness")
    made.write(
        "plan.chosen",
        CASE,
        plan="ring_of_four:midperiphery",
        eye="left",
        optic="wide",
        reason="as the study asks",
    )
    made.write("plan.chosen", CASE, plan="sweep", eye="right", optic="wide")
    made.write("sweep.sector", CASE, eye="right", sector="far-11", state="missing")
    made.write("sweep.sector", CASE, eye="right", sector="mid-3", state="dark")
    made.write("sweep.sector", CASE, eye="right", sector="mid-3", state="covered")
    return made


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(b"".join(raw + b"\n" for raw in phone().raws))
