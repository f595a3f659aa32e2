"""Lines in short form come back byte for byte, or not at all.

Coded by `short_form`, which has json and nothing of ours; hashes are those of the standard library's hashlib.
"""

import json
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import Phone

from chinrest.log.short import ShortError, TooLongError, restored
from short_form import shorten

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "formats" / "short-v1.json"
VECTORS: list[dict[str, Any]] = json.loads(FILE.read_text())
PLENTY = 2**30

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)
bodies = st.dictionaries(
    texts | st.sampled_from(["prev", "body_sha256", "id", "seq"]), json_values, max_size=4
)
# a line's other fields, also such as a later version may have
envelopes = st.fixed_dictionaries(
    {"actor": st.none() | st.just("A B") | st.just("眼科")},
    optional={"after": st.integers(0, 2**40), "later": json_values, "prev_of": texts},
)


@st.composite
def runs(draw: st.DrawFn) -> list[bytes]:
    """A run of a device's chain, of one line at least."""
    phone = Phone()
    for body, changes in draw(st.lists(st.tuples(bodies, envelopes), min_size=1, max_size=6)):
        phone.write_raw("balloon.released", msgspec.json.encode(body), "c1", **changes)
    return phone.raws[draw(st.integers(0, len(phone.raws) - 1)) :]


def written() -> list[bytes]:
    phone = Phone()
    for score in range(4):
        phone.write("comfort.noted", "c1", score=score, bothers=[])
    return phone.raws


def short_of(lines: list[bytes]) -> list[bytes]:
    short = shorten(lines)
    assert short is not None
    return short


PIECES = [*written(), *short_of(written())]


def head_of(line: bytes) -> str:
    return sha256(line.split(b"\t")[0]).hexdigest()


@pytest.mark.parametrize(
    "row", [row for row in VECTORS if row["short"] is not None], ids=lambda row: row["what"]
)
def test_the_vectors_come_back(row: dict[str, Any]) -> None:
    """Those by which the phone's own coding is proved too."""
    lines = [line.encode() for line in row["lines"]]
    whole, _ = restored([line.encode() for line in row["short"]], PLENTY)
    assert whole == lines


def test_the_vectors_are_what_the_description_says() -> None:
    for row in VECTORS:
        short = shorten([line.encode() for line in row["lines"]])
        assert row["short"] == (None if short is None else [line.decode() for line in short]), row["what"]


@given(runs())
def test_any_run_comes_back_byte_for_byte_with_its_hashes(lines: list[bytes]) -> None:
    whole, hashes = restored(short_of(lines), PLENTY)
    assert whole == lines
    assert [(each.envelope, each.body) for each in hashes] == [
        (head_of(line), sha256(line.split(b"\t")[1]).hexdigest()) for line in lines
    ]


@given(runs(), st.data())
def test_no_changed_byte_goes_under_the_same_head(lines: list[bytes], data: st.DataObject) -> None:
    short = short_of(lines)
    n = data.draw(st.integers(0, len(short) - 1))
    at = data.draw(st.integers(0, len(short[n]) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda value: value != short[n][at]))
    short[n] = short[n][:at] + bytes([byte]) + short[n][at + 1 :]
    try:
        whole, hashes = restored(short, PLENTY)
    except ShortError:
        return
    if n == 0 and short[0].split(b"\t")[0] == lines[0].split(b"\t")[0]:
        # the first line comes whole and says itself what its body's hash is: its own check finds that
        assert sha256(whole[0].split(b"\t")[1]).hexdigest() not in whole[0].split(b"\t")[0].decode()
    else:
        assert hashes[-1].envelope != head_of(lines[-1])


@given(st.lists(st.binary(max_size=80) | st.sampled_from(PIECES), max_size=5))
def test_whatever_comes_is_put_back_or_refused(lines: list[bytes]) -> None:
    try:
        whole, hashes = restored(lines, PLENTY)
    except ShortError:
        return
    assert len(whole) == len(hashes) == len(lines)


def damaged(line: bytes, field: bytes) -> bytes:
    at = line.index(field) + len(field)
    return line[:at] + (b"2" if line[at : at + 1] != b"2" else b"3") + line[at + 1 :]


@pytest.mark.parametrize("field", [b'"salt":"', b'"at":', b'"actor":"', b'"id":"'])
def test_a_line_damaged_on_the_phone_does_not_come_out_at_the_head(field: bytes) -> None:
    lines = written()
    head = head_of(lines[-1])
    lines[2] = damaged(lines[2], field)
    _, hashes = restored(short_of(lines), PLENTY)
    assert hashes[-1].envelope != head


@pytest.mark.parametrize("field", [b'"prev":"', b'"body_sha256":"'])
def test_a_hash_damaged_on_the_phone_comes_as_it_was_when_it_was_chained(field: bytes) -> None:
    """Its successor's hash, under the signed head, proves that; in the last line the head is another."""
    lines = written()
    inside = [*lines[:2], damaged(lines[2], field), lines[3]]
    assert restored(short_of(inside), PLENTY)[0] == lines
    last = [*lines[:3], damaged(lines[3], field)]
    assert restored(short_of(last), PLENTY)[1][-1].envelope != head_of(last[3])


def test_put_back_no_more_than_the_limit() -> None:
    lines = written()
    size = sum(len(line) + 1 for line in lines)
    assert restored(short_of(lines), size)[0] == lines
    with pytest.raises(TooLongError):
        restored(short_of(lines), size - 1)


first, second = written()[:2]
HUGE = first.replace(b'"seq":1', b'"seq":' + b"9" * 400, 1)
AFTER = short_of([first, second])[1]
BAD: dict[str, tuple[list[bytes], str]] = {
    "the first without what stands before its id": ([AFTER], "lines[0]"),
    "the first with spaces": ([first.replace(b'":', b'": ', 1), AFTER], "lines[0]"),
    "the first with its fields in another order": ([first.replace(b'"id"', b'"it"', 1), AFTER], "lines[0]"),
    "the first at sequence 0": ([first.replace(b'"seq":1', b'"seq":0', 1), AFTER], "lines[0]"),
    "the first at a sequence that nothing holds": ([HUGE, AFTER], "lines[0]"),
    "the first without a tab": ([first.replace(b"\t", b" "), AFTER], "lines[0]"),
    "the second whole": ([first, second], "lines[1]"),
    "the second without a tab": ([first, AFTER.replace(b"\t", b" ")], "lines[1]"),
    "the second with a shorter id": ([first, AFTER[1:]], "lines[1]"),
    "the second with capitals in its id": ([first, b"A" * 36 + AFTER[36:]], "lines[1]"),
    "the second empty": ([first, b""], "lines[1]"),
    "the second with the tab in its id": ([first, AFTER[:20] + b"\t" + AFTER[20:]], "lines[1]"),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_what_can_not_be_put_back_is_refused_with_its_place(what: str) -> None:
    lines, where = BAD[what]
    with pytest.raises(ShortError) as refused:
        restored(lines, PLENTY)
    assert refused.value.where == where
