"""Every command ends in words or in JSON, never in a traceback, whatever it was given."""

import errno
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import click

from .ending import CommandError

JSON_FLAG = "--json"


class CommandLineError(CommandError):
    """The command line itself is wrong; the status is the one that click gives it."""

    exit_code = click.UsageError.exit_code


def check_text(arguments: Sequence[str]) -> None:
    """Refuses what no database and no QR code can hold: bytes that are not UTF-8."""
    for argument in arguments:
        if any("\ud800" <= letter <= "\udfff" for letter in argument):
            raise click.UsageError(f"{argument!r} is not text in UTF-8")


@contextmanager
def told(as_json: bool) -> Iterator[None]:
    """Turns faults of the command line and of files into a CommandError. Without `as_json`, what click says
    of the command line itself stands: it shows the usage too."""
    try:
        yield
    except CommandError:
        raise
    except click.ClickException as error:
        if not as_json:
            raise
        usage = CommandLineError("usage", _where(error), error.format_message())
        usage.as_json = True
        raise usage from error
    except (click.Abort, EOFError) as error:
        if not as_json:
            raise
        fault = CommandError("stopped", "standard input", "it ended before all was answered")
        fault.as_json = True
        raise fault from error
    except OSError as error:
        if error.errno == errno.EPIPE:  # whoever read our output has gone
            raise
        fault = CommandError("file", str(error.filename or "file"), error.strerror or str(error))
        fault.as_json = as_json
        raise fault from error


def _where(error: click.ClickException) -> str:
    """The option, argument or command that the fault is about."""
    if isinstance(error, click.NoSuchOption):
        return error.option_name
    param = getattr(error, "param", None)
    if isinstance(param, click.Option):
        return param.opts[0]
    if isinstance(param, click.Argument):
        return param.human_readable_name
    context = getattr(error, "ctx", None)
    return context.command_path if isinstance(context, click.Context) else "chinrest"
