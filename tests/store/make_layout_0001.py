"""Wrote fixtures/formats/layout-0001 once, when the first layout was released. Never run to overwrite.

    python tests/store/make_layout_0001.py FOLDER

The database holds the invented case of fixtures/formats/line-v1, a pack and an approval; as SQL text, so that
it can be read.
"""

import asyncio
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from stored import HEAD, SITES

from chinrest.log.line import decode_line
from chinrest.store import Store

LINES = Path(__file__).resolve().parents[2] / "fixtures" / "formats" / "line-v1"


async def fill(database: Path) -> None:
    store = await Store.open(database, sites=SITES)
    for file in sorted(LINES.glob("*.ndjson")):
        raws = file.read_bytes().splitlines()
        device = decode_line(raws[0]).envelope.device
        code = await store.add_code("north", file.stem, 1, 2)
        await store.enrol(code.code, device, "AAAA", file.stem, 1)
        await store.take_batch(device, [*raws, b"junk"], 1_794_000_100_000, HEAD)
    pack = await store.put_pack(b'{"format":1,"clinic":"Invented Eye Service","version":"1"}', 3)
    await store.approve_pack(pack, "lead", ["north"], "", 4)
    await store.close()


def main(folder: Path) -> None:
    folder.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as temporary:
        database = Path(temporary, "chinrest.db")
        asyncio.run(fill(database))
        with closing(sqlite3.connect(database)) as connection:
            (folder / "store.sql").write_text("".join(f"{line}\n" for line in connection.iterdump()))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
