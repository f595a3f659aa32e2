"""The check of a file of lines: the first bad one is named, with its number and why."""

import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import Phone

from chinrest.log.verify import verify, verify_file


def a_case(name: str = "phone", steps: int = 6) -> Phone:
    phone = Phone(name)
    phone.write("case.opened", "c1")
    for number in range(steps):
        phone.write("step.done", "c1", step=f"step_{number}")
    phone.write("case.closed", "c1")
    return phone


def test_a_sound_file(tmp_path: Path) -> None:
    phone = a_case()
    file = tmp_path / "log.ndjson"
    file.write_bytes(b"".join(raw + b"\n" for raw in phone.raws))
    verdict = verify_file(file)
    assert verdict.ok
    assert verdict.lines == 8
    assert verdict.first_bad is None
    [run] = verdict.runs
    assert (run.device, run.first_seq, run.last_seq) == (phone.device, 1, 8)
    assert run.head_sha256 == phone.lines[-1].envelope_sha256


def test_a_last_line_without_its_line_feed_is_sound(tmp_path: Path) -> None:
    file = tmp_path / "log.ndjson"
    file.write_bytes(b"\n".join(a_case().raws))
    assert verify_file(file).ok


def test_an_empty_file_is_sound_and_says_so() -> None:
    verdict = verify([])
    assert verdict.ok
    assert (verdict.lines, verdict.runs) == (0, [])


def test_no_more_of_an_endless_line_is_read_than_is_needed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Endless(io.RawIOBase):
        given = 0

        def readable(self) -> bool:
            return True

        def readinto(self, into: bytearray) -> int:
            into[:] = b"x" * len(into)
            Endless.given += len(into)
            return len(into)

    monkeypatch.setattr(Path, "open", lambda *_: io.BufferedReader(Endless()))
    verdict = verify_file(tmp_path / "endless")
    assert verdict.first_bad is not None
    assert (verdict.first_bad.number, verdict.first_bad.code) == (1, "too_large")
    assert Endless.given < 100_000


def test_part_of_a_chain_says_where_it_starts() -> None:
    verdict = verify(a_case().raws[3:])
    assert verdict.ok
    assert verdict.runs[0].first_seq == 4


@given(st.permutations(range(16)))
def test_devices_may_be_interleaved_in_any_way(order: list[int]) -> None:
    raws = [a_case("one").raws, a_case("two").raws]
    turns = [at % 2 for at in order]
    taken = [raws[turn].pop(0) for turn in turns if raws[turn]]
    verdict = verify(taken)
    assert verdict.ok
    assert verdict.lines == len(taken)


def test_a_missing_line_is_named() -> None:
    raws = a_case().raws
    del raws[3]
    verdict = verify(raws)
    assert verdict.first_bad is not None
    assert (verdict.first_bad.number, verdict.first_bad.code) == (4, "broken_chain")
    assert "1 missing" in verdict.first_bad.reason
    assert verdict.lines == 3


def test_two_lines_changed_over_are_named() -> None:
    raws = a_case().raws
    raws[3], raws[4] = raws[4], raws[3]
    verdict = verify(raws)
    assert verdict.first_bad is not None
    assert verdict.first_bad.number == 4


def test_a_repeated_line_is_named() -> None:
    raws = a_case().raws
    verdict = verify([*raws[:3], raws[2], *raws[3:]])
    assert verdict.first_bad is not None
    assert (verdict.first_bad.number, verdict.first_bad.code) == (4, "id_taken")


def test_a_forked_line_is_named() -> None:
    phone, other = a_case(), a_case()
    other.at += 77
    fork = other.write("step.done", "c2")
    phone.write("step.done", "c1")
    verdict = verify([*phone.raws, fork.raw])
    assert verdict.first_bad is not None
    assert (verdict.first_bad.number, verdict.first_bad.code) == (10, "fork")


def test_a_first_line_that_names_another_before_it_is_named() -> None:
    line = Phone().write_raw("step.done", b'{"salt":"s","step":"x"}', "c1", prev="a" * 64)
    verdict = verify([line.raw])
    assert verdict.first_bad is not None
    assert verdict.first_bad.code == "broken_chain"


@pytest.mark.parametrize(
    ("bad", "code"),
    [(b"", "malformed"), (b"junk", "malformed"), (b"x" * 20_000, "too_large")],
)
def test_a_line_that_is_none_is_named(bad: bytes, code: str) -> None:
    raws = a_case().raws
    verdict = verify([*raws[:2], bad, *raws[2:]])
    assert verdict.first_bad is not None
    assert (verdict.first_bad.number, verdict.first_bad.code) == (3, code)


@given(st.data())
def test_no_changed_byte_passes(data: st.DataObject) -> None:
    """Any one byte of any line but the last: the check fails at that line or the one after.

    But for the device's id in the first line: it then reads as another device's, and what follows as a part
    of a chain, which a file may hold; the verdict says that it is one.
    """
    raws = a_case().raws
    number = data.draw(st.integers(0, len(raws) - 2))
    at = data.draw(st.integers(0, len(raws[number]) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != raws[number][at]))
    raws[number] = raws[number][:at] + bytes([byte]) + raws[number][at + 1 :]
    verdict = verify(raws)
    if verdict.first_bad is None:
        assert number == 0
        assert sorted(run.first_seq for run in verdict.runs) == [1, 2]
    else:
        assert not verdict.ok
        assert verdict.first_bad.number in (number + 1, number + 2)
