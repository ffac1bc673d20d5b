"""What a command says when it stops: one sentence and an exit code, never a traceback.

Decides: the words and the exit code for each way of stopping. A fault of the program itself is named by its kind and
place only: its text might hold what somebody typed. COUNTERFOIL_DEBUG=1 adds the traceback.
"""

import dataclasses
import json
import os
import sys
import traceback
from pathlib import Path
from typing import Any, NoReturn

import click

from ledger.cli.options import Asked
from ledger.errors import LedgerError

_HOUSE = Path(__file__).resolve().parents[2]


def stop(fault: Exception, asked: Asked) -> NoReturn:
    """Says why the command stops and ends it with the exit code that design gives such a fault."""
    if isinstance(fault, LedgerError):
        says, code = one_line(str(fault)), fault.exit_code
        document = {"kind": type(fault).__name__, "says": says, "exit_code": code, **members(fault)}
    else:
        says, code = _own_fault(fault), 1
        document = {"kind": "ProgramFault", "says": says, "exit_code": code}
        if os.environ.get("COUNTERFOIL_DEBUG") == "1":
            traceback.print_exception(fault, file=sys.stderr)
    if asked.json:
        click.echo(json.dumps({"error": document}, ensure_ascii=False, indent=2))
    else:
        click.echo(says, err=True)
    raise SystemExit(code)


def stop_usage(fault: click.UsageError) -> NoReturn:
    """Says as JSON that a command was called wrongly."""
    document = {"kind": "UsageError", "says": one_line(fault.format_message()), "exit_code": fault.exit_code}
    click.echo(json.dumps({"error": document}, ensure_ascii=False, indent=2))
    raise SystemExit(fault.exit_code)


def one_line(text: str) -> str:
    """A text without line ends, so that a sentence stays one line."""
    return " ".join(text.split())


def members(fault: LedgerError) -> dict[str, Any]:
    """The named fields of an error that JSON has values for: texts, whole numbers and lists of texts."""
    found: dict[str, Any] = {}
    if not dataclasses.is_dataclass(fault):
        return found
    for member in dataclasses.fields(fault):
        value = getattr(fault, member.name)
        if isinstance(value, str | int | Path):
            found[member.name] = value if isinstance(value, int) else str(value)
        elif isinstance(value, bytes):
            found[member.name] = value.hex()
        elif isinstance(value, tuple) and member.repr:
            found[member.name] = [str(one) for one in value]
    return found


def _own_fault(fault: Exception) -> str:
    place = "an unknown place"
    for frame in traceback.extract_tb(fault.__traceback__):
        if Path(frame.filename).is_relative_to(_HOUSE):
            place = f"{Path(frame.filename).relative_to(_HOUSE).as_posix()}, line {frame.lineno}"
    return (
        f"This is a fault of the program ({type(fault).__name__} at {place}): report it, and run the command again"
        " with COUNTERFOIL_DEBUG=1 to see more."
    )
