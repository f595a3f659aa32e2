"""What the last backup holds of each phone, on either engine; on PostgreSQL it is made by its own means."""

import asyncio
from pathlib import Path

import pytest
from click.testing import CliRunner
from invented import START
from stored import a_case, enrol, envelope_hash, opened, runs, send

from chinrest.cli import main
from chinrest.store import Store
from chinrest.store.backed_up import Mark
from chinrest.store.engines import Place


@runs
async def test_a_backup_holds_each_unbroken_chain_and_no_more(file: Place) -> None:
    phone, other, silent = a_case(lines=8), a_case("other", lines=3, case="c2"), a_case("silent", lines=0)
    async with opened(file, phone, other, silent) as store:
        await send(store, phone, [*phone.raws[:5], phone.raws[6]])  # the last waits for the one before it
        await send(store, other, other.raws)
        assert await store.backup_mark(phone.device) is None
        who, marks = await store.identity(), await store.heads(START)
        assert {mark.device: mark.seq for mark in marks} == {phone.device: 5, other.device: 3}
        await send(store, phone, phone.raws)
        assert await store.note_backup(who.epoch, marks)
        assert await store.backup_mark(phone.device) == Mark(
            device=phone.device, seq=5, head_sha256=envelope_hash(phone.raws[4]), made_at=START
        )
        # the next backup's word takes the place of the last
        assert await store.note_backup(who.epoch, [mark for mark in marks if mark.device == other.device])
        assert await store.backup_mark(phone.device) is None
        await store.new_epoch(START + 1, START)
        assert (await store.backup_mark(phone.device) or marks[0]).seq == 8
        assert not await store.note_backup(who.epoch, marks), "made before the restore"
        await store.new_epoch(START + 2)
        assert await store.backup_mark(phone.device) is None


@pytest.mark.several_servers
def test_on_postgresql_a_command_makes_the_backup(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHINREST_DATABASE", file)
    phone = a_case(lines=4)

    async def begin() -> None:
        async with opened(file) as store:
            await enrol(store, phone)
            await send(store, phone, phone.raws)

    def held() -> tuple[str, int | None]:
        async def read() -> tuple[str, int | None]:
            store = await Store.open(file)
            mark = await store.backup_mark(phone.device)
            who = await store.identity()
            await store.close()
            return who.epoch, mark.seq if mark else None

        return asyncio.run(read())

    def run(*arguments: str) -> int:
        return CliRunner().invoke(main, [*arguments, "--data", str(tmp_path)]).exit_code

    asyncio.run(begin())
    first, seq = held()
    assert seq is None
    assert run("backup", "--run", "false") == 1
    assert held() == (first, None)
    assert run("backup", "--run", f"touch '{tmp_path / 'a dump'}'") == 0
    assert (tmp_path / "a dump").exists()
    assert held() == (first, 4)
    assert run("restore", "--done") == 0
    later, seq = held()
    assert later != first
    assert seq == 4
