"""Taking lines: one answer a line, committed, once, in any order; a bad line disturbs no good one."""

import json

import pytest
from invented import START, Phone, device_id
from stored import HEAD, SAFETY, SITES, a_case, enrol, everything, opened, rows, runs, said, send, stored_raws

from chinrest.log.line import decode_line
from chinrest.store import StoreError
from chinrest.store.engines import Place


@runs
async def test_stored_then_repeat_and_byte_for_byte(file: Place) -> None:
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
async def test_an_empty_batch_only_says_that_the_device_was_heard(file: Place) -> None:
    phone = Phone()
    async with opened(file, phone) as store:
        assert await send(store, phone, [], at=START + 50) == []
        [device] = await store.devices()
        assert (device.last_heard_at, device.clock_offset_ms, device.app) == (START + 50, 200, "0.1.0")


@runs
async def test_a_batch_backwards_is_stored_whole(file: Place) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        assert said(await send(store, phone, phone.raws[::-1])) == ["stored"] * 8
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_line_waits_for_its_predecessor(file: Place) -> None:
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
async def test_one_line_twice_in_a_batch_is_stored_once(file: Place) -> None:
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
async def test_poison_between_good_lines(file: Place) -> None:
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


@runs
async def test_an_unknown_type_is_kept_carried_and_shown(file: Place) -> None:
    phone, other = a_case(lines=1), Phone("other")
    unknown = phone.write_raw("balloon.released", b'{"salt":"s","height_m":3}', "c1")
    async with opened(file, phone, other) as store:
        assert said(await send(store, phone, phone.raws)) == ["stored", "stored"]
        assert (await store.pull("north", other.device, None, 10**6)).lines == phone.raws
        timeline = await store.timeline("c1")
        assert timeline is not None
        assert [(entry.id, entry.known) for entry in timeline.entries][1] == (unknown.envelope.id, False)


@runs
async def test_strange_text_disturbs_nothing(file: Place) -> None:
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
    file: Place, changes: dict[str, object]
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
async def test_only_enrolled_devices_that_were_not_withdrawn_may_send(file: Place) -> None:
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
async def test_a_signature_over_a_batchs_head_is_kept_once(file: Place) -> None:
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
async def test_more_lines_than_one_statement_can_name(file: Place) -> None:
    phone = a_case(lines=2500)
    async with opened(file, phone) as store:
        assert set(said(await send(store, phone, phone.raws))) == {"stored"}
        assert set(said(await send(store, phone, phone.raws))) == {"repeat"}
        broken = [raw + b" " for raw in phone.raws]
        assert set(said(await send(store, phone, broken))) == {"body_hash"}
        assert await store.holds(phone.device) == [(1, 2500)]
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_what_stands_survives_closing_and_opening(file: Place) -> None:
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
