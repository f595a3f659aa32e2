"""What several commands print alike."""

import json
from typing import Any, NoReturn

import click
import msgspec

from chinrest.pack.faults import PackFaults


def print_json(value: Any) -> None:
    try:
        text = msgspec.json.format(msgspec.json.encode(value).decode(), indent=2)
    except UnicodeEncodeError:  # a file's name need not be UTF-8: what isn't stands as an escape
        text = json.dumps(msgspec.to_builtins(value), indent=2)
    click.echo(text)


def end_with_faults(error: PackFaults, *, as_json: bool) -> NoReturn:
    """Prints every fault and ends with status 1."""
    if as_json:
        print_json({"ok": False, "faults": error.faults})
    else:
        for fault in error.faults:
            click.echo(str(fault).encode(errors="backslashreplace"), err=True)
        count = len(error.faults)
        click.echo(f"{count} {'fault' if count == 1 else 'faults'}. Nothing was written.", err=True)
    raise SystemExit(1)
