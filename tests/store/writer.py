"""Sends a file of lines to a store in batches of SIZE; prints each id once acknowledged. Made to be killed.

python writer.py DATABASE DEVICE LINES SIZE
"""

import asyncio
import sys
from pathlib import Path

from stored import HEAD

from chinrest.store import Store
from chinrest.store.engines import Place, is_postgresql


async def main(database: Place, device: str, raws: list[bytes], size: int) -> None:
    store = await Store.open(database)
    for start in range(0, len(raws), size):
        answers = await store.take_batch(device, raws[start : start + size], 1, HEAD)
        print(*(answer.id for answer in answers if answer.status in ("stored", "repeat")), flush=True)
    await store.close()


if __name__ == "__main__":
    place = sys.argv[1]
    database = place if is_postgresql(place) else Path(place)
    asyncio.run(main(database, sys.argv[2], Path(sys.argv[3]).read_bytes().splitlines(), int(sys.argv[4])))
