"""Lines by site and month, on PostgreSQL: their partitions come by themselves, no line stands twice across
them, and databases of every released layout are brought up with their lines."""

import asyncio
import json
import sqlite3
import subprocess
import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
import pytest
from alembic import command
from alembic.config import Config
from invented import START, Phone
from sqlalchemy import Boolean, Connection, MetaData, create_engine, insert
from stored import (
    HEAD,
    a_case,
    enrol,
    everything,
    folds,
    meddle,
    opened,
    restored,
    rows,
    runs,
    said,
    send,
    stored_raws,
)

from chinrest.log.line import decode_line
from chinrest.store import Store
from chinrest.store.engines.partitions import _making, month_name
from chinrest.store.migrate import MIGRATIONS
from postgresql import binaries

pytestmark = pytest.mark.several_servers

FORMATS = Path(__file__).resolve().parents[2] / "fixtures" / "formats"
LAYOUTS = sorted(FORMATS.glob("layout-*"))


def ms(year: int, month: int, day: int = 1) -> int:
    return int(datetime(year, month, day, tzinfo=UTC).timestamp() * 1000)


def partitions(file: str) -> dict[str, int]:
    """Every partition that holds lines itself, and how many."""
    leaves = rows(file, "SELECT relid::regclass::text FROM pg_partition_tree('lines') WHERE isleaf")
    return {name: rows(file, f"SELECT count(*) FROM {name}")[0][0] for (name,) in sorted(leaves)}


@runs
async def test_a_partition_comes_with_the_first_line_of_a_site_and_a_month(file: str) -> None:
    north, south = a_case("north"), a_case("south", case="c2")
    async with opened(file, north) as store:
        await enrol(store, south, "south")
        assert not any(partitions(file).values())
        last, first = ms(2026, 12) - 1, ms(2026, 12)
        await send(store, north, north.raws[:3], at=last)
        await send(store, north, north.raws[3:5], at=first)
        await send(store, south, south.raws[:4], at=first)
        await send(store, north, north.raws[5:6], at=ms(2027, 12))
        expected = {
            month_name(("north", last)): 3,
            month_name(("north", first)): 2,
            month_name(("south", first)): 4,
            month_name(("north", ms(2027, 12))): 1,
        }
        assert {name: n for name, n in partitions(file).items() if n} == expected
        assert month_name(("north", last)).endswith("_2026_11")
        # and nothing is seen of them through the door
        assert stored_raws(file, north.device) == north.raws[:6]
        assert await store.holds(north.device) == [(1, 6)]
        assert (
            [e.id for e in (await store.timeline("c1")).entries]
            == [  # type: ignore[union-attr]  # it is there
                line.envelope.id for line in north.lines[:6]
            ]
        )


@runs
async def test_sites_of_any_name_have_partitions_of_their_own(file: str) -> None:
    names = ["a b", "a-b", "a_b", "A_B", "ä'b:c%d", "x" * 100, "x" * 99 + "y"]
    store = await Store.open(file, sites=dict.fromkeys(names, "A site"))
    for number, site in enumerate(names):
        phone = a_case(str(number), 3, f"c{number}")
        await enrol(store, phone, site)
        assert said(await send(store, phone, phone.raws)) == ["stored"] * 3
    assert [n for n in partitions(file).values() if n] == [3] * len(names)
    await store.close()


@runs
async def test_a_long_reader_and_a_new_month_do_not_wait_for_each_other(file: str) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws[:4], at=ms(2026, 11))
        async with store._engine.read() as reading:
            counted = "SELECT count(*) FROM lines"
            assert (await reading.exec_driver_sql(counted)).scalar_one() == 4
            answers = await asyncio.wait_for(send(store, phone, phone.raws[4:], at=ms(2026, 12)), 30)
            assert said(answers) == ["stored"] * 4
            assert (await reading.exec_driver_sql(counted)).scalar_one() == 4
            assert (await asyncio.wait_for(store.holds(phone.device), 30)) == [(1, 8)]


@runs
async def test_an_undone_write_leaves_no_partition(file: str) -> None:
    phone = a_case()
    async with opened(file, phone) as store:
        before = partitions(file)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("chinrest.store.lines.take_positions", None)
            with pytest.raises(TypeError):
                await send(store, phone, phone.raws)
        assert partitions(file) == before
        await send(store, phone, phone.raws)
        assert partitions(file) != before


def copied(file: str, line: str, **changes: object) -> str:
    """A statement that puts a line in again, otherwise placed."""
    columns = [name for (name,) in rows(file, COLUMNS)]
    values = [f"{changes[name]!r}" if name in changes else name for name in columns]
    return (
        f"INSERT INTO lines ({', '.join(columns)}) SELECT {', '.join(values)} FROM lines WHERE id = '{line}'"
    )


COLUMNS = "SELECT attname FROM pg_attribute WHERE attrelid = 'lines'::regclass AND attnum > 0"


@runs
async def test_no_line_stands_twice_whichever_way_it_is_put_in(file: str) -> None:
    phone, other = a_case(), a_case("other", case="c2")
    async with opened(file, phone) as store:
        await enrol(store, other, "south")
        await send(store, phone, phone.raws, at=ms(2026, 11))
        await send(store, other, other.raws[:4], at=ms(2026, 11))
        await send(store, other, other.raws[4:], at=ms(2026, 12))
    line = phone.lines[0].envelope.id
    before = everything(file)
    for changes in (
        {"position": 1000},
        {"position": 1000, "site": "south"},
        {"position": 1000, "received_at": ms(2026, 12), "site": "south"},
        {"id": "another", "received_at": ms(2026, 12), "site": "south"},
    ):
        with pytest.raises(psycopg.errors.UniqueViolation):
            meddle(file, copied(file, line, **changes))
    for column in ("id = 'x'", "position = 2000", "site = 'south'", f"received_at = {ms(2026, 12)}"):
        with pytest.raises(psycopg.errors.RaiseException, match="never changed"):
            meddle(file, f"UPDATE lines SET {column} WHERE id = '{line}'")
    assert everything(file) == before
    assert rows(file, "SELECT id, position FROM line_keys ORDER BY 1") == rows(
        file, "SELECT id, position FROM lines ORDER BY 1"
    )


@runs
async def test_of_two_who_put_the_same_line_in_at_once_one_does(file: str) -> None:
    """Past the store's own lock, into two partitions: what the database alone holds."""
    phone, other = a_case(), a_case("other", case="c2")
    async with opened(file, phone) as store:
        await enrol(store, other, "south")
        await send(store, phone, phone.raws, at=ms(2026, 11))
        await send(store, other, other.raws, at=ms(2026, 12))
    line = phone.lines[0].envelope.id
    turns = 20
    for turn in range(turns):
        meeting, outcomes = threading.Barrier(2), []

        def put(statement: str, meeting: threading.Barrier, outcomes: list[str]) -> None:
            with psycopg.connect(file) as database:
                meeting.wait(30)
                try:
                    database.execute(statement)
                    database.commit()
                    outcomes.append("stored")
                except psycopg.errors.UniqueViolation:
                    outcomes.append("refused")

        new = {"id": f"line-{turn}"}
        here = copied(file, line, **new, position=5000 + 2 * turn)
        there = copied(file, line, **new, position=5001 + 2 * turn, site="south", received_at=ms(2026, 12))
        threads = [threading.Thread(target=put, args=(s, meeting, outcomes)) for s in (here, there)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(outcomes) == ["refused", "stored"]
        assert rows(file, "SELECT count(*) FROM lines WHERE id = ?", f"line-{turn}") == [(1,)]


@runs
async def test_two_stores_take_two_branches_of_a_phone_at_once_in_a_new_month(file: str) -> None:
    """However they fall: one branch is the chain, the other is aside, and each id stands once."""
    for turn in range(6):
        phone = a_case(f"phone {turn}", 12, f"case-{turn}")
        branch = restored_of(phone, at=4, lines=8)
        at = ms(2027 + turn, 3)
        async with opened(file, phone) as one:
            two = await Store.open(file)
            await send(one, phone, phone.raws[:4], at=ms(2026, 11))
            answers = await asyncio.gather(
                *(send(one, phone, phone.raws[4 + 2 * n : 6 + 2 * n], at=at) for n in range(4)),
                *(send(two, phone, branch.raws[4 + 2 * n : 6 + 2 * n], at=at) for n in range(4)),
            )
            assert {word for answer in answers for word in said(answer)} <= {"stored", "waiting", "fork"}
            await two.close()
        stands = rows(file, "SELECT seq, id FROM lines WHERE device = ? ORDER BY seq", phone.device)
        assert [seq for seq, _id in stands] == list(range(1, 13))
        assert len({line for _seq, line in stands}) == 12
        aside = rows(file, "SELECT line FROM refused WHERE device = ?", phone.device)
        ids = {line.envelope.id for line in (*phone.lines, *branch.lines)}
        assert {line for _seq, line in stands} | {line for (line,) in aside} == ids
        months = [n for name, n in partitions(file).items() if name.endswith(f"_{2027 + turn}_03")]
        assert months == [8]


def restored_of(phone: Phone, at: int, lines: int) -> Phone:
    case = phone.lines[0].envelope.case or ""
    other = a_case(phone.name, at, case)
    other.at += 77
    for number in range(lines):
        other.write("step.done", case, step=f"other_{number}")
    return other


def load(file: str, layout: Path) -> None:
    """A database of an older layout, as that release would have kept it here: made by its own migrations,
    with the rows that its fixture has."""

    def fill(connection: Connection, embedded: sqlite3.Connection) -> None:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        command.upgrade(config, layout.name.removeprefix("layout-"))
        tables = MetaData()
        tables.reflect(connection)
        for table in tables.sorted_tables:
            if table.name != "alembic_version" and not table.name.startswith("line"):
                put(connection, embedded, table)
        put(connection, embedded, tables.tables["lines"])

    with closing(sqlite3.connect(":memory:")) as embedded:
        embedded.row_factory = sqlite3.Row
        embedded.executescript((layout / "store.sql").read_text())
        engine = create_engine(file.replace("postgresql://", "postgresql+psycopg://"))
        with engine.begin() as connection:
            fill(connection, embedded)
        engine.dispose()


def put(connection: Connection, embedded: sqlite3.Connection, table: Any) -> None:
    flags = {column.name for column in table.columns if isinstance(column.type, Boolean)}
    found = [dict(row) for row in embedded.execute(f"SELECT * FROM {table.name}")]
    for row in found:
        row.update({name: bool(row[name]) for name in flags if row.get(name) is not None})
    if table.name == "lines" and "line_keys" in table.metadata.tables:
        for row in found:
            for name, statements in _making((row["site"], row["received_at"])).items():
                if connection.exec_driver_sql(f"SELECT to_regclass('{name}')").scalar_one() is None:
                    for statement in statements:
                        connection.exec_driver_sql(statement)
    if found:
        connection.execute(insert(table), found)


@pytest.mark.parametrize("folder", LAYOUTS, ids=lambda folder: folder.name)
def test_a_released_layout_is_brought_up_with_its_lines(folder: Path, file: str) -> None:
    load(file, folder)
    before = rows(file, "SELECT * FROM lines ORDER BY position")
    expected: dict[str, Any] = json.loads((FORMATS / "line-v1" / "expected.json").read_text())

    @runs
    async def scenario() -> None:
        async with opened(file) as store:
            after = rows(file, "SELECT * FROM lines ORDER BY position")
            assert [row[: len(before[0])] for row in after] == before
            assert sum(partitions(file).values()) == len(before)
            assert rows(file, "SELECT count(*) FROM line_keys") == [(len(before),)]
            timeline = await store.timeline(expected["case"]["case"])
            assert timeline is not None
            assert [entry.id for entry in timeline.entries] == expected["order"]
            folded = folds(file)
            await store.refold()
            assert folds(file) == folded
            for device in await store.devices():
                raws = (FORMATS / "line-v1" / f"{device.label}.ndjson").read_bytes().splitlines()
                assert stored_raws(file, decode_line(raws[0]).envelope.device) == raws
                answers = await store.take_batch(device.id, raws, START, HEAD)
                assert said(answers) == ["repeat"] * len(raws)

    scenario()


def tool(name: str, *arguments: str) -> None:
    subprocess.run([binaries() / name, *arguments], check=True, capture_output=True)


@runs
async def test_the_databases_own_dump_is_a_whole_store_again(
    file: str, other_file: str, tmp_path: Path
) -> None:
    phone = a_case(lines=30)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws[:20], at=ms(2026, 11))
        await send(store, phone, restored(phone, at=10, lines=3).raws, at=ms(2026, 12))
    dump = str(tmp_path / "dump.sql")
    tool("pg_dump", "--no-owner", "-f", dump, file)
    tool("psql", "-q", "-v", "ON_ERROR_STOP=1", "-f", dump, other_file)
    assert everything(other_file) == everything(file)
    async with opened(other_file) as store:
        answers = await send(store, phone, phone.raws, at=ms(2027, 1))
        assert said(answers) == ["repeat"] * 20 + ["stored"] * 10
