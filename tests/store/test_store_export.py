"""A sealed export: verified with no store at hand, and no change of it goes unseen."""

import random

import pytest
from invented import START, Phone
from stored import HEAD, a_case, enrol, opened, restored, runs, send

from chinrest.log.export import ExportHeader, Stub, Voucher, decode_row, encode_row
from chinrest.log.signing import new_key, public_of, sign
from chinrest.log.verify import Verdict, verify
from chinrest.store import Store
from chinrest.store.engines import Place
from chinrest.store.export import PART


async def export(store: Store) -> list[bytes]:
    async with store.export(START) as rows:
        return [row async for row in rows]


def refused(verdict: Verdict) -> str:
    assert not verdict.ok
    assert verdict.first_bad is not None
    return verdict.first_bad.code


async def a_signed_phone(store: Store, name: str = "phone", lines: int = 4) -> tuple[Phone, str]:
    """A phone whose first line says its key, and whose batch is signed."""
    key = new_key()
    phone = Phone(name)
    phone.write("device.enrolled", public_key=public_of(key), label=name, site="north")
    phone.write("case.opened", "c1")
    while len(phone.lines) < lines:
        phone.write("step.done", "c1", step=f"step_{len(phone.lines)}")
    code = await store.add_code("north", name, START, START + 1)
    await store.enrol(code.code, phone.device, public_of(key), name, START)
    head = phone.lines[-1].envelope_sha256
    signed = type(HEAD)(
        head_seq=lines, head_sha256=head, signature=sign(key, head), waiting=0, now=START, app="0.1.0"
    )
    await store.take_batch(phone.device, phone.raws, START, signed)
    return phone, key


@runs
async def test_every_line_of_every_chain_is_in_it_and_vouched_for(file: Place) -> None:
    async with opened(file) as store:
        phones = [(await a_signed_phone(store, name))[0] for name in ("one", "two")]
        await store.withdraw(phones[1].device, "lead", "lost", START)
        rows = await export(store)
        who = await store.identity()
    verdict = verify(rows)
    assert (verdict.ok, verdict.sealed) == (True, True)
    assert verdict.server_key == who.public_key
    assert verdict.lines == 9  # both phones', and the server's own line of the withdrawal
    assert verdict.signed == {phone.device: 4 for phone in phones}
    for phone in phones:
        own = f'"device":"{phone.device}"'.encode()
        assert [row for row in rows if b"\t" in row and own in row.partition(b"\t")[0]] == [
            raw + b"\n" for raw in phone.raws
        ]


@runs
async def test_no_byte_can_be_changed_removed_or_added(file: Place) -> None:
    async with opened(file) as store:
        await a_signed_phone(store)
        whole = b"".join(await export(store))
    assert verify(whole.splitlines(keepends=True)).ok
    dice = random.Random(6)
    for at in range(len(whole)):
        other = dice.randrange(256)
        changed = whole[:at] + bytes([other]) + whole[at + 1 :]
        missing = whole[:at] + whole[at + 1 :]
        added = whole[:at] + bytes([other]) + whole[at:]
        for spoiled in (changed, missing, added):
            assert spoiled == whole or not verify(spoiled.splitlines(keepends=True)).ok, (
                at,
                spoiled[at:][:40],
            )
    assert not verify((whole + b"\n").splitlines(keepends=True)).ok


@runs
async def test_no_row_can_be_removed_doubled_or_swapped(file: Place) -> None:
    async with opened(file) as store:
        await a_signed_phone(store, "one")
        await a_signed_phone(store, "two")
        rows = await export(store)
    for at in range(len(rows)):
        assert not verify(rows[:at] + rows[at + 1 :]).ok, at
        assert not verify(rows[: at + 1] + rows[at:]).ok, at
        for other in range(at):
            swapped = list(rows)
            swapped[at], swapped[other] = rows[other], rows[at]
            assert not verify(swapped).ok, (at, other)
    # without its header it is no export any more, and its other rows say so
    assert refused(verify(rows[1:])) == "malformed"


@runs
async def test_who_seals_it_anew_cannot_sign_for_the_device(file: Place) -> None:
    async with opened(file) as store:
        _, _ = await a_signed_phone(store)
        rows = await export(store)
    forged = next(row for row in rows if isinstance(decode_row(row[:-1]), Voucher))
    voucher = decode_row(forged[:-1])
    assert isinstance(voucher, Voucher)
    other = Voucher(
        device=voucher.device,
        head_seq=voucher.head_seq,
        head_sha256=voucher.head_sha256,
        signature=sign(new_key(), voucher.head_sha256),
    )
    rows[rows.index(forged)] = encode_row(other) + b"\n"
    assert refused(verify(rows)) == "bad_signature"


@runs
async def test_a_header_cannot_give_a_device_another_key(file: Place) -> None:
    async with opened(file) as store:
        phone, _ = await a_signed_phone(store)
        rows = await export(store)
    header = decode_row(rows[0][:-1])
    assert isinstance(header, ExportHeader)
    [key] = [device.public_key for device in header.devices if device.device == phone.device]
    rows[0] = rows[0].replace(key.encode(), public_of(new_key()).encode())
    assert refused(verify(rows)) == "wrong_key"


@runs
async def test_refused_and_forked_lines_leave_the_export_sound(file: Place) -> None:
    phone = a_case(lines=6)
    fork = restored(phone, at=4, lines=2)
    async with opened(file, phone) as store:
        spoiled = [*phone.raws[:2], phone.raws[2] + b" ", *phone.raws[3:]]
        await send(store, phone, spoiled)
        await send(store, phone, fork.raws[4:])
        rows = await export(store)
    verdict = verify(rows)
    assert (verdict.ok, verdict.sealed) == (True, True), verdict
    stubs = [row for row in map(decode_row, (row[:-1] for row in rows)) if isinstance(row, Stub)]
    assert [(stub.seq, stub.code) for stub in stubs] == [(3, "body_hash")]


@runs
async def test_what_waits_for_a_predecessor_is_counted_and_not_in_it(file: Place) -> None:
    phone = a_case(lines=6)
    async with opened(file, phone) as store:
        await send(store, phone, [*phone.raws[:2], *phone.raws[4:]])
        rows = await export(store)
    assert verify(rows).ok
    header = decode_row(rows[0][:-1])
    assert isinstance(header, ExportHeader)
    [(last, waiting)] = [
        (device.last_seq, device.waiting) for device in header.devices if device.device == phone.device
    ]
    assert (last, waiting) == (2, 2)


@runs
async def test_a_long_chain_comes_part_by_part(file: Place) -> None:
    phone = a_case(lines=PART + 7)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        rows = await export(store)
    verdict = verify(rows)
    assert verdict.ok
    assert verdict.lines == PART + 7


@pytest.mark.parametrize("rows", [[b"{}\n"], [b"\n"], [b'{"record":"seal"}\n'], [b"\xff\n"]])
def test_what_begins_like_neither_is_refused(rows: list[bytes]) -> None:
    assert refused(verify(rows)) == "malformed"


@runs
async def test_another_server_has_another_key(file: Place, other_file: Place) -> None:
    async with opened(file) as one, opened(other_file) as two:
        first, second = await one.identity(), await two.identity()
        assert first.public_key != second.public_key
        await one.new_epoch(START)
        assert (await one.identity()).public_key == first.public_key


@runs
async def test_enrolled_without_a_line_it_has_an_empty_chain(file: Place) -> None:
    phone = Phone()
    async with opened(file) as store:
        await enrol(store, phone)
        rows = await export(store)
    assert verify(rows).ok
