"""Bringing a database to the newest layout. The steps travel inside the package."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Connection, inspect

from chinrest.store.faults import StoreError

VERSIONS = "alembic_version"
"""Where a database says which layout it has."""

MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(connection: Connection) -> None:
    """Run the steps that this database lacks, within the caller's transaction. Fault: file."""
    found = set(inspect(connection).get_table_names())
    if found and VERSIONS not in found:
        raise StoreError("file", "database", f"it is another program's: it has a table {min(found)!r}")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as fault:
        why = f"its layout is not known here; a newer Chinrest may have made it ({fault})"
        raise StoreError("file", "database", why) from fault
