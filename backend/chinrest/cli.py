"""The `chinrest` command. Each command is imported when it is called: most need little of the house."""

from importlib import import_module
from typing import Any

import click

import chinrest
from chinrest.commands.told import JSON_FLAG, check_text, told

# command -> module under chinrest.commands that has it, and what `chinrest --help` says of it
COMMANDS = {
    "serve": ("serve", "Serve phones, officers and leads."),
    "enrol": ("enrol", "Make a one-time code that enrols a phone."),
    "people": ("people", "Officers and leads who may sign in."),
    "sites": ("sites", "The service's sites."),
    "pack": ("pack", "Check, compile and read a guidance pack."),
    "fit": ("fit", "Compute a head turn for one patient and optic."),
    "coverage": ("coverage", "How much of the retina a set of fields shows."),
    "plan": ("plan", "Plan the fewest fields that show a region."),
    "choose": ("choose", "Compare the optics for a region and a face."),
    "dose": ("dose", "Work out an approved dose rule for one weight."),
    "series": ("series", "Lay a protocol's frames on one line."),
    "rates": ("rates", "A rate per 1,000 with its exact intervals."),
    "gchart": ("rates", "Chart the cases between rare events from a CSV file."),
    "demo": ("demo", "Add an invented history to a demo folder."),
    "backup": ("backup", "Back up everything that a server keeps, while it runs."),
    "restore": ("backup", "Check a backup, or restore it into a folder."),
    "retention": ("retention", "For how long cases are kept."),
    "erase": ("erase", "Erase what was written of old cases, under a signed tombstone."),
    "move": ("move", "Move everything to another database, and verify it."),
    "relay": ("relay", "Carry a hub's lines to the hospital's server."),
    "hubs": ("hubs", "Servers that may relay to this one."),
    "export": ("export", "Write every line with its chain to a sealed file."),
    "take": ("take", "Take in a file of lines that a phone sealed for this server."),
    "verify": ("verify", "Check a file of log lines: chains, signatures, seal."),
}


class Commands(click.Group):
    """Knows its commands by name, and imports one only to run it."""

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        as_json = JSON_FLAG in args
        with told(as_json):
            check_text(args)
            context = super().make_context(info_name, args, parent, **extra)
        context.meta[JSON_FLAG] = as_json
        return context

    def invoke(self, ctx: click.Context) -> Any:
        with told(ctx.meta[JSON_FLAG]):
            return super().invoke(ctx)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, _ = COMMANDS[cmd_name]
        command: click.Command = getattr(import_module(f"chinrest.commands.{module}"), cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, what) for name, (_, what) in COMMANDS.items()])


@click.group(cls=Commands)
@click.version_option(chinrest.__version__, prog_name="chinrest")
def main() -> None:
    """Chinrest: the offline chairside companion of the retinal photographer.

    Not a medical device: watch from the side; local rules and the instrument's handbook come first.
    """


if __name__ == "__main__":
    main()
