"""Bringing a database to the newest layout. The steps travel inside the package."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(connection: Connection) -> None:
    """Run the steps that this database lacks, within the caller's transaction."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
