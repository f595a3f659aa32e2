"""Where PostgreSQL keeps lines: a partition for each site, and in it one for each month (UTC) of
`received_at`, the server's own clock, so that no phone's clock can make one. SQLite keeps one table.

Both columns are of the line for good. A unique index of a partitioned table would have to hold both, and so
would not see the same id at another site or in another month: `line_keys`, one unpartitioned table filled and
emptied by triggers, keeps ids and log positions unique. A device, a sequence and a branch are unique with the
id: a branch is told by the hash of its envelope, and the envelope holds the id.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from hashlib import sha256

from sqlalchemy import Connection, text
from sqlalchemy.ext.asyncio import AsyncConnection

Place = tuple[str, int]
"""Site and `received_at` (ms since 1970) of a line."""

ERASED_IN = "something was erased in it; scrub writes it anew"
"""The mark, as a comment on the table."""

_INDICES = {
    "ix_lines_id": "id",
    "ix_lines_position": "position",
    "ix_lines_device_seq": "device, seq",
    "ix_lines_feed": "feed",
    "ix_lines_case_id": "case_id",
    "ix_lines_type": "type",
}

_KEPT_UNIQUE = (
    """CREATE FUNCTION lines_keep_keys() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF TG_OP = 'INSERT' THEN
            INSERT INTO line_keys (id, position) VALUES (NEW.id, NEW.position);
            RETURN NEW;
        ELSIF TG_OP = 'DELETE' THEN
            DELETE FROM line_keys WHERE id = OLD.id;
            RETURN OLD;
        END IF;
        RAISE EXCEPTION 'what says where a line stands is never changed';
    END $$""",
    "CREATE TRIGGER lines_add_key BEFORE INSERT ON lines FOR EACH ROW EXECUTE FUNCTION lines_keep_keys()",
    "CREATE TRIGGER lines_drop_key BEFORE DELETE ON lines FOR EACH ROW EXECUTE FUNCTION lines_keep_keys()",
    "CREATE TRIGGER lines_stay BEFORE UPDATE OF id, position, site, received_at ON lines "
    "FOR EACH ROW EXECUTE FUNCTION lines_keep_keys()",
)


def _is_partitioned(connection: AsyncConnection | Connection) -> bool:
    return connection.dialect.name == "postgresql"


def _month(received_at: int) -> tuple[int, int]:
    moment = datetime.fromtimestamp(received_at / 1000, UTC)
    return moment.year, moment.month


def _begins(year: int, month: int) -> int:
    """Of the month (13 is the next year's first), in ms since 1970."""
    first = datetime(year + (month - 1) // 12, (month - 1) % 12 + 1, 1, tzinfo=UTC)
    return int(first.timestamp()) * 1000


def _site_name(site: str) -> str:
    """A table's name for a site: what can be read of its id, and enough of a hash to tell ids apart."""
    readable = re.sub(r"[^a-z0-9]+", "_", site.lower())[:24].strip("_") or "own"
    return f"lines_{readable}_{sha256(site.encode()).hexdigest()[:8]}"


def month_name(place: Place) -> str:
    """The partition that a line goes to."""
    year, month = _month(place[1])
    return f"{_site_name(place[0])}_{year:04d}_{month:02d}"


def _quoted(value: str) -> str:
    """As a literal, in which the driver looks for places of values: a partition's bounds can't be bound."""
    return "'" + value.replace("'", "''").replace("%", "%%") + "'"


def _making(place: Place) -> dict[str, list[str]]:
    """For each table that the place needs, in their order, what makes it.

    It is made by itself and then attached: that waits for no reader and lets none wait, where making it as a
    partition at once would lock the whole log against a long export and all that come after it.
    """
    site, month = _site_name(place[0]), month_name(place)
    year, number = _month(place[1])
    since, until = _begins(year, number), _begins(year, number + 1)
    return {
        site: [
            f"CREATE TABLE {site} (LIKE lines INCLUDING DEFAULTS) PARTITION BY RANGE (received_at)",
            f"ALTER TABLE lines ATTACH PARTITION {site} FOR VALUES IN ({_quoted(place[0])})",
        ],
        month: [
            f"CREATE TABLE {month} (LIKE lines INCLUDING DEFAULTS)",
            f"ALTER TABLE {site} ATTACH PARTITION {month} FOR VALUES FROM ({since}) TO ({until})",
        ],
    }


async def make_room(connection: AsyncConnection, places: Iterable[Place]) -> None:
    """Make the partitions that lines of these places lack, in the caller's write: they come and go with it,
    and the writer's lock keeps two processes from making the same one."""
    if not _is_partitioned(connection):
        return
    for place in sorted({month_name(place): place for place in places}.values()):
        if await _is_there(connection, month_name(place)):
            continue
        for name, statements in _making(place).items():
            if not await _is_there(connection, name):
                for statement in statements:
                    await connection.exec_driver_sql(statement)


async def standing_ids(connection: AsyncConnection, ids: Sequence[str]) -> Sequence[str]:
    """Those of these ids (in order) that a line may have here; most ids of a batch are new. Where lines are
    partitioned, one table of keys says so, and each would else be looked for in every partition. Else none
    has where none stands between them: ids begin with the time that their phone had."""
    if not ids:
        return ids
    if not _is_partitioned(connection):
        between = text("SELECT id FROM lines WHERE id BETWEEN :first AND :last LIMIT 1")
        some = (await connection.execute(between, {"first": ids[0], "last": ids[-1]})).first()
        return [] if some is None else ids
    query = text("SELECT id FROM line_keys WHERE id = ANY(:ids)")
    return list((await connection.execute(query, {"ids": list(ids)})).scalars())


async def note_erased(connection: AsyncConnection, places: Iterable[Place]) -> None:
    """Mark the partitions of these places: bytes that were erased or moved there stay in their pages until
    `scrub` writes them anew. The mark stands in the database and comes with the caller's write, so that no
    scrub that was cut short leaves one out."""
    if not _is_partitioned(connection):
        return
    for name in sorted({month_name(place) for place in places}):
        await connection.exec_driver_sql(f"COMMENT ON TABLE {name} IS {_quoted(ERASED_IN)}")


async def marked(connection: AsyncConnection) -> list[str]:
    """Partitions that something was erased in since they were written."""
    found = await connection.execute(
        text(
            "SELECT relname FROM pg_class WHERE relkind = 'r' AND relname LIKE 'lines\\_%'"
            " AND obj_description(oid, 'pg_class') = :mark ORDER BY relname"
        ),
        {"mark": ERASED_IN},
    )
    return list(found.scalars())


async def write_anew(connection: AsyncConnection, name: str) -> None:
    """A marked partition, outside of a transaction. The mark goes last."""
    await connection.exec_driver_sql(f"VACUUM (FULL) {name}")
    await connection.exec_driver_sql(f"COMMENT ON TABLE {name} IS NULL")


async def _is_there(connection: AsyncConnection, name: str) -> bool:
    found = await connection.execute(text("SELECT to_regclass(:name) IS NOT NULL"), {"name": name})
    return bool(found.scalar_one())


def partition_lines(connection: Connection) -> None:
    """The step of the migration that brought partitions: the lines that stand are copied into theirs.

    Never changed: a database of the layout before is still to come. (It takes the columns as it finds them.)
    """
    if not _is_partitioned(connection):
        return

    def run(*statements: str) -> None:
        for statement in statements:
            connection.exec_driver_sql(statement)

    run(
        "ALTER TABLE review_lines DROP CONSTRAINT fk_review_lines_line",
        "ALTER TABLE lines RENAME TO lines_before",
        "CREATE TABLE lines (LIKE lines_before INCLUDING DEFAULTS) PARTITION BY LIST (site)",
    )
    places = (
        "SELECT site, min(received_at) FROM lines_before GROUP BY site, "
        "to_char(to_timestamp(received_at / 1000.0) AT TIME ZONE 'UTC', 'YYYYMM') ORDER BY 1, 2"
    )
    made: set[str] = set()
    for site, received_at in connection.exec_driver_sql(places).all():
        for name, statements in _making((site, received_at)).items():
            if name not in made:
                run(*statements)
                made.add(name)
    run(
        "INSERT INTO lines SELECT * FROM lines_before",
        "CREATE TABLE line_keys (id VARCHAR(36) NOT NULL, position BIGINT NOT NULL)",
        "INSERT INTO line_keys SELECT id, position FROM lines_before",
        "DROP TABLE lines_before",
        "ALTER TABLE line_keys ADD CONSTRAINT pk_line_keys PRIMARY KEY (id)",
        "ALTER TABLE line_keys ADD CONSTRAINT uq_line_keys_position UNIQUE (position)",
        *(f"CREATE INDEX {name} ON lines ({columns})" for name, columns in _INDICES.items()),
        "ALTER TABLE lines ADD CONSTRAINT fk_lines_device FOREIGN KEY (device) REFERENCES devices (id)",
        "ALTER TABLE review_lines ADD CONSTRAINT fk_review_lines_line "
        "FOREIGN KEY (line) REFERENCES line_keys (id)",
        *_KEPT_UNIQUE,
    )
