"""What every command may be told before or after its name: the book, JSON, the pass-phrase's file, who acts.

Decides: that a value given after the command's name wins over one given before it, and that both win over
COUNTERFOIL_BOOK. Leaves to `opened` what is done with them.

    @click.command()
    @for_a_book
    @click.pass_obj
    def seal(asked: Asked) -> None: ...
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


class Asked:
    """What was asked of a command beside its own arguments. One for each run of the program."""

    def __init__(self) -> None:
        self.book: str | None = None
        self.json = False
        self.unlock_with: str | None = None
        self.staff: str | None = None
        self.pass_phrase: str | None = None
        """read from standard input before anything else is read from there"""


def _keep(ctx: click.Context, param: click.Parameter, value: Any) -> None:
    if value and param.name:
        setattr(ctx.find_root().ensure_object(Asked), param.name, value)


_TOLD: dict[str, tuple[tuple[str, ...], dict[str, Any]]] = {
    "book": (("--book",), {"metavar": "DIR", "help": "Folder of the book; else COUNTERFOIL_BOOK names it."}),
    "unlock_with": (
        ("--unlock-with",),
        {
            "metavar": "FILE",
            "is_eager": True,
            "help": "File with the pass-phrase or the paper key on its first line, mode 0600; - is standard input.",
        },
    ),
    "staff": (
        ("--as", "staff"),
        {
            "metavar": "STAFF",
            "help": "Who does this; else the one whose pass-phrase opened the vault, or `paper` for the paper key.",
        },
    ),
    "json": (("--json",), {"is_flag": True, "help": "Print one JSON document and nothing else."}),
}


def _told(name: str) -> Callable[[Command], Command]:
    declared, settings = _TOLD[name]
    return click.option(*declared, **settings, callback=_keep, expose_value=False)


def as_json(command: Command) -> Command:
    """`--json`, for a command that needs no book."""
    return _told("json")(command)


def unlocking(command: Command) -> Command:
    """`--unlock-with FILE` and `--as STAFF`, for a command that names its book's folder itself."""
    return _told("unlock_with")(_told("staff")(command))


def for_a_book(command: Command) -> Command:
    """All four, for a command that works on a book."""
    for name in reversed(_TOLD):
        command = _told(name)(command)
    return command


def on_the_group() -> list[click.Parameter]:
    """All four before the command's name, where the environment may name the book too."""
    from_environment: dict[str, dict[str, Any]] = {"book": {"envvar": "COUNTERFOIL_BOOK"}}
    return [
        click.Option(declared, **settings, **from_environment.get(name, {}), callback=_keep, expose_value=False)
        for name, (declared, settings) in _TOLD.items()
    ]
