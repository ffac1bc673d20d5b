"""A group of commands that imports a command only when it is called.

Decides: how names, one-line helps and modules of commands are written down, so that `--help` of the program or of a
group costs no import but this one. Leaves to the modules what a command does.

>>> group = LazyGroup("law", "Rule files.", {"check": Called("ledger.cli.laws:check", "Look for faults.")})
>>> group.list_commands(click.Context(group))
['check']
"""

from __future__ import annotations

import click

# Not a dataclass: `dataclasses` would cost a third of what `--help` may take.


class Called:
    """Where a command lives, "module:name", and its help in one line."""

    def __init__(self, place: str, says: str) -> None:
        self.place = place
        self.says = says

    def load(self) -> click.Command:
        """The command, imported now."""
        from importlib import import_module

        module, _, name = self.place.partition(":")
        command: click.Command = getattr(import_module(module), name)
        return command


class LazyGroup(click.Group):
    """Commands by name; those that are `Called` are imported when asked for."""

    def __init__(self, name: str, says: str, commands: dict[str, Called | LazyGroup], *, epilog: str = "") -> None:
        super().__init__(name, help=says, no_args_is_help=True, epilog=epilog or None)
        self.table = commands

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which they were written down: that of a day's work."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, imported now."""
        found = self.table.get(cmd_name)
        return found.load() if isinstance(found, Called) else found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Names and one-line helps, from the table alone."""
        rows = [
            (name, found.says if isinstance(found, Called) else found.get_short_help_str(100))
            for name, found in self.table.items()
        ]
        with formatter.section("Commands"):
            formatter.write_dl(rows)
