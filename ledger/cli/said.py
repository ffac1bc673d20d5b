"""How commands speak: aligned tables, one JSON document, a sign of life after a second.

Decides: widths, alignment, what stands for nothing. Leaves to the commands what is said. Everything that answers a
question goes to standard output; signs of life and errors go to standard error.

>>> print(table(("slip", "amount"), [(7, "USD 12.00"), (12, "USD 1.50")], right=("slip", "amount")))
slip     amount
   7  USD 12.00
  12   USD 1.50
"""

import json
import sys
import threading
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import Any

import click

from ledger.cli.options import Asked

NOTHING = "-"
_PATIENCE_SECONDS = 1.0


def answer(asked: Asked, document: Any, text: str | Iterable[str]) -> None:
    """The answer of a command: the document where JSON was asked for, else the text."""
    if asked.json:
        click.echo(json.dumps(document, ensure_ascii=False, indent=2, default=_plain))
    else:
        click.echo(text if isinstance(text, str) else "\n".join(text))


def _plain(value: object) -> Any:
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, bytes):
        return value.hex()
    return str(value)


def moment(value: datetime | None) -> str:
    """A moment as people read it: day, clock and zone."""
    if value is None:
        return NOTHING
    zone = getattr(value.tzinfo, "key", None) or value.strftime("%z")
    return f"{value:%a} {value.day} {value:%b %Y %H:%M} {zone}"


def count(number: int, noun: str, nouns: str | None = None) -> str:
    """So many of something."""
    return f"{number} {noun}" if number == 1 else f"{number} {nouns or noun + 's'}"


def table(heads: Sequence[str], rows: Iterable[Sequence[object]], *, right: Sequence[str] = ()) -> str:
    """Rows under their heads, columns two spaces apart, as wide as their text.

    right: heads whose columns are aligned to the right (numbers).
    """
    cells = [list(heads), *([_cell(value) for value in row] for row in rows)]
    widths = [max(_width(row[column]) for row in cells) for column in range(len(heads))]
    to_right = {column for column, head in enumerate(heads) if head in right}
    return "\n".join(_line(row, widths, to_right) for row in cells)


def _cell(value: object) -> str:
    return NOTHING if value is None or value == "" else str(value)


def _line(row: Sequence[str], widths: Sequence[int], right: set[int]) -> str:
    padded = []
    for column, (text, width) in enumerate(zip(row, widths, strict=True)):
        space = " " * (width - _width(text))
        padded.append(space + text if column in right else text + space)
    return "  ".join(padded).rstrip()


def _width(text: str) -> int:
    """Columns that a text takes on a terminal: wide characters two, marks that join another none."""
    return sum(
        0 if unicodedata.combining(one) else 2 if unicodedata.east_asian_width(one) in "WF" else 1 for one in text
    )


def listed(head: str, lines: Iterable[str]) -> list[str]:
    """A heading with its lines indented below it; nothing where there are no lines."""
    found = [f"  {line}" for line in lines]
    return [head, *found] if found else []


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """A moving sign on a terminal while something takes longer than a second; nothing anywhere else."""
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    sign = threading.Thread(target=_turn, args=(what, done), daemon=True)
    sign.start()
    try:
        yield
    finally:
        done.set()
        sign.join()


def _turn(what: str, done: threading.Event) -> None:
    if done.wait(_PATIENCE_SECONDS):
        return
    from rich.console import Console

    with Console(stderr=True).status(what):
        done.wait()
