"""Wrote fixtures/formats/line-v1/locked-device.ndjson once: lines of a locked phone, and who wrote them.

    python tests/log/make_locked_lines_v1.py FILE

Kept to show how; never run to overwrite. The case is invented: no such patient or clinic.
"""

import sys
from pathlib import Path

from invented import START, Phone

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1bcc"


def phone() -> Phone:
    made = Phone("locked phone", START + 360_000)
    made.write("case.opened", CASE, code="T-0415", modalities=["colour"])
    made.actor = None
    locked = [
        made.write("comfort.noted", CASE, score=6, bothers=["light"]),
        made.write("reaction.started", CASE, screen="home"),
    ]
    made.actor = "CD"
    made.write("lines.confirmed", CASE, lines=[line.envelope.id for line in locked], by="CD")
    return made


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(b"".join(raw + b"\n" for raw in phone().raws))
