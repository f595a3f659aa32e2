"""What several commands print alike."""

from typing import Any, NoReturn

import click
import msgspec

from chinrest.pack.faults import PackFaults


def print_json(value: Any) -> None:
    click.echo(msgspec.json.format(msgspec.json.encode(value), indent=2))


def end_with_faults(error: PackFaults, *, as_json: bool) -> NoReturn:
    """Prints every fault and ends with status 1."""
    if as_json:
        print_json({"ok": False, "faults": error.faults})
    else:
        for fault in error.faults:
            click.echo(str(fault), err=True)
        count = len(error.faults)
        click.echo(f"{count} {'fault' if count == 1 else 'faults'}. Nothing was written.", err=True)
    raise SystemExit(1)
