"""The compiled pack: the same bytes each time, small enough to carry, read back whole or refused in words."""

import gzip
import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from pack_sources import Compiled

from chinrest.model.vectors import vector_of
from chinrest.pack.compiled import canonical, decode_pack, pack_name, read_pack
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.source import load

MOST_GZIP_BYTES = 400_000
MOST_SECONDS = 60


def refusal(data: bytes) -> list[str]:
    with pytest.raises(PackFaults) as caught:
        decode_pack(data)
    return [str(fault) for fault in caught.value.faults]


def test_the_same_source_makes_the_same_bytes_in_another_process(compiled: Compiled) -> None:
    """Another hash seed shuffles sets, and dicts made of them."""
    script = (
        "import sys; from chinrest.pack.compiler import compile_pack; from chinrest.pack.source import load;"
        "sys.stdout.buffer.write(compile_pack(load(sys.argv[1])))"
    )
    again = subprocess.run(
        [sys.executable, "-c", script, str(demo_path())],
        capture_output=True,
        check=True,
        env={**os.environ, "PYTHONHASHSEED": "12345"},
    ).stdout
    assert again == compiled.data


def test_budget(compiled: Compiled) -> None:
    assert len(gzip.compress(compiled.data, 9)) <= MOST_GZIP_BYTES
    assert compiled.seconds <= MOST_SECONDS


def test_canonical_form(compiled: Compiled) -> None:
    """Sorted keys and no spaces, by Python's own JSON: reading and writing it again changes no byte."""
    again = json.dumps(json.loads(compiled.data), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert again.encode() == compiled.data


def test_the_name_is_the_hash_of_the_bytes(compiled: Compiled) -> None:
    assert pack_name(compiled.data) == hashlib.sha256(compiled.data).hexdigest()


def test_what_is_read_back_is_what_was_written(compiled: Compiled) -> None:
    pack, source = decode_pack(compiled.data), load(demo_path())
    assert canonical(pack) == compiled.data
    for name in source.__struct_fields__:
        assert getattr(pack, name) == getattr(source, name)


def test_vectors_hold_for_the_figures_that_the_bytes_carry(compiled: Compiled) -> None:
    """The answers were computed from the source; a phone only has the bytes."""
    pack = decode_pack(compiled.data)
    assert {vector.request.optic for vector in pack.fit_vectors} == {optic.id for optic in pack.optics}
    assert {vector.request.eye for vector in pack.fit_vectors} == {"right", "left"}
    for vector in pack.fit_vectors[::5]:
        assert vector_of(vector.request, pack.optics, pack.faces, pack.limits) == vector


def test_every_optic_has_words_for_how_near_it_comes(compiled: Compiled) -> None:
    pack = decode_pack(compiled.data)
    assert {row.optic for row in pack.touch.rows} == {optic.id for optic in pack.optics}


def test_a_fault_names_key_and_reason_and_hides_no_other(compiled: Compiled) -> None:
    value = json.loads(compiled.data)
    value["steps"][0]["weight"] = "may"
    del value["emergency"]["kit"]
    found = refusal(json.dumps(value).encode())
    assert any("steps[identity].weight: is 'may'; must be one of" in line for line in found)
    assert any("emergency.kit: is missing" in line for line in found)


@pytest.mark.parametrize("number", [10**400, 2**60, float("nan"), float("inf")])
@pytest.mark.parametrize("key", ["comfort_pause_at", "keep_days"])
def test_numbers_that_a_phone_cannot_hold(number: float, key: str, compiled: Compiled) -> None:
    value = json.loads(compiled.data)
    value["thresholds"][key] = number
    assert f"pack: thresholds.{key}: is " in refusal(json.dumps(value).encode())[0]


def test_another_format_is_refused(compiled: Compiled) -> None:
    value = json.loads(compiled.data) | {"format": 99}
    assert refusal(json.dumps(value).encode()) == ["pack: format: is 99; this version reads format 1"]


def test_a_later_writer_may_add_to_the_top(compiled: Compiled) -> None:
    value = json.loads(compiled.data) | {"added_later": [1]}
    assert decode_pack(json.dumps(value).encode()).version == decode_pack(compiled.data).version


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"{", "is not JSON"),
        (b"[]", "format"),
        (b'"\xff"', "is not UTF-8"),
        (b"", "is not JSON"),
        (b"[" * 100_000, "is no pack"),
        (b'{"format":' + b"9" * 10_000 + b"}", "is no pack"),
    ],
)
def test_what_is_no_pack_is_refused(data: bytes, why: str) -> None:
    assert why in refusal(data)[0]


def test_a_file_that_was_changed_no_longer_fits_its_name(compiled: Compiled, tmp_path: Path) -> None:
    path = tmp_path / f"{pack_name(compiled.data)}.json"
    path.write_bytes(compiled.data)
    assert read_pack(path)[1] == compiled.data
    path.write_bytes(compiled.data.replace(b"Tidewater", b"Tidewaver"))
    with pytest.raises(PackFaults, match="it was changed"):
        read_pack(path)


def test_no_number_is_lost_on_the_way(compiled: Compiled) -> None:
    """msgspec's own decoder, which the server uses, reads the same as Python's JSON."""
    assert msgspec.json.decode(compiled.data) == json.loads(compiled.data)
