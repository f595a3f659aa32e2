"""What lines by site and month cost and give on PostgreSQL: the same batches into a log of many partitions
and into one of few; then a month's bodies erased and their room given back, and a month dumped, beside the
same lines in one table."""

import asyncio
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

from chinrest.store import Store
from chinrest.store.engines.partitions import ERASED_IN
from chinrest.store.rows import BatchHead

from .table import Row

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "log"))  # the invented phones

from invented import Phone

from postgresql import Postgres

SITES = 5
MONTHS = 24
LINES_EACH = 100
BATCH = 25
BATCHES = 40
MONTH_MS = 2_678_400_000  # 31 days: no two of them begin in one month
START_MS = 1_704_067_200_000  # 1 January 2024
HEAD = BatchHead(head_seq=0, head_sha256="0" * 64, signature=None, waiting=0, now=START_MS, app="bench")
ONE_TABLE = (
    "CREATE TABLE one AS SELECT * FROM lines",
    "ALTER TABLE one ADD PRIMARY KEY (id)",
    "ALTER TABLE one ADD UNIQUE (position)",
    *(f"CREATE INDEX ON one ({columns})" for columns in ("device, seq", "feed", "case_id", "type")),
)


def phone(name: str, lines: int) -> Phone:
    made = Phone(name)
    made.write("case.opened", f"case-{name}")
    while len(made.lines) < lines:
        made.write("step.done", f"case-{name}", step=f"step_{len(made.lines)}", note="x" * 100)
    return made


async def enrolled(store: Store, made: Phone, site: str) -> None:
    code = await store.add_code(site, made.name, 1, 2)
    await store.enrol(code.code, made.device, "AAAA", made.name, 1)


async def filled(store: Store, months: int) -> None:
    """The same lines, over so many months."""
    for number in range(SITES):
        each = phone(f"{months}-{number}", MONTHS * LINES_EACH)
        await enrolled(store, each, f"site-{number}")
        for month in range(MONTHS):
            raws = each.raws[month * LINES_EACH : (month + 1) * LINES_EACH]
            await store.take_batch(each.device, raws, START_MS + month % months * MONTH_MS, HEAD)


async def taking(store: Store, name: str) -> list[float]:
    """Seconds for each batch of a new phone, in the last month."""
    new = phone(name, BATCH * BATCHES)
    await enrolled(store, new, "site-0")
    took = []
    for start in range(0, BATCH * BATCHES, BATCH):
        began = time.perf_counter()
        await store.take_batch(new.device, new.raws[start : start + BATCH], START_MS, HEAD)
        took.append(time.perf_counter() - began)
    return took


async def both(many: str, few: str) -> tuple[list[float], list[float]]:
    """In turns, so that a busy moment of the machine falls on both."""
    names = {f"site-{number}": "Site" for number in range(SITES)}
    one, other = await Store.open(many, sites=names), await Store.open(few, sites=names)
    try:
        await filled(one, MONTHS)
        await filled(other, 1)
        took: tuple[list[float], list[float]] = ([], [])
        for turn in range(3):
            took[0].extend(await taking(one, f"turn {turn}"))
            took[1].extend(await taking(other, f"turn {turn}"))
        return took
    finally:
        await one.close()
        await other.close()


def timed(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


@contextmanager
def connected(address: str) -> Iterator[psycopg.Connection]:
    with psycopg.connect(address, autocommit=True) as database:
        yield database


def erasing(address: str) -> tuple[float, float, float, float, int]:
    """Seconds to erase a month's bodies and give their room back, and to write the month out: of a partition,
    and of one table with the same lines; and how many lines that table has."""
    with connected(address) as database:

        def run(*statements: str) -> None:
            for statement in statements:
                database.execute(statement)

        def out(query: str) -> None:
            with database.cursor().copy(f"COPY ({query}) TO STDOUT (FORMAT binary)") as copy:
                for _ in copy:
                    pass

        run(*ONE_TABLE, "VACUUM ANALYZE one")
        first = START_MS + MONTH_MS
        month = f"site = 'site-0' AND received_at >= {first} AND received_at < {first + MONTH_MS}"
        found = database.execute(f"SELECT tableoid::regclass::text FROM lines WHERE {month} LIMIT 1")
        (name,) = found.fetchone() or ("",)
        lines = (database.execute("SELECT count(*) FROM one").fetchone() or (0,))[0]
        dumped = timed(lambda: out(f"SELECT * FROM {name}"))
        dumped_one = timed(lambda: out(f"SELECT * FROM one WHERE {month}"))
        erase = "SET body = NULL, body_state = 'erased'"
        part = timed(lambda: run(f"UPDATE {name} {erase}", f"VACUUM FULL {name}"))
        whole = timed(lambda: run(f"UPDATE one {erase} WHERE {month}", "VACUUM FULL one"))
        return part, whole, dumped, dumped_one, lines


async def scrubbing(address: str) -> tuple[float, int]:
    """Seconds that the store's own scrub takes when something was erased in one site's month; and how many
    partitions there are."""
    store = await Store.open(address)
    try:
        await store.scrub()
        with connected(address) as database:
            there = "SELECT relname FROM pg_class WHERE relkind = 'r' AND relname ~ '^lines_'"
            names = [row[0] for row in database.execute(there)]
            database.execute(f"COMMENT ON TABLE {names[0]} IS '{ERASED_IN}'")
        began = time.perf_counter()
        await store.scrub()
        return time.perf_counter() - began, len(names)
    finally:
        await store.close()


def measure() -> list[Row]:
    postgres = Postgres(durable=True).start()
    try:
        many, few = postgres.fresh(), postgres.fresh()
        took, took_few = asyncio.run(both(many, few))
        scrubbed, partitions = asyncio.run(scrubbing(many))
        with connected(many) as database:
            database.execute("VACUUM ANALYZE lines")
            every = timed(lambda: database.execute("VACUUM (FULL) lines"))
        part, whole, dumped, dumped_one, lines = erasing(many)
    finally:
        postgres.stop()
    ms, ms_few = statistics.median(took) * 1000, statistics.median(took_few) * 1000
    return [
        Row(
            f"a batch of {BATCH} lines into {SITES * MONTHS} partitions, median of {len(took)}; into {SITES}",
            f"{ms:.1f} ms; {ms_few:.1f} ms ({ms / ms_few:.2f} ×)",
        ),
        Row(
            f"a site's month of {LINES_EACH} lines erased and its room given back; in one table of {lines:,}",
            f"{part * 1000:.0f} ms; {whole * 1000:.0f} ms ({whole / part:.1f} ×)",
        ),
        Row(
            f"what `chinrest erase` writes anew after that; of all {partitions} partitions",
            f"{scrubbed * 1000:.0f} ms; {every * 1000:.0f} ms ({every / scrubbed:.1f} ×)",
        ),
        Row(
            "the same month written out; from that table",
            f"{dumped * 1000:.1f} ms; {dumped_one * 1000:.1f} ms ({dumped_one / dumped:.1f} ×)",
        ),
    ]
