"""The key that opens carried files is made once for each house, stays, and moves with it."""

import sqlite3
from contextlib import closing
from pathlib import Path

from stored import opened, runs

from chinrest.log.carried import is_carrying_key
from chinrest.log.sealing import seal, unseal
from chinrest.log.signing import public_of
from chinrest.store.engines import Place
from chinrest.store.moving import move

LAYOUT_0003 = Path(__file__).resolve().parents[2] / "fixtures" / "formats" / "layout-0003" / "store.sql"


@runs
async def test_it_is_made_once_and_signed_and_never_the_one_that_signs(file: Place) -> None:
    async with opened(file) as store:
        who, said = await store.identity(), await store.carrying_key()
        private = await store.carrying_private_key()
    assert said.server == who.server
    assert said.key == public_of(private) != who.public_key
    assert is_carrying_key(said, who.public_key)
    async with opened(file) as store:
        assert await store.carrying_private_key() == private


@runs
async def test_it_moves_with_the_house(file: Place, tmp_path: Path) -> None:
    async with opened(file) as store:
        sealed = seal((await store.carrying_key()).key, b"info", b"lines")
    await move(file, tmp_path / "moved.db", lambda _table, _rows: None)
    async with opened(tmp_path / "moved.db") as store:
        assert unseal(await store.carrying_private_key(), b"info", sealed) == b"lines"


@runs
async def test_a_house_of_before_gets_one(file: Place, tmp_path: Path) -> None:
    """From a database of the layout before, moved to the engine that the tests run on."""
    old = tmp_path / "old.db"
    with closing(sqlite3.connect(old)) as database:
        database.executescript(LAYOUT_0003.read_text())
    async with opened(old) as store:
        private = await store.carrying_private_key()
    await move(old, file, lambda _table, _rows: None)
    async with opened(file) as store:
        assert await store.carrying_private_key() == private
        assert is_carrying_key(await store.carrying_key(), (await store.identity()).public_key)
