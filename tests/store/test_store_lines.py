"""Taking lines: one answer a line, committed, once, in any order; a bad line disturbs no good one."""

import json
from hashlib import sha256
from pathlib import Path

import pytest
from invented import START, Phone, device_id
from stored import HEAD, SITES, enrol, everything, opened, rows, runs, said, send, stored_raws

from chinrest.log.line import decode_line
from chinrest.store import StoreError


def a_case(name: str = "phone", lines: int = 8, case: str = "c1") -> Phone:
    phone = Phone(name)
    phone.write("case.opened", case)
    while len(phone.lines) < lines:
        phone.write("step.done", case, step=f"step_{len(phone.lines)}")
    return phone


def restored(phone: Phone, at: int, lines: int) -> Phone:
    """The same phone put back to its first `at` lines, then going on otherwise."""
    other = a_case(phone.name, at)
    other.at += 77
    for number in range(lines):
        other.write("step.done", "c1", step=f"other_{number}")
    return other


def altered(raw: bytes, **changes: object) -> bytes:
    """A line whose envelope says something else."""
    envelope, body = raw.split(b"\t")
    return json.dumps({**json.loads(envelope), **changes}, separators=(",", ":")).encode() + b"\t" + body


@runs
async def test_stored_then_repeat_and_byte_for_byte(file: Path) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        answers = await send(store, phone, phone.raws)
        assert said(answers) == ["stored"] * 8
        assert [(a.index, a.id, a.seq) for a in answers] == [
            (index, line.envelope.id, index + 1) for index, line in enumerate(phone.lines)
        ]
        before = everything(file)
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 8
        assert everything(file) == before
        assert await store.holds(phone.device) == [(1, 8)]
        assert await store.position() == 8
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_an_empty_batch_only_says_that_the_device_was_heard(file: Path) -> None:
    phone = Phone()
    async with opened(file, phone) as store:
        assert await send(store, phone, [], at=START + 50) == []
        [device] = await store.devices()
        assert (device.last_heard_at, device.clock_offset_ms, device.app) == (START + 50, 200, "0.1.0")


@runs
async def test_a_batch_backwards_is_stored_whole(file: Path) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        assert said(await send(store, phone, phone.raws[::-1])) == ["stored"] * 8
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_line_waits_for_its_predecessor(file: Path) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        assert said(await send(store, phone, phone.raws[5:])) == ["waiting"] * 3
        assert await store.holds(phone.device) == [(6, 8)]
        assert said(await send(store, phone, phone.raws[:2])) == ["stored"] * 2
        assert await store.holds(phone.device) == [(1, 2), (6, 8)]
        [device] = await store.devices()
        assert device.gaps == [(3, 5)]
        assert said(await send(store, phone, phone.raws[2:7])) == ["stored"] * 3 + ["repeat"] * 2
        assert await store.holds(phone.device) == [(1, 8)]
        [device] = await store.devices()
        assert (device.gaps, device.refused) == ([], 0)


@runs
async def test_one_line_twice_in_a_batch_is_stored_once(file: Path) -> None:
    phone = a_case(lines=2)
    async with opened(file, phone) as store:
        first, second = phone.raws
        assert said(await send(store, phone, [first, first, second, second])) == [
            "stored",
            "repeat",
            "stored",
            "repeat",
        ]
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_poison_between_good_lines(file: Path) -> None:
    phone, other = a_case(lines=4), a_case("foreign")
    poison = [b"", b"junk", b"{}\t{}", b"x" * 20_000, b"\xff\xff", other.raws[0], b"[" * 10_000]
    good = phone.raws
    batch = [
        poison[0],
        good[0],
        poison[1],
        poison[2],
        good[1],
        poison[3],
        poison[4],
        good[2],
        *poison[5:],
        good[3],
    ]
    async with opened(file, phone) as store:
        answers = await send(store, phone, batch)
        assert said(answers) == [
            "malformed",
            "stored",
            "malformed",
            "malformed",
            "stored",
            "too_large",
            "malformed",
            "stored",
            "wrong_device",
            "malformed",
            "stored",
        ]
        assert all(answer.reason for answer in answers if answer.status == "refused")
        assert [answer.index for answer in answers] == list(range(11))
        kept = await store.refused_lines(phone.device)
        assert {line.code for line in kept} == {"malformed", "too_large", "wrong_device"}
        assert {line.raw for line in kept} == {*poison[:3], *poison[4:], None}
        [device] = await store.devices()
        assert device.refused == 7
        before = everything(file)
        await send(store, phone, batch)
        assert everything(file) == before
    assert stored_raws(file, phone.device) == good
    assert stored_raws(file, other.device) == []


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda raw: raw + b" ", "body_hash"),
        (lambda raw: raw + b"\t", "malformed"),
        (lambda raw: raw + b" " * 20_000, "too_large"),
        (lambda raw: raw.split(b"\t")[0], "malformed"),
    ],
)
def test_a_spoilt_line_leaves_a_stub_and_a_sound_copy_heals_it(file: Path, spoil: object, code: str) -> None:
    assert callable(spoil)

    @runs
    async def scenario() -> None:
        phone = a_case(lines=6)
        raws = phone.raws
        async with opened(file, phone) as store:
            batch = [*raws[:3], spoil(raws[3]), *raws[4:]]
            assert said(await send(store, phone, batch)) == ["stored"] * 3 + [code] + ["stored"] * 2
            assert await store.holds(phone.device) == [(1, 6)]
            [stub] = rows(file, "SELECT device, seq, envelope_sha256, code, reason FROM stubs")
            assert stub[:4] == (phone.device, 4, phone.lines[3].envelope_sha256, code)
            assert said(await send(store, phone, raws)) == ["repeat"] * 3 + ["stored"] + ["repeat"] * 2
            assert rows(file, "SELECT * FROM stubs") == []
            [device] = await store.devices()
            assert device.refused == 0
            assert said(await send(store, phone, batch))[3] == code
        assert stored_raws(file, phone.device) == raws

    scenario()


@runs
async def test_a_known_type_without_what_it_must_have_is_kept_aside_and_the_chain_goes_on(file: Path) -> None:
    """Only a faulty or hostile app writes such a line; its bytes are kept for whoever looks into it."""
    phone = a_case(lines=2)
    body = b'{"salt":"s","score":"three"}'
    bad = phone.write_raw("balloon.released", body, "c1")
    bad_raw = altered(bad.raw, type="comfort.noted")
    phone.chain.head = decode_line_head(bad_raw)
    phone.lines.pop()
    phone.write("step.done", "c1")
    async with opened(file, phone) as store:
        answers = await send(store, phone, [*phone.raws[:2], bad_raw, phone.raws[2]])
        assert said(answers) == ["stored", "stored", "bad_body", "stored"]
        [line] = await store.refused_lines()
        assert (line.raw, line.type, line.case, line.seq) == (bad_raw, "comfort.noted", "c1", 3)
        assert await store.holds(phone.device) == [(1, 4)]


def decode_line_head(raw: bytes) -> str:
    return sha256(raw.split(b"\t")[0]).hexdigest()


@runs
async def test_a_line_too_broken_to_name_its_place_is_found_by_its_successor(file: Path) -> None:
    phone = a_case(lines=5)
    raws = phone.raws
    envelope = raws[2].split(b"\t")[0]
    phone.chain.seq = 2
    broken = envelope[:-1]  # no JSON any more
    phone.chain.head = decode_line_head(broken)
    phone.chain.seq, phone.lines = 3, phone.lines[:2]
    for _ in range(2):
        phone.write("step.done", "c1")
    async with opened(file, phone) as store:
        batch = [*phone.raws[:2], broken + b"\t{}", *phone.raws[2:]]
        assert said(await send(store, phone, batch)) == ["stored", "stored", "malformed", "stored", "stored"]
        assert await store.holds(phone.device) == [(1, 5)]


@runs
async def test_an_id_that_stands_on_another_line_is_refused(file: Path) -> None:
    phone, thief = a_case(lines=3), Phone("thief")
    stolen = phone.lines[0].envelope.id
    thief.write_raw("step.done", b'{"salt":"s","step":"x"}', "c9", id=stolen)
    thief.write("step.done", "c9")
    async with opened(file, phone, thief) as store:
        await send(store, phone, phone.raws)
        assert said(await send(store, thief, thief.raws)) == ["id_taken", "stored"]
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 3
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_fork_is_kept_aside_with_all_that_goes_on_from_it(file: Path) -> None:
    phone = a_case(lines=8)
    other = restored(phone, at=5, lines=6)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        answers = await send(store, phone, other.raws)
        # sequences 6 to 8 are taken; 9 to 11 are free, but go on from lines that were set aside
        assert said(answers) == ["repeat"] * 5 + ["fork"] * 6
        assert await store.holds(phone.device) == [(1, 8)]
        kept = await store.refused_lines(phone.device)
        assert sorted(line.raw or b"" for line in kept) == sorted(other.raws[5:])
        phone.write("step.done", "c1")
        assert said(await send(store, phone, phone.raws[8:])) == ["stored"]
        assert said(await send(store, phone, other.raws)) == ["repeat"] * 5 + ["fork"] * 6
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_fork_whose_later_lines_came_first(file: Path) -> None:
    phone = a_case(lines=7)
    other = restored(phone, at=5, lines=5)  # its sequences 6 to 10
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        assert said(await send(store, phone, other.raws[8:])) == ["waiting", "waiting"]
        assert said(await send(store, phone, other.raws[5:8])) == ["fork"] * 3
        assert await store.holds(phone.device) == [(1, 7)]
        assert len(await store.refused_lines()) == 5
        assert said(await send(store, phone, other.raws[8:])) == ["fork", "fork"]
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_line_that_does_not_join_is_kept_aside_and_the_chain_goes_on(file: Path) -> None:
    phone = a_case(lines=3)
    phone.write_raw("step.done", b'{"salt":"s","step":"x"}', "c1", prev="a" * 64)
    phone.write("step.done", "c1")
    raws = phone.raws
    async with opened(file, phone) as store:
        expected = ["stored"] * 3 + ["broken_chain", "stored"]
        assert said(await send(store, phone, raws)) == expected
        assert await store.holds(phone.device) == [(1, 5)]
        [line] = await store.refused_lines()
        assert (line.raw, line.code) == (raws[3], "broken_chain")
        assert said(await send(store, phone, raws)) == ["repeat"] * 3 + ["broken_chain", "repeat"]


@runs
async def test_a_waiting_line_that_proves_not_to_join_is_kept_aside(file: Path) -> None:
    phone = a_case(lines=3)
    phone.write_raw("safety.noted", SAFETY, "c1", prev="a" * 64)
    phone.write("step.done", "c1")
    raws = phone.raws
    async with opened(file, phone) as store:
        assert said(await send(store, phone, raws[3:])) == ["waiting"] * 2
        assert (await store.incidents()).total == 1  # a waiting line is shown: nothing waits unseen
        assert said(await send(store, phone, raws[:3])) == ["stored"] * 3
        assert (await store.incidents()).total == 0
        [line] = await store.refused_lines()
        assert (line.raw, line.code, line.type) == (raws[3], "broken_chain", "safety.noted")
        assert await store.holds(phone.device) == [(1, 5)]
        assert said(await send(store, phone, raws)) == ["repeat"] * 3 + ["broken_chain", "repeat"]


SAFETY = b'{"salt":"s","what":"faint","reached_patient":true,"harm":null,"signs":[],"done":[],"told":[]}'


@runs
async def test_a_sound_line_takes_the_place_of_a_refused_one(file: Path) -> None:
    """What cannot be read says sequence 3; the true line 3 comes later, and joins on both sides."""
    phone = a_case(lines=3)
    false = altered(phone.raws[2], practice="yes")
    async with opened(file, phone) as store:
        assert said(await send(store, phone, [*phone.raws[:2], false])) == ["stored", "stored", "malformed"]
        assert said(await send(store, phone, phone.raws[2:])) == ["stored"]
        phone.write("step.done", "c1")
        assert said(await send(store, phone, phone.raws[3:])) == ["stored"]
        [device] = await store.devices()
        assert device.refused == 1
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_an_unknown_type_is_kept_carried_and_shown(file: Path) -> None:
    phone, other = a_case(lines=1), Phone("other")
    unknown = phone.write_raw("balloon.released", b'{"salt":"s","height_m":3}', "c1")
    async with opened(file, phone, other) as store:
        assert said(await send(store, phone, phone.raws)) == ["stored", "stored"]
        assert (await store.pull("north", other.device, None, 10**6)).lines == phone.raws
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert [(entry.id, entry.known) for entry in timeline.entries][1] == (unknown.envelope.id, False)


@runs
async def test_strange_text_disturbs_nothing(file: Path) -> None:
    phone = a_case(lines=1)
    body = json.loads(SAFETY)
    for note in ("nul \x00 nul", "half \ud83d", "\u2028\u202e", "'; DROP TABLE lines; --", "%_\\"):
        raw = json.dumps({**body, "note": note, "what": note, "optic": note}).encode()
        phone.write_raw("safety.noted", raw, "c1")
    async with opened(file, phone) as store:
        assert said(await send(store, phone, phone.raws)) == ["stored"] * 6
        assert (await store.incidents()).total == 5
        assert [row.note for row in (await store.incidents(q="DROP table")).rows] == [
            "'; DROP TABLE lines; --"
        ]
        assert [row.note for row in (await store.incidents(q="%_\\")).rows] == ["%_\\"]
        assert (await store.timeline("c1")) is not None
    assert stored_raws(file, phone.device) == phone.raws


@pytest.mark.parametrize(
    "changes",
    [
        {"head_seq": 2**63},
        {"head_seq": -1},
        {"waiting": 10**30},
        {"now": 2**62},
        {"head_sha256": "zz"},
        {"app": "\x00"},
    ],
)
def test_a_head_that_no_column_could_hold_is_refused_before_any_line(
    file: Path, changes: dict[str, object]
) -> None:
    @runs
    async def scenario() -> None:
        phone = a_case(lines=1)
        head = type(HEAD)(**{**{name: getattr(HEAD, name) for name in HEAD.__struct_fields__}, **changes})
        async with opened(file, phone) as store:
            with pytest.raises(StoreError) as refused:
                await store.take_batch(phone.device, phone.raws, START, head)
            assert refused.value.code == "value"
            assert await store.holds(phone.device) == []

    scenario()


@runs
async def test_only_enrolled_devices_that_were_not_withdrawn_may_send(file: Path) -> None:
    phone = a_case(lines=2)
    async with opened(file) as store:
        with pytest.raises(StoreError, match="not_enrolled"):
            await send(store, phone, phone.raws)
        await enrol(store, phone)
        await send(store, phone, phone.raws[:1])
        await store.withdraw(phone.device, "lead", "lost", START)
        with pytest.raises(StoreError, match="device_withdrawn"):
            await send(store, phone, phone.raws[1:])
        assert await store.holds(phone.device) == [(1, 1)]


@runs
async def test_a_signature_over_a_batchs_head_is_kept_once(file: Path) -> None:
    phone = a_case(lines=2)
    head = type(HEAD)(
        head_seq=2, head_sha256=phone.chain.head, signature="c2ln", waiting=2, now=START, app="0.1.0"
    )
    async with opened(file, phone) as store:
        for _ in range(2):
            await store.take_batch(phone.device, phone.raws, START, head)
    assert rows(file, "SELECT head_seq, head_sha256, signature FROM vouchers") == [
        (2, phone.chain.head, "c2ln")
    ]


@runs
async def test_more_lines_than_one_statement_can_name(file: Path) -> None:
    phone = a_case(lines=2500)
    async with opened(file, phone) as store:
        assert set(said(await send(store, phone, phone.raws))) == {"stored"}
        assert set(said(await send(store, phone, phone.raws))) == {"repeat"}
        broken = [raw + b" " for raw in phone.raws]
        assert set(said(await send(store, phone, broken))) == {"body_hash"}
        assert await store.holds(phone.device) == [(1, 2500)]
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_what_stands_survives_closing_and_opening(file: Path) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws[:4])
        before = await store.identity()
    async with opened(file, phone) as store:
        assert await store.identity() == before
        assert await store.sites() == SITES
        assert said(await send(store, phone, phone.raws)) == ["repeat"] * 4 + ["stored"] * 4


def test_the_invented_lines_are_sound() -> None:
    for line in a_case().lines:
        assert decode_line(line.raw) == line
    assert device_id("phone") == a_case().device
