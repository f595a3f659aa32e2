"""Packs by their hash; in force by approvals in the server's own chain."""

from hashlib import sha256

import pytest
from invented import START, Phone
from stored import opened, rows, runs, send, stored_raws

from chinrest.log.verify import verify
from chinrest.store import Store, StoreError
from chinrest.store.engines import Place

A = b'{"format":1,"clinic":"Invented Eye Service","version":"3"}'
B = b'{"format":1,"clinic":"Invented Eye Service","version":"4"}'


async def both(store: Store) -> tuple[str, str]:
    return await store.put_pack(A, START), await store.put_pack(B, START + 1)


@runs
async def test_bytes_come_back_by_their_hash(file: Place) -> None:
    async with opened(file) as store:
        a, _ = await both(store)
        assert a == sha256(A).hexdigest()
        assert await store.put_pack(A, START + 9) == a
        assert await store.pack_bytes(a) == A
        assert await store.pack_bytes("0" * 64) is None
        assert [(row.version, row.clinic, row.size_bytes) for row in await store.packs()] == [
            ("4", "Invented Eye Service", len(B)),
            ("3", "Invented Eye Service", len(A)),
        ]
        with pytest.raises(StoreError, match="not a compiled pack"):
            await store.put_pack(b"junk", START)


@runs
async def test_in_force_from_its_latest_approval_on_and_only_where_it_is_approved(file: Place) -> None:
    async with opened(file) as store:
        a, b = await both(store)
        assert await store.pack_in_force("north") is None
        await store.approve_pack(a, "lead", ["north", "south"], "first", START)
        await store.approve_pack(b, "lead", ["north"], "", START)
        assert await store.pack_in_force("north") == b
        assert await store.pack_in_force("south") == a
        newest, oldest = await store.packs()
        assert [(row.by, row.sites, row.note) for row in oldest.approvals] == [
            ("lead", ["north", "south"], "first")
        ]
        assert newest.recalls == []


@runs
async def test_a_recalled_pack_is_in_force_no_longer_and_no_older_one_comes_back(file: Place) -> None:
    async with opened(file) as store:
        a, b = await both(store)
        await store.approve_pack(a, "lead", ["north"], "", START)
        await store.approve_pack(b, "lead", ["north"], "", START)
        await store.recall_pack(a, "lead", "old mistake", START + 1)
        assert await store.pack_in_force("north") == b
        await store.recall_pack(b, "lead", "wrong margin", START + 2)
        assert await store.pack_in_force("north") is None
        assert [(r.sha256, r.why, r.at) for r in await store.recalls()] == [
            (a, "old mistake", START + 1),
            (b, "wrong margin", START + 2),
        ]


@runs
async def test_a_recalled_pack_is_not_approved_again(file: Place) -> None:
    """A phone that heard of the recall holds to it; an approval would only part the phones."""
    async with opened(file) as store:
        a, b = await both(store)
        await store.approve_pack(a, "lead", ["north"], "", START)
        await store.recall_pack(a, "lead", "wrong margin", START + 1)
        with pytest.raises(StoreError, match="pack_recalled"):
            await store.approve_pack(a, "lead", ["north"], "checked again", START + 2)
        await store.approve_pack(b, "lead", ["north"], "corrected", START + 3)
        assert await store.pack_in_force("north") == b
        assert [r.sha256 for r in await store.recalls()] == [a]


@runs
async def test_what_is_not_there_cannot_be_approved(file: Place) -> None:
    async with opened(file) as store:
        a, _ = await both(store)
        with pytest.raises(StoreError, match="pack_unknown"):
            await store.approve_pack("0" * 64, "lead", ["north"], "", START)
        with pytest.raises(StoreError, match="pack_unknown"):
            await store.recall_pack("0" * 64, "lead", "", START)
        with pytest.raises(StoreError, match="site_unknown"):
            await store.approve_pack(a, "lead", ["north", "west"], "", START)
        with pytest.raises(StoreError, match="value: sites"):
            await store.approve_pack(a, "lead", [], "", START)
        assert rows(file, "SELECT count(*) FROM lines") == [(0,)]


@runs
async def test_a_phone_that_writes_an_approval_decides_nothing(file: Place) -> None:
    phone = Phone()
    async with opened(file, phone) as store:
        a, _ = await both(store)
        phone.write("pack.approved", None, sha256=a, by="lead", sites=["north"])
        phone.write("pack.recalled", None, sha256=a, by="lead", why="mischief")
        await send(store, phone, phone.raws)
        assert await store.holds(phone.device) == [(1, 2)]
        assert await store.pack_in_force("north") is None
        assert await store.recalls() == []


@runs
async def test_the_servers_own_lines_are_a_chain_like_any_other(file: Place) -> None:
    async with opened(file) as store:
        a, b = await both(store)
        await store.approve_pack(a, "lead", ["north"], "", START)
    async with opened(file) as store:
        await store.approve_pack(b, "lead", ["north"], "", START)
        await store.recall_pack(b, "lead", "why", START)
    own = rows(file, "SELECT own_device FROM house")[0][0]
    raws = stored_raws(file, own)
    verdict = verify(raws)
    assert verdict.ok
    assert verdict.lines == 3
