"""What a document says by itself, read for a slip: a scanned barcode, its photograph, or typed lines.

Decides: how each of the three becomes members of a party, what must still be typed and what to compare. Nothing is
kept, neither the scan nor the picture. Leaves to others: which fields of a slip are filled (`slip.filling`), and
whether a person compared them.

    found = scanning.of_scanner(text)
    found.party["name"]["family"]     # 'SAMPLE'
    found.how                         # 'barcode'
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from ledger import photographs
from ledger.errors import InputError, Said
from ledger.identity import licence, wedge, zone
from ledger.identity.licence import Licence

CAUTION = "A document that was read is no proof of who stands there: compare it with the person and the card."
_PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF")
_SEXES = {"M": "male", "F": "female"}


@dataclass(frozen=True)
class ReadOff:
    """What was read off one document."""

    how: str
    """barcode or lines, as a slip's document names it"""
    party: Mapping[str, Any]
    """members of a party as a slip document writes them, with one document"""
    description: Mapping[str, str]
    """what the person looks like: to be kept only where a rule asks for it"""
    to_type: tuple[str, ...]
    """what must be typed from the card, each with why"""
    warnings: tuple[str, ...]
    """what to compare"""


@dataclass(kw_only=True, eq=False)
class NotRead(InputError):
    """A document of which nothing could be read."""

    why: str
    """one or more whole sentences for whoever holds the document"""


def of_scanner(typed: str, *, field: str) -> ReadOff:
    """What a scanner typed. field: names its box in errors. Raises: NotRead when it is no licence's barcode."""
    return _of_card(wedge.read(typed), field)


def of_photograph(picture: bytes, *, field: str) -> ReadOff:
    """A photograph of the barcode. Raises: InputError for what is no picture; NotRead."""
    payload = photographs.find(picture)
    if payload is None:
        wanted = "a photograph of the whole barcode, close, sharp and without a reflection"
        why = "No barcode is found in the picture: take it closer, sharp and without a reflection."
        raise NotRead(field=field, given=Said("a picture in which no barcode is found"), wanted=wanted, why=why)
    return _of_card(licence.read(payload), field)


def of_lines(lines: Sequence[str], *, today: date, field: str) -> ReadOff:
    """The lines at the foot of a passport or card as typed. today: the slip's day, for years of two digits.

    Raises: NotRead that names every check digit which does not hold, with its line.
    """
    found = zone.read(lines)
    if found.faults:
        why = " ".join(found.faults)
        raise NotRead(field=field, given=Said("lines with a slip"), wanted=why.rstrip("."), why=why)
    return _of_zone(found, today)


def of_file(data: bytes, *, today: date, field: str) -> ReadOff:
    """Whichever of the three a file holds. Raises: InputError."""
    if data.startswith(_PICTURES):
        return of_photograph(data, field=field)
    lines = [line for line in data.decode("utf-8", "replace").splitlines() if line.strip()]
    if 2 <= len(lines) <= 3 and zone.read(lines).form:
        return of_lines(lines, today=today, field=field)
    return _of_card(wedge.read(data.decode("latin-1")), field)


def _of_card(card: Licence, field: str) -> ReadOff:
    if card.why_not:
        wanted = f"a scanned licence or the lines of a document's zone ({card.why_not})"
        raise NotRead(field=field, given=Said("something else"), wanted=wanted, why=card.why_not)
    return ReadOff("barcode", card.party, card.description, card.to_type, card.warnings)


def _of_zone(found: zone.Zone, today: date) -> ReadOff:
    birth, expires = found.birth_date(today), found.expires(today)
    document = {"type": found.document_type, "issuer": found.issuer, "number": found.number, "how_read": "lines"}
    party: dict[str, Any] = {"name": {"family": found.family, "given": found.given}}
    if not found.given:
        del party["name"]["given"]
    if birth is not None:
        party["birth_date"] = birth.isoformat()
    if expires is not None:
        document["expires"] = expires.isoformat()
    return ReadOff(
        how="lines",
        party={**party, "documents": [document]},
        description={"sex": _SEXES[found.sex]} if found.sex in _SEXES else {},
        to_type=() if birth is not None else ("birth date: the lines do not give the whole of it",),
        warnings=("The lines give the name in plain capitals and may cut it: write it as it is printed.",),
    )
