"""The layout of the database: made by migrations, as the tables say; every released one is opened by the
newest code."""

import asyncio
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from invented import START, Phone
from sqlalchemy import create_engine
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable
from stored import folds, opened, rows, runs, said, send, stored_raws

from chinrest.log.line import decode_line
from chinrest.store import Store, StoreError
from chinrest.store.migrate import MIGRATIONS
from chinrest.store.tables import metadata

pytestmark = pytest.mark.embedded

FORMATS = Path(__file__).resolve().parents[2] / "fixtures" / "formats"
LAYOUTS = sorted(FORMATS.glob("layout-*"))


@runs
async def test_the_migrations_make_the_tables(file: Path) -> None:
    async with opened(file):
        pass
    engine = create_engine(f"sqlite:///{file}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    engine.dispose()


def test_another_database_could_hold_the_tables() -> None:
    """PostgreSQL's compiler takes every table and index as it is."""
    dialect = postgresql.dialect()
    for table in metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=dialect))
        for index in table.indexes:
            kind = "CREATE UNIQUE INDEX" if index.unique else "CREATE INDEX"
            assert kind in str(CreateIndex(index).compile(dialect=dialect))


def test_only_the_engine_knows_which_database_it_is() -> None:
    package = MIGRATIONS.parent
    for path in package.rglob("*.py"):
        text = path.read_text().lower()
        own = path.parent.name == "engines"
        assert own or not any(word in text for word in ("sqlite", "pragma", "postgresql", "psycopg")), path


def test_every_layout_has_its_file() -> None:
    revisions = [script.revision for script in ScriptDirectory(str(MIGRATIONS)).walk_revisions()]
    assert [folder.name for folder in LAYOUTS] == [f"layout-{revision}" for revision in reversed(revisions)]


@pytest.mark.parametrize("folder", LAYOUTS, ids=lambda folder: folder.name)
def test_a_released_layout_is_opened(folder: Path, file: Path) -> None:
    with closing(sqlite3.connect(file)) as database:
        database.executescript((folder / "store.sql").read_text())
    expected: dict[str, Any] = json.loads((FORMATS / "line-v1" / "expected.json").read_text())

    @runs
    async def scenario() -> None:
        async with opened(file) as store:
            listed = await store.incidents()
            assert {row.line: (row.what, row.near_miss) for row in listed.rows} == {
                row["line"]: (row["what"], row["near_miss"]) for row in expected["incidents"]
            }
            timeline = await store.timeline(expected["case"]["case"])
            assert timeline is not None
            assert [entry.id for entry in timeline.entries] == expected["order"]
            assert await store.pack_in_force("north") is not None
            before = folds(file)
            await store.refold()
            assert folds(file) == before
            devices = {device.label: device for device in await store.devices()}
            assert set(devices) == {"device", "second-device"}
            for label in devices:
                raws = (FORMATS / "line-v1" / f"{label}.ndjson").read_bytes().splitlines()
                device = decode_line(raws[0]).envelope.device
                assert stored_raws(file, device) == raws
                assert await store.holds(device) == [(1, len(raws))]
            assert devices["device"].refused == 1

    scenario()


@runs
async def test_a_database_of_a_newer_version_is_left_alone(file: Path) -> None:
    async with opened(file):
        pass
    with closing(sqlite3.connect(file)) as database, database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
    before = rows(file, "SELECT * FROM house")
    with pytest.raises(StoreError, match="newer Chinrest"):
        await Store.open(file)
    assert rows(file, "SELECT * FROM house") == before


def test_another_programs_database_is_left_alone(file: Path) -> None:
    with closing(sqlite3.connect(file)) as database, database:
        database.execute("CREATE TABLE photos (name TEXT)")
    with pytest.raises(StoreError, match="another program's"):
        asyncio.run(Store.open(file))
    assert rows(file, "SELECT name FROM sqlite_master") == [("photos",)]


def test_a_file_that_is_no_database_is_left_alone(file: Path) -> None:
    letter = b"a letter to the lead, not a database\n" * 200
    file.write_bytes(letter)
    with pytest.raises(StoreError, match=r"file: .*not a database"):
        asyncio.run(Store.open(file))
    assert file.read_bytes() == letter


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"file: .*nowhere.*unable to open"):
        asyncio.run(Store.open(tmp_path / "nowhere" / "chinrest.db"))


@runs
async def test_a_write_is_on_the_disk_when_it_is_answered(file: Path) -> None:
    """Write-ahead log with a full sync at every commit;
    https://www.sqlite.org/pragma.html#pragma_synchronous."""
    async with opened(file) as store:
        async with store._engine._writer.connect() as connection:
            answers = {
                name: (await connection.exec_driver_sql(f"PRAGMA {name}")).scalar_one()
                for name in ("journal_mode", "synchronous", "foreign_keys")
            }
        assert answers == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


@runs
async def test_readers_cannot_write(file: Path) -> None:
    from sqlalchemy.exc import OperationalError

    async with opened(file) as store, store._engine.read() as connection:
        with pytest.raises(OperationalError, match="readonly"):
            await connection.exec_driver_sql("DELETE FROM house")


@runs
async def test_a_reader_sees_one_state_while_another_writes(file: Path) -> None:
    phone = Phone()
    phone.write("safety.noted", "c1")
    async with opened(file, phone) as store, store._engine.read() as connection:
        count = "SELECT count(*) FROM lines"
        assert (await connection.exec_driver_sql(count)).scalar_one() == 0
        assert said(await send(store, phone, phone.raws, at=START)) == ["stored"]
        assert (await connection.exec_driver_sql(count)).scalar_one() == 0
        assert (await store.incidents()).total == 1


@runs
async def test_sites_are_added_and_renamed_and_never_lost(file: Path) -> None:
    for sites, expected in (
        ({"a": "First"}, {"a": "First"}),
        ({"a": "Renamed", "b": "Second"}, {"a": "Renamed", "b": "Second"}),
        ({}, {"a": "Renamed", "b": "Second"}),
    ):
        store = await Store.open(file, sites=sites)
        assert await store.sites() == expected
        await store.close()
        await store.close()
