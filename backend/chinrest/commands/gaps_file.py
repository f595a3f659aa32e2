"""Reading a file of gaps between events. A spreadsheet wrote it, so all its faults are told at once."""

import csv
from pathlib import Path
from typing import get_args

from msgspec import Struct

from chinrest.model.errors import InputError
from chinrest.model.rates.counts import whole_text
from chinrest.model.rates.gchart import LEAST, Counted

COLUMNS: dict[Counted, str] = {
    "cases_between": "cases between two events",
    "cases_to_event": "cases up to and with the event",
}
LABEL = "label"


class FileFault(Struct, frozen=True, kw_only=True):
    """One fault: line from 1, the column by its name (empty where it is the whole line), and why."""

    file: str
    line: int
    column: str
    why: str

    def __str__(self) -> str:
        where = f"{self.file}: line {self.line}" + (f": {self.column}" if self.column else "")
        return f"{where}: {self.why}"


class FileFaults(Exception):  # noqa: N818 -- it carries several faults, and its name says so
    """The file has faults; `faults` holds every one, in the order of the lines."""

    def __init__(self, faults: list[FileFault]) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = faults


class Gaps(Struct, frozen=True, kw_only=True):
    """What a sound file holds: for each gap its cases, label (empty where none) and line."""

    counted: Counted
    cases: list[int]
    labels: list[str]
    lines: list[int]


class _Reading:
    def __init__(self, file: Path) -> None:
        self.name = file.name
        self.faults: list[FileFault] = []

    def fault(self, line: int, column: str, why: str) -> None:
        self.faults.append(FileFault(file=self.name, line=line, column=column, why=why))


def read_gaps(file: Path) -> Gaps:
    """Reads the file; columns as in COLUMNS and LABEL. Raises OSError, or FileFaults with every fault."""
    reading = _Reading(file)
    rows = _rows(reading, file.read_bytes())
    gaps = _gaps(reading, rows) if rows else None
    if not rows and not reading.faults:
        reading.fault(1, "", "the file is empty; its first line must name the columns")
    if reading.faults or gaps is None:
        raise FileFaults(sorted(reading.faults, key=lambda fault: fault.line))
    return gaps


def _rows(reading: _Reading, data: bytes) -> list[tuple[int, list[str]]]:
    """(line, cells) of every row that is not blank."""
    texts = []
    for number, raw in enumerate(data.removeprefix(b"\xef\xbb\xbf").splitlines(), start=1):
        try:
            raw.decode()
        except UnicodeDecodeError as error:
            reading.fault(number, "", f"byte {error.start + 1} is not UTF-8; save the file as CSV in UTF-8")
        texts.append(raw.decode(errors="replace"))
    first = next((text for text in texts if text.strip()), "")
    reader = csv.reader(texts, delimiter=";" if ";" in first else ",", strict=True)
    rows = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        reading.fault(reader.line_num, "", f"not readable as CSV: {error}")
    return rows


def _gaps(reading: _Reading, rows: list[tuple[int, list[str]]]) -> Gaps | None:
    (head_line, head), *body = rows
    for name in sorted(set(head)):
        if name not in (*get_args(Counted), LABEL):
            known = ", ".join([*get_args(Counted), LABEL])
            reading.fault(head_line, name, f"no such column; known are {known}")
        elif head.count(name) > 1:
            reading.fault(head_line, name, f"stands {head.count(name)} times; must stand once")
    found = [name for name in COLUMNS if name in head]
    if len(found) != 1:
        what = "both stand here" if found else "neither stands here"
        reading.fault(head_line, "", f"the first line must name {' or '.join(COLUMNS)}; {what}")
        return None
    counted = found[0]
    gaps = Gaps(counted=counted, cases=[], labels=[], lines=[])
    for line, cells in body:
        if len(cells) != len(head):
            reading.fault(line, "", f"has {len(cells)} cells; the first line names {len(head)}")
            continue
        text = cells[head.index(counted)]
        try:
            gaps.cases.append(whole_text(counted, text, least=LEAST[counted]))
        except InputError as error:
            reading.fault(line, error.field, error.why)
        gaps.labels.append(cells[head.index(LABEL)] if LABEL in head else "")
        gaps.lines.append(line)
    if len(body) < 2:
        why = f"has {len(body)} {'gap' if len(body) == 1 else 'gaps'}; a chart needs at least 2"
        reading.fault(rows[-1][0], counted, why)
    return gaps
