"""Reads a slip document, JSON or TOML, into a `Slip`: once, at the door.

Decides: whether the bytes are a slip at all. Text is UTF-8, brought to NFC, without control characters; a member
stands once; numbers are whole, and weights and money are decimal text; days and moments exist. The first fault is
raised as one sentence with its field; `faults` lists them all.
Leaves to others: contradictions between good values (`completeness`), the pictures themselves (the face reads the
files and the vault looks into them), what the law asks (`ledger.law`).

>>> read(b'{"format": "slip/0", "tray": 7}', toml=False)
Traceback (most recent call last):
ledger.errors.InputError: tray: a number was given; wanted is the tray's number and the articles counted on it: \
each piece of a set, a scrap lot as one.
"""

import json
import tomllib
import unicodedata
from datetime import date, datetime, time
from typing import Any

from ledger.errors import InputError, Said
from ledger.slip import building
from ledger.slip.checking import PointNumber, compile_schema
from ledger.slip.document import Slip
from ledger.slip.schema import SCHEMA

MAX_BYTES = 2_000_000
"""A hundred items with all their evidence are a tenth of this."""

_MAX_DEPTH = 40
_ONCE = "each member once in its object"
_check = compile_schema(SCHEMA)


class _Doubled:
    """Stands where an object has a member twice, until its place in the document is known."""

    def __init__(self, name: str) -> None:
        tidy = name.isidentifier() and len(name) <= 40
        self.given = Said(f"the member '{name}' twice" if tidy else "a member twice")


def read(data: bytes, *, toml: bool) -> Slip:
    """The slip that a document says.

    data: the file's bytes; toml: whether they are TOML, else JSON.
    Raises: InputError with the first fault: its field, what was given, what is wanted. Lists count from one.
    """
    return slip_of(_decoded(data, toml))


def faults(data: bytes, *, toml: bool) -> tuple[InputError, ...]:
    """Every fault of a document; of values that look right, the first of each item, party and payout."""
    try:
        return faults_of(_decoded(data, toml))
    except InputError as fault:
        return (fault,)


def slip_of(document: object) -> Slip:
    """The slip of a document that is decoded already: plain dicts, lists, texts, whole numbers.

    Raises: InputError with the first fault.
    """
    tidy = _tidy(document)
    if found := _check(tidy):
        raise found[0]
    return building.slip(tidy)


def faults_of(document: object) -> tuple[InputError, ...]:
    """Every fault of a document that is decoded already, as `faults` tells them."""
    try:
        tidy = _tidy(document)
    except InputError as fault:
        return (fault,)
    return tuple(_check(tidy)) or building.faults(tidy)


def _decoded(data: bytes, toml: bool) -> dict[str, Any]:
    what = "TOML" if toml else "JSON"
    if len(data) > MAX_BYTES:
        raise InputError(
            field="slip", given=Said(f"{len(data):,} bytes"), wanted=f"at most {MAX_BYTES:,} bytes of {what}"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            field="slip", given=Said(f"a byte at {error.start:,} that is not UTF-8"), wanted="a file saved as UTF-8"
        ) from None
    try:
        document = _from_toml(text) if toml else _from_json(text)
    except RecursionError:
        raise _too_deep() from None
    if isinstance(document, _Doubled):
        raise InputError(field="slip", given=document.given, wanted=_ONCE)
    if not isinstance(document, dict):
        given = Said("JSON without an object")
        raise InputError(field="slip", given=given, wanted="one object, from { to }")
    return document


def _from_json(text: str) -> Any:
    try:
        return json.loads(
            text, object_pairs_hook=_once_each, parse_float=PointNumber, parse_constant=PointNumber, parse_int=_whole
        )
    except json.JSONDecodeError as error:
        given = Said(f"no JSON at line {error.lineno}, column {error.colno}")
        raise InputError(field="slip", given=given, wanted="JSON throughout, without comments") from None


def _from_toml(text: str) -> Any:
    try:
        return tomllib.loads(text, parse_float=PointNumber)
    except tomllib.TOMLDecodeError as error:
        where = _place(str(error))
        what = next((said for words, said in _TOML_FAULTS.items() if str(error).startswith(words)), "no TOML")
        given = Said(f"{what} {where}")
        raise InputError(field="slip", given=given, wanted="TOML throughout, each member once") from None
    except ValueError:  # a whole number of more digits than Python turns into one
        raise InputError(
            field="slip",
            given=Said("a number of thousands of digits"),
            wanted="TOML with whole numbers of at most 20 digits",
        ) from None


_TOML_FAULTS = {
    "Cannot overwrite": "a member that stands twice",
    "Cannot declare": "a table that stands twice",
    "Cannot mutate": "a member that stands twice",
    "Invalid date": "a day or moment that does not exist",
}


def _place(message: str) -> str:
    """The line that tomllib's message ends with; its words may repeat what was typed, so only the place is kept."""
    return message.rpartition("(")[2].rstrip(")")


def _whole(digits: str) -> int | PointNumber:
    return int(digits) if len(digits) <= 20 else PointNumber(digits)


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any] | _Doubled:
    members = dict(pairs)
    if len(members) == len(pairs):
        return members
    names = [name for name, _ in pairs]
    return _Doubled(next(name for name in names if names.count(name) > 1))


def _too_deep() -> InputError:
    return InputError(
        field="slip",
        given=Said("lists or objects within each other many times"),
        wanted=f"at most {_MAX_DEPTH} levels",
    )


def _tidy(document: object) -> Any:
    """The document with every text in NFC, TOML's own days and moments as text; refuses what no text may hold."""
    if isinstance(document, dict):
        document = {**document, **_one_line(document)}
    return _tidied(document, 0)


def _one_line(document: dict[str, Any]) -> dict[str, Any]:
    """Notes and declaration, whose paragraphs may be broken where they are typed; the record holds one line."""
    lines: dict[str, Any] = {}
    if isinstance(notes := document.get("notes"), str):
        lines["notes"] = " ".join(notes.split())
    declaration = document.get("declaration")
    if isinstance(declaration, dict) and isinstance(text := declaration.get("text"), str):
        lines["declaration"] = {**declaration, "text": " ".join(text.split())}
    return lines


def _tidied(value: Any, depth: int) -> Any:
    if isinstance(value, str):
        return value if value.isascii() and value.isprintable() else _tidy_text(value)
    if depth > _MAX_DEPTH:
        raise _too_deep()
    if isinstance(value, dict):
        return {name: _placed(name, inner, depth) for name, inner in value.items()}
    if isinstance(value, list):
        return [_placed(number, inner, depth) for number, inner in enumerate(value, 1)]
    if isinstance(value, date | datetime | time):  # TOML writes these without quotation marks
        return value.isoformat()
    if isinstance(value, _Doubled):
        raise InputError(field="", given=value.given, wanted=_ONCE)
    return value


def _placed(step: str | int, value: Any, depth: int) -> Any:
    """A tidied member. Its place is put before the field of a fault only when there is one, which is seldom."""
    try:
        return _tidied(value, depth + 1)
    except InputError as fault:
        if fault.field != "slip":
            here = f"[{step}]" if isinstance(step, int) else step
            fault.field = here + ("." if fault.field and fault.field[0] != "[" else "") + fault.field
        raise


_OVERRIDES = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _tidy_text(text: str) -> str:
    text = unicodedata.normalize("NFC", text)
    for character in text:
        if unicodedata.category(character) in ("Cc", "Cs") or character in _OVERRIDES:
            given = Said(f"a text with the character U+{ord(character):04X}")
            wanted = "text without line breaks, control characters and writing-direction overrides"
            raise InputError(field="", given=given, wanted=wanted)
    return text
