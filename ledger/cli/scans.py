"""What a document says by itself: the barcode of a licence, the typed lines of a passport."""

from datetime import date
from typing import Any

import click

from ledger import photographs
from ledger.cli import given, said
from ledger.cli.options import Asked, as_json
from ledger.errors import InputError, Said
from ledger.identity import licence, zone

_PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF")
_CAUTION = "A document that was read is no proof of who stands there: compare it with the person and the card."


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
    data = given.data(asked, file)
    if data.startswith(_PICTURES):
        data = photographs.find(data) or b""
    lines = [line for line in data.decode("utf-8", "replace").splitlines() if line.strip()]
    typed = zone.read(lines) if 2 <= len(lines) <= 3 else zone.Zone()
    document = _of_zone(typed, _day(today)) if typed.form else _of_barcode(data)
    text = [
        said.table(("member", "read"), _rows(document["party"])),
        *said.listed("Type from the card", document["to_type"]),
        *said.listed("Compare", document["warnings"]),
        _CAUTION,
    ]
    said.answer(asked, {**document, "caution": _CAUTION}, text)


def _day(today: str | None) -> date:
    if today is None:
        return date.today()
    try:
        return date.fromisoformat(today)
    except ValueError:
        raise InputError(field="--today", given=today, wanted="a day such as 2026-11-24") from None


def _of_barcode(data: bytes) -> dict[str, Any]:
    found = licence.read(data)
    if found.why_not:
        wanted = f"a scanned licence or the lines of a document's zone ({found.why_not})"
        raise InputError(field="FILE", given=Said("something else"), wanted=wanted)
    return {
        "party": dict(found.party),
        "description": dict(found.description),
        "to_type": list(found.to_type),
        "warnings": list(found.warnings),
    }


def _of_zone(found: zone.Zone, today: date) -> dict[str, Any]:
    if found.faults:
        raise InputError(field="FILE", given=Said("lines with a slip"), wanted=found.faults[0])
    birth, expires = found.birth_date(today), found.expires(today)
    document = {"type": found.document_type, "issuer": found.issuer, "number": found.number, "how_read": "lines"}
    party: dict[str, Any] = {"name": {"family": found.family, "given": found.given}}
    if birth is not None:
        party["birth_date"] = birth.isoformat()
    if expires is not None:
        document["expires"] = expires.isoformat()
    return {
        "party": {**party, "documents": [document]},
        "description": {"sex": {"M": "male", "F": "female"}[found.sex]} if found.sex in ("M", "F") else {},
        "to_type": [] if birth is not None else ["birth date: the lines do not give the whole of it"],
        "warnings": ["The lines give the name in plain capitals and may cut it: write it as it is printed."],
    }


def _rows(party: dict[str, Any]) -> list[tuple[str, str]]:
    rows = [(name, _words(value)) for name, value in party.items() if name != "documents"]
    return [*rows, *((f"document: {name}", str(value)) for name, value in party["documents"][0].items())]


def _words(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(_words(one) for one in value.values())
    return ", ".join(value) if isinstance(value, list) else str(value)
