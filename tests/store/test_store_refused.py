"""Lines that are refused: each is kept aside, leaves a stub where it stood, and the chain goes on."""

import pytest
from invented import START, Phone
from stored import (
    SAFETY,
    a_case,
    altered,
    envelope_hash,
    opened,
    restored,
    rows,
    runs,
    said,
    send,
    stored_raws,
)

from chinrest.store.engines import Place
from chinrest.store.rows import Branch


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda raw: raw + b" ", "body_hash"),
        (lambda raw: raw + b"\t", "malformed"),
        (lambda raw: raw + b" " * 20_000, "too_large"),
        (lambda raw: raw.split(b"\t")[0], "malformed"),
    ],
)
def test_a_spoilt_line_leaves_a_stub_and_a_sound_copy_heals_it(file: Place, spoil: object, code: str) -> None:
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
async def test_a_known_type_that_lacks_something_is_kept_aside_and_the_chain_goes_on(file: Place) -> None:
    """Only a faulty or hostile app writes such a line; its bytes are kept for whoever looks into it."""
    phone = a_case(lines=2)
    body = b'{"salt":"s","score":"three"}'
    bad = phone.write_raw("balloon.released", body, "c1")
    bad_raw = altered(bad.raw, type="comfort.noted")
    phone.chain.head = envelope_hash(bad_raw)
    phone.lines.pop()
    phone.write("step.done", "c1")
    async with opened(file, phone) as store:
        answers = await send(store, phone, [*phone.raws[:2], bad_raw, phone.raws[2]])
        assert said(answers) == ["stored", "stored", "bad_body", "stored"]
        [line] = await store.refused_lines()
        assert (line.raw, line.type, line.case, line.seq) == (bad_raw, "comfort.noted", "c1", 3)
        assert await store.holds(phone.device) == [(1, 4)]


@runs
async def test_a_line_too_broken_to_name_its_place_is_found_by_its_successor(file: Place) -> None:
    phone = a_case(lines=5)
    raws = phone.raws
    envelope = raws[2].split(b"\t")[0]
    phone.chain.seq = 2
    broken = envelope[:-1]  # no JSON any more
    phone.chain.head = envelope_hash(broken)
    phone.chain.seq, phone.lines = 3, phone.lines[:2]
    for _ in range(2):
        phone.write("step.done", "c1")
    async with opened(file, phone) as store:
        batch = [*phone.raws[:2], broken + b"\t{}", *phone.raws[2:]]
        assert said(await send(store, phone, batch)) == ["stored", "stored", "malformed", "stored", "stored"]
        assert await store.holds(phone.device) == [(1, 5)]


@runs
async def test_an_id_that_stands_on_another_line_is_refused(file: Place) -> None:
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
async def test_a_fork_is_kept_aside_with_all_that_goes_on_from_it(file: Place) -> None:
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
        # both branches are told side by side, as far as the one that counts goes
        stands = {line.seq: line.stands and line.stands.at for line in kept}
        assert stands == {n: phone.lines[n - 1].envelope.at if n <= 8 else None for n in range(6, 12)}
        (device,) = await store.devices()
        assert device.branch == Branch(first_seq=6, last_seq=11, lines=6, last_received_at=START)
        phone.write("step.done", "c1")
        assert said(await send(store, phone, phone.raws[8:])) == ["stored"]
        assert said(await send(store, phone, other.raws)) == ["repeat"] * 5 + ["fork"] * 6
    assert stored_raws(file, phone.device) == phone.raws


@runs
async def test_a_fork_whose_later_lines_came_first(file: Place) -> None:
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
async def test_a_line_that_does_not_join_is_kept_aside_and_the_chain_goes_on(file: Place) -> None:
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
async def test_a_waiting_line_that_proves_not_to_join_is_kept_aside(file: Place) -> None:
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


@runs
async def test_a_sound_line_takes_the_place_of_a_refused_one(file: Place) -> None:
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
