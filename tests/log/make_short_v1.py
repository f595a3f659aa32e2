"""Wrote fixtures/formats/short-v1.json once: batches and their short form, by `short_form`, which is not what
codes them on a phone nor what puts them back at a server. Kept to show how; never run to overwrite.

    PYTHONPATH=tests python tests/log/make_short_v1.py FILE
"""

import json
import sys
from pathlib import Path

from invented import Phone

from short_form import shorten

FORMATS = Path(__file__).resolve().parents[2] / "fixtures" / "formats"


def batches() -> dict[str, list[bytes]]:
    written = (FORMATS / "line-v1" / "device.ndjson").read_bytes().split(b"\n")[:-1]
    phone = Phone("phone of the short form")
    phone.write("device.enrolled")
    phone.write("case.opened", "c1", note="Prüfung nach Plan – 眼科, ≥ 60° \U0001f441 \u2028 \x00 \t \n")
    phone.write_raw("balloon.released", b'{ "salt":"s", "prev":"", "body_sha256":"" }', "c1", prev_note="\t")
    phone.write_raw("case.handed_over", b'{"salt":"s","to":"{\\"id\\":\\"","note":""}', "c1", after=phone.at)
    phone.write("case.closed", "c1")
    own, other = phone.raws, Phone("another phone")
    other.write("device.enrolled")
    other.write("storage.asked", answer="granted", quota_bytes=1)
    spaced = own[1].replace(b'","device":', b'", "device":', 1)
    return {
        "nothing": [],
        "one line": own[:1],
        "a chain from its first line": own,
        "a run out of the middle": own[2:],
        "every kind of event of format 1": written,
        "a gap": [own[0], own[2]],
        "backwards": [own[1], own[0]],
        "the same line twice": [own[0], own[0]],
        "another device's line after": [own[0], other.raws[1]],
        "spaces between the fields": [own[0], spaced],
        "no tab": [own[0], own[1].replace(b"\t", b" ")],
        "no line": [own[0], b"nonsense"],
        "empty": [own[0], b""],
    }


def main(target: Path) -> None:
    rows = []
    for what, lines in batches().items():
        short = shorten(lines)
        rows.append(
            {
                "what": what,
                "lines": [line.decode() for line in lines],
                "short": None if short is None else [line.decode() for line in short],
            }
        )
    target.write_text(json.dumps(rows, ensure_ascii=False, indent=1) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
