"""What a document says by itself: the barcode of a licence, the typed lines of a passport."""

from datetime import date
from typing import Any

import click

from ledger.acts import scanning
from ledger.cli import given, said
from ledger.cli.options import Asked, as_json
from ledger.moments import parse_day


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--today", metavar="DAY", help="The day of the slip, for years of two digits; else today.")
@as_json
@click.pass_obj
def scan(asked: Asked, file: str, today: str | None) -> None:
    """Read a scanned barcode or the typed lines of a document into a slip's party.

    FILE, or - for standard input, holds what a scanner gave of a driver licence or identity card, a photograph of its
    barcode, or the two or three lines at the foot of a passport or card as typed. Nothing is kept. What must be typed
    from the card, and what to compare, stands beside it.
    """
    found = scanning.of_file(given.data(asked, file), today=_day(today), field="FILE")
    document = {
        "party": dict(found.party),
        "description": dict(found.description),
        "to_type": list(found.to_type),
        "warnings": list(found.warnings),
        "caution": scanning.CAUTION,
    }
    text = [
        said.table(("member", "read"), _rows(document["party"])),
        *said.listed("Type from the card", found.to_type),
        *said.listed("Compare", found.warnings),
        scanning.CAUTION,
    ]
    said.answer(asked, document, text)


def _day(today: str | None) -> date:
    return date.today() if today is None else parse_day(today, "--today")


def _rows(party: Any) -> list[tuple[str, str]]:
    rows = [(name, _words(value)) for name, value in party.items() if name != "documents"]
    return [*rows, *((f"document: {name}", str(value)) for name, value in party["documents"][0].items())]


def _words(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(_words(one) for one in value.values())
    return ", ".join(value) if isinstance(value, list) else str(value)
