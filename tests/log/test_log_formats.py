"""Files of every released line format are read by the newest code, and mean what they meant."""

import json
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import pytest
from invented import kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import fold_incidents
from chinrest.log.line import Line, decode_line
from chinrest.log.registry import BODY_TYPES, FORMAT, SERVER_TYPES
from chinrest.log.verify import verify_file

FORMATS = Path(__file__).resolve().parents[2] / "fixtures" / "formats"
FOLDERS = sorted(FORMATS.glob("line-v*"))


def lines_of(folder: Path) -> list[Line]:
    files = sorted(folder.glob("*.ndjson"))
    assert files
    return [decode_line(raw) for file in files for raw in file.read_bytes().splitlines()]


def expected(folder: Path) -> dict[str, Any]:
    read: dict[str, Any] = json.loads((folder / "expected.json").read_text())
    return read


def test_every_format_up_to_this_one_has_its_file() -> None:
    assert [folder.name for folder in FOLDERS] == [f"line-v{number}" for number in range(1, FORMAT + 1)]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_chains_are_whole(folder: Path) -> None:
    heads = {}
    for file in folder.glob("*.ndjson"):
        verdict = verify_file(file)
        assert verdict.ok, verdict.first_bad
        heads |= {run.device: run.head_sha256 for run in verdict.runs}
    assert heads == expected(folder)["heads"]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_chains_by_the_standard_library_alone(folder: Path) -> None:
    """With json and hashlib and none of our code: the format is what its description says."""
    for file in folder.glob("*.ndjson"):
        prev = "0" * 64
        for number, raw in enumerate(file.read_bytes().split(b"\n")[:-1], start=1):
            envelope_bytes, body_bytes = raw.split(b"\t")
            envelope, body = json.loads(envelope_bytes), json.loads(body_bytes)
            assert envelope["seq"] == number
            assert envelope["prev"] == prev
            assert envelope["body_sha256"] == sha256(body_bytes).hexdigest()
            assert re.fullmatch(r"[A-Za-z0-9+/]{22}==", body["salt"])
            prev = sha256(envelope_bytes).hexdigest()


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_the_case_means_what_it_meant(folder: Path) -> None:
    want = expected(folder)
    case = want["case"]["case"]
    standing = stand(kept(line) for line in lines_of(folder) if line.envelope.case == case)
    assert [line.kept.envelope.id for line in standing] == want["order"]
    assert [line.kept.envelope.id for line in standing if not line.known] == want["unknown"]
    assert {
        line.kept.envelope.id: {"by": line.amended_by, "withdrawn": line.withdrawn}
        for line in standing
        if line.amended_by is not None
    } == want["amended"]
    fact = msgspec.to_builtins(fold_case(case, standing))
    assert {name: fact[name] for name in want["case"]} == want["case"]
    facts = [msgspec.to_builtins(fact) for fact in fold_incidents(standing)]
    assert len(facts) == len(want["incidents"])
    for found, row in zip(facts, want["incidents"], strict=True):
        assert {name: found[name] for name in row} == row


def test_the_first_format_has_every_type_that_a_phone_writes() -> None:
    written = {line.envelope.type for line in lines_of(FORMATS / "line-v1")}
    assert set(BODY_TYPES) - written == SERVER_TYPES
