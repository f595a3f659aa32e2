"""Everything moves from one database to another, and a copy that is not whole is not called one."""

from pathlib import Path
from typing import Any

import pytest
from stored import a_case, everything, opened, restored, runs, send

from chinrest.store import Store, StoreError
from chinrest.store.engines import Place
from chinrest.store.moving import move


def nobody(_table: str, _rows: int) -> None:
    pass


async def filled(file: Place) -> None:
    phone = a_case(lines=30)
    async with opened(file, phone) as store:
        await send(store, phone, [*phone.raws[:20], b"junk", phone.raws[20] + b" "])
        await send(store, phone, restored(phone, at=10, lines=3).raws)
        await store.add_staff("Olga", "a long password of hers", "officer", 1)


def plain(tables: dict[str, list[tuple[Any, ...]]]) -> dict[str, list[list[Any]]]:
    """Whichever engine told it: one has true and false where the other has 1 and 0."""
    return {
        name: sorted(([int(v) if isinstance(v, bool) else v for v in row] for row in rows), key=repr)
        for name, rows in tables.items()
    }


@runs
async def test_everything_is_over_and_the_new_one_goes_on(file: Place, tmp_path: Path) -> None:
    """From whichever engine the tests run on to the embedded one."""
    await filled(file)
    target = tmp_path / "moved.db"
    heard: dict[str, int] = {}
    moved = await move(file, target, heard.__setitem__)
    assert plain(everything(target)) == plain(everything(file))
    assert moved.rows["lines"] == 21 == heard["lines"], "the phone's, and that Olga was added"
    assert len(moved.lines_sha256) == 64
    phone = a_case(lines=30)
    async with opened(target) as store:
        assert [answer.status for answer in await send(store, phone, phone.raws)][:20] == ["repeat"] * 20
        assert await store.check_password("Olga", "a long password of hers")


@runs
async def test_there_and_back_again_is_the_same(file: Place, other_file: Place, tmp_path: Path) -> None:
    start = tmp_path / "start.db"
    await filled(start)
    there = await move(start, file, nobody)
    back = await move(file, other_file, nobody)
    assert there == back
    assert {name: len(rows) for name, rows in everything(start).items()} == {
        name: len(rows) for name, rows in everything(other_file).items()
    }


@runs
async def test_nothing_is_moved_over_what_is_there(file: Place, other_file: Place) -> None:
    await filled(file)
    async with opened(other_file):
        pass
    before = everything(other_file)
    with pytest.raises(StoreError, match="not_empty"):
        await move(file, other_file, nobody)
    assert everything(other_file) == before


@runs
async def test_a_copy_that_differs_is_undone(
    file: Place, other_file: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    await filled(file)
    seen: list[object] = []

    async def another(connection: object) -> str:
        seen.append(connection)
        return str(len(seen))

    monkeypatch.setattr("chinrest.store.moving._digest", another)
    with pytest.raises(StoreError, match="differs"):
        await move(file, other_file, nobody)
    monkeypatch.undo()
    await move(file, other_file, nobody)  # nothing of the first try was left
    store = await Store.open(other_file)
    assert await store.staff()
    await store.close()
