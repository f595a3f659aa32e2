"""`chinrest export`: every line with its chain, in a file that `chinrest verify` can check anywhere."""

import os
import time
from pathlib import Path

import click

from chinrest.log.signing import fingerprint
from chinrest.store import Store

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .printing import print_json


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@data_option
@json_option
def export(file: Path, data: Path | None, as_json: bool) -> None:
    """Write every line to FILE as a sealed export. Works while the server runs; never writes over a file."""
    part = file.with_name(file.name + ".part")

    async def write(store: Store) -> tuple[int, str]:
        count = 0
        async with store.export(time.time_ns() // 1_000_000) as rows:
            with part.open("xb") as out:
                async for row in rows:
                    out.write(row)
                    count += 1
                out.flush()
                os.fsync(out.fileno())
        return count, (await store.identity()).public_key

    if file.exists():
        raise CommandError("file", str(file), "it is there already")
    folder = found_folder(data)
    try:
        count, key = with_store(folder, write)
        part.rename(file)
    except FileExistsError as error:
        raise CommandError("file", str(part), "left by another export, or one is running") from error
    if as_json:
        print_json({"file": str(file), "rows": count, "server_key": key, "fingerprint": fingerprint(key)})
    else:
        click.echo(f"{file}: {count} rows, sealed by this server's key {fingerprint(key)}.")
