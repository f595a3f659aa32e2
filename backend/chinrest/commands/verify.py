"""`chinrest verify`: is a file of log lines whole, and does each line join the one before?"""

from pathlib import Path

import click

from chinrest.log.chain import verify_file

from .ending import CommandError, json_option
from .printing import print_json


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def verify(file: Path, as_json: bool) -> None:
    """Check the log lines in FILE (one a row, as exported). Ends with status 1 at the first bad line."""
    try:
        verdict = verify_file(file)
    except OSError as error:
        raise CommandError("unreadable", str(file), str(error.strerror or error)) from error
    if as_json:
        print_json(verdict)
    else:
        for run in verdict.runs:
            part = "" if run.first_seq == 1 else " (a part: nothing vouches for what came before it)"
            click.echo(f"device {run.device}: sequences {run.first_seq} to {run.last_seq}{part}")
        if verdict.first_bad is None:
            click.echo(
                f"{verdict.lines} {'line' if verdict.lines == 1 else 'lines'}, every one in its chain."
            )
        else:
            bad = verdict.first_bad
            click.echo(f"{file}: line {bad.number}: {bad.code}: {bad.reason}", err=True)
            click.echo(f"{verdict.lines} sound lines stand before it.", err=True)
    if not verdict.ok:
        raise SystemExit(1)
