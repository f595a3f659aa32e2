"""Wrote fixtures/formats/layout-0006 once, when the sixth layout was released. Never run to overwrite.

    python tests/store/make_layout_0006.py FOLDER

The database of the fifth layout (the invented case of fixtures/formats/line-v1), brought up.
"""

import asyncio
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from chinrest.store import Store

FIFTH = Path(__file__).resolve().parents[2] / "fixtures" / "formats" / "layout-0005" / "store.sql"


async def bring_up(database: Path) -> None:
    store = await Store.open(database)
    await store.close()


def main(folder: Path) -> None:
    folder.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as temporary:
        database = Path(temporary, "chinrest.db")
        with closing(sqlite3.connect(database)) as connection:
            connection.executescript(FIFTH.read_text())
        asyncio.run(bring_up(database))
        with closing(sqlite3.connect(database)) as connection:
            (folder / "store.sql").write_text("".join(f"{line}\n" for line in connection.iterdump()))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
