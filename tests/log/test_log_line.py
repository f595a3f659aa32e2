"""One line: written, read, and refused with what is wrong.

The hash is checked against the example of FIPS 180-4's SHA-256 for "abc" (NIST, Secure Hash Standard
examples; value from memory) and otherwise by the standard library's hashlib, which is not ours. JSON is
checked by the standard library's decoder.
"""

import json
from hashlib import sha256

import msgspec
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from invented import Phone, device_id

from chinrest.log.case_events import CaseHandedOver, ComfortNoted
from chinrest.log.envelope import FIRST_PREV, LINE_LIMIT_BYTES
from chinrest.log.line import LineError, decode_line
from chinrest.log.registry import BODY_TYPES, decode_body, encode_body, type_of
from chinrest.log.write import ChainWriter


def test_hash_of_the_standards_example() -> None:
    assert sha256(b"abc").hexdigest() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_written_line_is_two_json_texts_with_a_tab_between() -> None:
    line = Phone().write("comfort.noted", "c1", score=3, bothers=["light"], note="tab\there\nand a line feed")
    assert line.raw.count(b"\t") == 1
    assert b"\n" not in line.raw
    envelope_bytes, body_bytes = line.raw.split(b"\t")
    envelope, body = json.loads(envelope_bytes), json.loads(body_bytes)
    assert envelope["prev"] == FIRST_PREV == "0" * 64
    assert envelope["body_sha256"] == sha256(body_bytes).hexdigest()
    assert envelope["type"] == "comfort.noted"
    assert "type" not in body
    assert next(iter(body)) == "salt"
    assert body["note"] == "tab\there\nand a line feed"


def test_each_line_names_the_envelope_before() -> None:
    phone = Phone()
    first, second = phone.write("case.opened", "c1"), phone.write("step.done", "c1")
    assert second.envelope.prev == sha256(first.raw.split(b"\t")[0]).hexdigest()
    assert (first.envelope.seq, second.envelope.seq) == (1, 2)


@given(st.text(), st.text())
@example("\x00", "\u2028 \U0001f600")
def test_any_text_comes_back(to: str, note: str) -> None:
    clean = [text.encode("utf-8", "replace").decode() for text in (to, note)]
    body = CaseHandedOver(salt="s", to=clean[0], note=clean[1])
    line = ChainWriter(device_id("p"), "b").write(body, at=1, mono=1, case="c")
    again = decode_line(line.raw)
    assert again == line
    assert again.body == body


def test_every_body_class_is_registered_under_its_type() -> None:
    assert {type_of(cls): cls for cls in BODY_TYPES.values()} == BODY_TYPES
    assert BODY_TYPES["comfort.noted"] is ComfortNoted


def test_bytes_are_kept_as_they_came() -> None:
    """Spaces and another order of keys are not ours, but they are what was hashed."""
    phone = Phone()
    body = b'{ "note":"", "to":"ward" , "salt":"s","later_field":[1,2]}'
    line = phone.write_raw("case.handed_over", body, "c1")
    assert line.body_bytes == body
    assert decode_line(line.raw).raw == line.raw
    assert line.body == CaseHandedOver(salt="s", to="ward")


def test_unknown_type_is_kept() -> None:
    line = Phone().write_raw("balloon.released", b'{"salt":"s","height_m":3}', "c1")
    assert line.body is None
    assert line.body_bytes == b'{"salt":"s","height_m":3}'


def test_newer_format_of_a_known_type_is_kept_and_not_interpreted() -> None:
    line = Phone().write_raw("comfort.noted", b'{"salt":"s","level":"fine"}', "c1", v=2)
    assert line.body is None


def test_half_an_emoji_is_read_and_its_bytes_kept() -> None:
    """A browser's JSON.stringify escapes a lone surrogate (ECMA-262, well-formed JSON.stringify)."""
    body = b'{"salt":"s","to":"ward \\ud83d","note":""}'
    line = Phone().write_raw("case.handed_over", body, "c1")
    assert line.body == CaseHandedOver(salt="s", to="ward \ufffd")
    assert line.body_bytes == body


def changed(**changes: object) -> bytes:
    """A sound line with envelope fields changed (or removed, where the value is ...)."""
    line = Phone().write("step.done", "c1")
    fields = {**json.loads(line.envelope_bytes), **changes}
    fields = {name: value for name, value in fields.items() if value is not ...}
    return json.dumps(fields, separators=(",", ":")).encode() + b"\t" + line.body_bytes


@pytest.mark.parametrize(
    ("raw", "code", "where"),
    [
        (b"", "malformed", "line"),
        (b"hello", "malformed", "line"),
        (b"{}\t{}", "malformed", "envelope"),
        (b"\xff\xfe\t{}", "malformed", "envelope"),
        (b"[" * 9000 + b"\t{}", "malformed", "envelope"),
        (changed(seq=0), "malformed", "envelope.seq"),
        (changed(seq=2**53), "malformed", "envelope.seq"),
        (changed(seq=10**30), "malformed", "envelope.seq"),
        (changed(seq="1"), "malformed", "envelope"),
        (changed(seq=...), "malformed", "envelope"),
        (changed(at=1.5), "malformed", "envelope"),
        (changed(at=2**60), "malformed", "envelope.at"),
        # ECMA-262, "Time Values and Time Range": no date of a browser lies further from 1970
        (changed(at=8_640_000_000_000_001), "malformed", "envelope.at"),
        (changed(at=-8_640_000_000_000_001), "malformed", "envelope.at"),
        (changed(id=device_id("x")), "malformed", "envelope.id"),
        (changed(id="018F0000-0000-7000-8000-000000000000"), "malformed", "envelope.id"),
        (changed(device="phone"), "malformed", "envelope.device"),
        (changed(prev="0"), "malformed", "envelope.prev"),
        (changed(case="a name with spaces"), "malformed", "envelope.case"),
        (changed(case="\x00"), "malformed", "envelope.case"),
        (changed(case=".."), "malformed", "envelope.case"),
        (changed(case="a/b"), "malformed", "envelope.case"),
        (changed(actor="a\x00b"), "malformed", "envelope.actor"),
        (changed(type="Step Done"), "malformed", "envelope.type"),
        (changed(pack="demo"), "malformed", "envelope.pack"),
        (changed(v=0), "malformed", "envelope.v"),
        (changed(body_sha256="1" * 64), "body_hash", "body"),
        (changed() + b" ", "body_hash", "body"),
        (changed() + b"\t", "malformed", "line"),
        (changed() + b"\r", "malformed", "line"),
        (changed() + b" " * LINE_LIMIT_BYTES, "too_large", "line"),
    ],
)
def test_refused_with_code_and_place(raw: bytes, code: str, where: str) -> None:
    with pytest.raises(LineError) as refused:
        decode_line(raw)
    assert (refused.value.code, refused.value.where) == (code, where)
    assert refused.value.why
    assert refused.value.envelope_sha256 == sha256(raw.split(b"\t")[0]).hexdigest()


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b'{"salt":"s"}', "bad_body"),
        (b'{"salt":"s","score":"three","bothers":[]}', "bad_body"),
        (b'{"score":3,"bothers":[]}', "bad_body"),
        (b"[]", "malformed"),
        (b"not json", "malformed"),
        (b'{"salt":"s","score":NaN,"bothers":[]}', "malformed"),
    ],
)
def test_a_known_types_body_must_be_whole(body: bytes, code: str) -> None:
    with pytest.raises(LineError) as refused:
        Phone().write_raw("comfort.noted", body, "c1")
    assert refused.value.code == code
    assert refused.value.claim.seq == 1


def nested(levels: int) -> bytes:
    """An amendment whose body is an object that holds lists, to so many levels in all."""
    lists = levels - 2
    inner = b'{"note":"[[[\\"{{{","a":' + b"[" * lists + b"]" * lists + b"}"
    return b'{"salt":"s","line":"x","why":"","body":' + inner + b"}"


def test_nesting_beyond_what_any_reader_can_follow_is_refused() -> None:
    """Brackets inside a text do not count."""
    assert Phone().write_raw("line.amended", nested(64), "c1").body is not None
    assert Phone().write_raw("balloon.released", nested(64), "c1").body is None
    for type_ in ("line.amended", "balloon.released"):
        with pytest.raises(LineError, match="nested deeper") as refused:
            Phone().write_raw(type_, nested(65), "c1")
        assert (refused.value.code, refused.value.where) == ("malformed", "body")


def test_an_unsound_envelope_still_says_its_place() -> None:
    with pytest.raises(LineError) as refused:
        decode_line(changed(practice="yes"))
    claim = refused.value.claim
    assert (claim.seq, claim.device, claim.type, claim.case) == (1, device_id("phone"), "step.done", "c1")


@given(st.binary(max_size=200))
def test_any_bytes_are_a_line_or_a_typed_error(raw: bytes) -> None:
    with pytest.raises(LineError):
        decode_line(raw)


@given(st.data())
def test_a_flipped_byte_never_passes_unseen(data: st.DataObject) -> None:
    """Whatever one byte becomes, the line is refused or its envelope's hash is another."""
    line = Phone().write("step.done", "c1", step="identifiers", value="ok")
    at = data.draw(st.integers(0, len(line.raw) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != line.raw[at]))
    raw = line.raw[:at] + bytes([byte]) + line.raw[at + 1 :]
    try:
        other = decode_line(raw)
    except LineError:
        return
    assert other.envelope_sha256 != line.envelope_sha256


def test_the_size_limit_is_exact() -> None:
    def line_with(note: str) -> bytes:
        return Phone().write("case.handed_over", "c1", to="", note=note).raw

    room = LINE_LIMIT_BYTES - len(line_with(""))
    assert len(line_with("x" * room)) == LINE_LIMIT_BYTES
    assert decode_line(line_with("x" * room)).raw == line_with("x" * room)
    with pytest.raises(ValueError, match="at most 16384"):
        line_with("x" * (room + 1))


def test_encoded_bodies_decode_by_the_envelopes_type() -> None:
    line = Phone().write("pose.advised", "c1")
    assert line.body is not None
    assert decode_body(line.envelope, encode_body(line.body)) == line.body
    assert msgspec.json.decode(encode_body(line.body)).keys() >= {"salt", "yaw_deg"}
