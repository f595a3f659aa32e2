"""Wrote fixtures/formats/line-v1/reaction-device.ndjson once: a reaction, and practice that turned real.

    python tests/log/make_reaction_lines_v1.py FILE

Kept to show how; never run to overwrite. The case is invented: no such patient, drug or clinic.
"""

import sys
from pathlib import Path

from invented import START, Phone

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1b99"
ALONE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1baa"


def phone() -> Phone:
    made = Phone("reaction phone", START + 120_000)
    made.write("case.opened", CASE, practice=True, code="T-0413", modalities=["fluorescein"])
    made.write("reaction.started", CASE, practice=True, screen="series")
    made.write("reaction.sign", CASE, practice=True, sign="nausea", seen=True)
    made.write("practice.ended", CASE)
    made.write("reaction.sign", CASE, sign="nausea", seen=False)
    made.write("reaction.sign", CASE, sign="hives_or_rash", seen=True)
    made.write(
        "reaction.action", CASE, action="drug", drug="as said aloud", dose="one pen", by="nurse", detail=""
    )
    made.write(
        "reaction.observed", CASE, pulse=118, systolic=92, diastolic=54, saturation=94, green_dye_s=140.0
    )
    made.write("reaction.handed_over", CASE, to="clinician on call")
    made.write("reaction.ended", CASE, outcome="case_stopped", note="itching stopped after ten minutes")
    made.write("reaction.started", ALONE, screen="home")
    made.write("reaction.ended", ALONE, outcome="case_stopped")
    for case in (CASE, ALONE):
        made.write("reaction.attached", case, reaction=ALONE, to=CASE, code="T-0413")
    return made


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(b"".join(raw + b"\n" for raw in phone().raws))
