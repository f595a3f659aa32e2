"""Writes the database of a layout that is released now: that of the layout before, brought up by the code of
today. Run once for each, in the commit that adds its migration, and never to overwrite.

    python tests/store/make_layout_next.py fixtures/formats/layout-0002 fixtures/formats/layout-0003

`make_layout_0001.py` wrote the first, which holds the invented case of fixtures/formats/line-v1.
"""

import asyncio
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from chinrest.store import Store


async def bring_up(database: Path) -> None:
    store = await Store.open(database)
    await store.close()


def main(before: Path, folder: Path) -> None:
    folder.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as temporary:
        database = Path(temporary, "chinrest.db")
        with closing(sqlite3.connect(database)) as connection:
            connection.executescript((before / "store.sql").read_text())
        asyncio.run(bring_up(database))
        with closing(sqlite3.connect(database)) as connection:
            (folder / "store.sql").write_text("".join(f"{line}\n" for line in connection.iterdump()))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:3]))
