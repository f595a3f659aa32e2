"""Wrote fixtures/formats/line-v1/dye-device.ndjson once: what is written around an injection.

    python tests/log/make_dye_lines_v1.py FILE

Kept to show how; never run to overwrite. The case is invented: no such patient, dose, clinic or person.
"""

import sys
from pathlib import Path

from invented import START, Phone

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1bcc"


def phone() -> Phone:
    made = Phone("dye phone", START + 240_000)
    made.write("case.opened", CASE, code="T-0414", modalities=["fluorescein", "indocyanine_green"])
    made.write(
        "screening.answered",
        CASE,
        question="earlier_reaction",
        answer="skin",
        note="one arm, years ago",
        consequence="stop",
    )
    made.write(
        "stop.released",
        CASE,
        question="earlier_reaction",
        answer="skin",
        step=None,
        by="DX",
        role="Doctor",
        words="known to me; goes on with line and kit at hand",
    )
    made.write("screening.answered", CASE, question="beta_blocker", answer="yes", consequence="ask")
    made.write(
        "physician.asked",
        CASE,
        question="beta_blocker",
        answer="yes",
        by="DX",
        role="Doctor",
        goes_on=True,
        words="eye drops only",
    )
    made.write("dye.left_out", CASE, modalities=["indocyanine_green"], why="none in stock today")
    made.write(
        "dose.worked",
        CASE,
        dye="fluorescein",
        weight_kg="60",
        concentration_mg_ml="100",
        dose_mg="462",
        volume_ml="4.62",
        capped=False,
        working="60 kg × 7.7 mg/kg = 462 mg → 4.62 mL of 100 mg/mL",
    )
    made.write("dose.checked", CASE, dye="fluorescein", by="QX", role="Nurse", agrees=True)
    made.write(
        "dye.injected",
        CASE,
        dye="fluorescein",
        arm="right",
        route="intravenous",
        pressed_at=made.at - 1100,
        pressed_mono=7900,
    )
    made.write("leak.asked", CASE, dye="fluorescein", leak=False)
    made.write("dye.flushed", CASE, dye="fluorescein")
    made.write("watch.started", CASE, minutes=30, rules=["injected"], since=made.at)
    made.write("watch.ended", CASE, after_min=31, early=False, well=True)
    made.write("leak.asked", CASE, dye="fluorescein", leak=False, moment="at_the_end")
    made.write("takeaway.given", CASE, language="ar", how="printed", parts=["skin_colour", "driving"])
    made.write("case.closed", CASE, outcome="completed")
    made.write(
        "safety.noted",
        CASE,
        what="dye_reaction",
        reached_patient=True,
        harm="mild",
        signs=["itching"],
        done=[],
        told=[],
        note="told by telephone in the evening",
        late=True,
    )
    return made


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(b"".join(raw + b"\n" for raw in phone().raws))
