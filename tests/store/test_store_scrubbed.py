"""After a scrub, what was erased stands in no file of the database; of the rest no change goes unseen."""

from pathlib import Path

import pytest
from invented import START
from stored import a_case, altered, meddle, opened, rows, runs, said, send
from test_store_erasing import (
    REVIEW_LINES,
    WORDS,
    YEAR,
    a_full_case,
    erase_due,
    exported,
    reviewed,
    verdict_of,
)

from chinrest.log.verify import verify
from chinrest.store.engines import Place
from chinrest.store.engines.partitions import month_name
from postgresql import Postgres


def found_in(folder: Path, words: bytes) -> list[str]:
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert files
    return [path.name for path in files if words in path.read_bytes()]


@pytest.mark.embedded
@runs
async def test_the_bytes_are_gone_from_the_file(file: Path) -> None:
    """Looked for in the database and in the log beside it, while a server has it open."""
    phone = a_full_case()
    words = WORDS.encode()
    async with opened(file, phone) as server:
        await send(server, phone, [*phone.raws, phone.raws[-1] + b" "])
        await reviewed(server)
        assert found_in(file.parent, words), "or the test would look for what was never there"
        async with opened(file) as command:
            await erase_due(command)
            await command.scrub()
        assert found_in(file.parent, words) == []
        assert found_in(file.parent, b"HR-4711") == []
        assert (await server.timeline("c1")) is not None
        assert said(await send(server, phone, phone.raws)) == ["repeat"] * 6


@pytest.mark.several_servers
@runs
async def test_the_bytes_are_gone_from_the_tables(file: str, postgres: Postgres) -> None:
    """From PostgreSQL's tables; its write-ahead log is its own, and what it archives its keeper's."""
    phone = a_full_case()

    def found() -> list[str]:
        meddle(file, "CHECKPOINT")
        [(own,)] = rows(file, "SELECT oid FROM pg_database WHERE datname = current_database()")
        return found_in(postgres.tables / str(own), WORDS.encode())

    async with opened(file, phone) as server:
        await send(server, phone, [*phone.raws, phone.raws[-1] + b" "])
        await reviewed(server)
        assert found(), "or the test would look for what was never there"
        await erase_due(server)
        await server.scrub()
        assert found() == []
        assert said(await send(server, phone, phone.raws)) == ["repeat"] * 6


@pytest.mark.several_servers
@runs
async def test_only_what_something_was_erased_in_is_written_anew(file: str) -> None:
    """Partition by partition, by the number of the file that each stands in; a mark outlives who made it."""

    def files() -> dict[str, int]:
        query = "SELECT relname, relfilenode FROM pg_class WHERE relkind = 'r' AND relname ~ '^lines_'"
        return dict(rows(file, query))

    phone, other = a_full_case(), a_full_case("other", "c2")
    waited = a_case("waited", 3, "c3")
    async with opened(file, phone, other, waited) as server:
        await send(server, phone, phone.raws)
        await send(server, other, other.raws, at=START + 2 * YEAR)
        before = files()
        await server.scrub()
        assert files() == before, "nothing was erased"
        # one that waited out of its turn and proves not to fit leaves its bytes where it stood
        await send(server, waited, [altered(waited.raws[2], prev="f" * 64)], at=START + 3 * YEAR)
        assert said(await send(server, waited, waited.raws[:2], at=START)) == ["stored"] * 2
        assert rows(file, "SELECT count(*) FROM refused") == [(1,)]
        await reviewed(server)
        await erase_due(server, START + YEAR)
        before = files()
    async with opened(file) as another:
        await another.scrub()
        anew = {name for name, number in files().items() if before[name] != number}
        assert anew == {
            month_name(place) for place in (("north", START), ("north", START + 3 * YEAR), ("", START))
        }
        before = files()
        await another.scrub()
        assert files() == before, "the marks are gone"
        assert (await another.timeline("c1")) is not None
        assert (await verdict_of(another)).ok


@runs
async def test_a_changed_byte_or_a_missing_row_of_such_an_export_is_found(file: Place) -> None:
    phone = a_full_case()
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        await reviewed(store)
        await erase_due(store)
        sound = await exported(store)
    assert verify(sound).erased == 6 + REVIEW_LINES
    for number, row in enumerate(sound):
        assert not verify([*sound[:number], *sound[number + 1 :]]).ok, number
        for at in range(0, len(row), 17):
            spoiled = row[:at] + bytes([row[at] ^ 1]) + row[at + 1 :]
            assert not verify([*sound[:number], spoiled, *sound[number + 1 :]]).ok, (number, at)
