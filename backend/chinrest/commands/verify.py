"""`chinrest verify`: is a file of log lines whole, and does each line join the one before?"""

from datetime import UTC, datetime
from pathlib import Path

import click

from chinrest.log.signing import fingerprint
from chinrest.log.verify import Verdict, verify_file

from .ending import CommandError, json_option
from .printing import print_json


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--server-key", help="Insist that an export is sealed by this key, or one of this fingerprint.")
@json_option
def verify(file: Path, server_key: str | None, as_json: bool) -> None:
    """Check the log lines in FILE: bare lines, or an export with its signatures and seal.

    Needs no server and no network. Ends with status 1 at the first bad row.
    """
    try:
        verdict = verify_file(file)
    except OSError as error:
        raise CommandError("unreadable", str(file), str(error.strerror or error)) from error
    if server_key is not None and verdict.ok:
        _insist(verdict, server_key, file)
    if as_json:
        print_json(verdict)
    else:
        _tell(verdict, file)
    if not verdict.ok:
        raise SystemExit(1)


def _insist(verdict: Verdict, wanted: str, file: Path) -> None:
    if not verdict.sealed or verdict.server_key is None:
        raise CommandError("not_sealed", str(file), "it is no sealed export, so no server vouches for it")
    if wanted not in (verdict.server_key, fingerprint(verdict.server_key)):
        why = f"sealed by another server, whose key has the fingerprint {fingerprint(verdict.server_key)}"
        raise CommandError("wrong_key", str(file), why)


def _tell(verdict: Verdict, file: Path) -> None:
    for run in verdict.runs:
        part = "" if run.first_seq == 1 else " (a part: nothing vouches for what came before it)"
        signed = verdict.signed.get(run.device)
        by_device = f", signed by the device up to {signed}" if signed else ""
        click.echo(f"device {run.device}: sequences {run.first_seq} to {run.last_seq}{part}{by_device}")
    for gone in verdict.erasures:
        at = datetime.fromtimestamp(gone.at / 1000, UTC).strftime("%Y-%m-%d")
        rule = "by request" if gone.years is None else f"by rule, after {gone.years} years"
        of = "of no case" if gone.case is None else f"of case {gone.case}"
        named = f"tombstone {gone.tombstone} {of}"
        click.echo(f"{named}: {gone.bodies} bodies erased {rule}, on {at} ({gone.why})")
    lines = f"{verdict.lines} {'line' if verdict.lines == 1 else 'lines'}"
    if verdict.first_bad is not None:
        bad = verdict.first_bad
        click.echo(f"{file}: line {bad.number}: {bad.code}: {bad.reason}", err=True)
        click.echo(f"{verdict.lines} sound lines stand before it.", err=True)
    elif verdict.sealed and verdict.server_key is not None:
        click.echo(f"{lines}, every one in its chain.")
        if verdict.erased:
            click.echo(f"Of {verdict.erased} more the body was erased, each under a signed tombstone.")
        click.echo(f"Sealed by the server whose key has the fingerprint {fingerprint(verdict.server_key)}.")
    else:
        click.echo(f"{lines}, every one in its chain.")
        click.echo("Not a sealed export: whether lines are missing at the end cannot be seen.")
