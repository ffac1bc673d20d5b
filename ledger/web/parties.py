"""The people of a slip as the page shows them: what was read, what was typed, what could not be taken.

Decides: what stands beside each field, and which posted fields are never kept. Leaves to `slip.filling` where a reading
goes, to `acts.returning` who was here before, to the pages above what a button does.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from ledger.acts import returning
from ledger.errors import LedgerError
from ledger.identity import ages, kinds, names
from ledger.slip import editing, filling, schema
from ledger.web.visits import Visit

if TYPE_CHECKING:
    from ledger.acts.drafts import Kept

Fields = Mapping[str, str]
Choices = tuple[tuple[str, str], ...]

_NEVER_KEPT: Final = ("token", "version", "draft", "do")
_SENSITIVE: Final = (".number",)
_LABELS: Final = {
    "name.family": "family name",
    "name.given": "given name",
    "name.middle": "middle name",
    "name.suffix": "suffix",
    "birth_date": "birth date",
    "address.lines.0": "street",
    "address.lines.1": "second line of the address",
    "address.city": "city",
    "address.region": "state",
    "address.postcode": "postcode",
    "address.country": "country",
}
CAPTURES: Final[Choices] = (
    ("photo", "the person"),
    ("print", "a print"),
    ("signature", "a signature"),
    ("document-front", "the document's front"),
    ("document-back", "the document's back"),
)
_ROLES: Final = ("seller", "co-seller", "principal", "guardian", "host", "interpreter", "witness")


@dataclass(frozen=True)
class Differs:
    """A field in which something else stands than was read."""

    path: str
    label: str
    way: str
    read: str
    hidden: bool
    """whether what was read is a document's number"""


@dataclass(frozen=True)
class Capture:
    """One picture of a person, or why there is none."""

    path: str
    what: str
    says: str
    file: str
    not_taken: str


@dataclass(frozen=True)
class Document:
    """One document of a person."""

    place: int
    path: str
    read: str
    """how it was read: barcode, lines, or empty"""
    compared: bool
    shown: str
    """its number for an open screen"""


@dataclass(frozen=True)
class Person:
    """One party of the slip."""

    place: int
    path: str
    title: str
    age: str
    said: tuple[str, ...]
    """what the last reading left to be typed or compared, or why there was none"""
    to_compare: tuple[str, ...]
    """labels of the fields that were read and are not compared yet"""
    differs: tuple[Differs, ...]
    documents: tuple[Document, ...]
    captures: tuple[Capture, ...]
    before: tuple[int, ...]
    """slips of the same person, newest first"""


@dataclass(frozen=True)
class People:
    """All that the template shows."""

    persons: tuple[Person, ...]
    roles: tuple[str, ...]
    kinds: Choices
    party_kinds: tuple[str, ...]
    captures: Choices


def kept_fields(fields: Fields) -> dict[str, str]:
    """Posted fields without those that are never kept: scanner text, typed lines, buttons.

    >>> kept_fields({"unkept.scan.0": "@ANSI", "token": "x", "tray.number": "4"})
    {'tray.number': '4'}
    """
    return {name: value for name, value in fields.items() if not name.startswith("unkept.") and name not in _NEVER_KEPT}


def view(visit: Visit, kept: "Kept", fields: Fields, faults: Sequence[Mapping[str, str]]) -> People:
    """The people of a draft. faults stand at their fields; they are told by the template."""
    return People(
        persons=tuple(_person(visit, fields, place) for place in range(shown(fields))),
        roles=_ROLES,
        kinds=(("", ""), *((kind.name, kind.says) for kind in kinds.KINDS.values())),
        party_kinds=tuple(schema.PARTY["properties"]["kind"]["enum"]),
        captures=CAPTURES,
    )


def shown(fields: Fields) -> int:
    """How many people the page shows."""
    asked = fields.get("ui.parties", "")
    return max(1, editing.size_of(fields, "parties"), int(asked) if asked in {str(n) for n in range(11)} else 0)


def _person(visit: Visit, fields: Fields, place: int) -> Person:
    path = f"parties.{place}"
    compared = fields.get(f"{path}.documents.0.compared") == "yes"
    read = [name for name in _LABELS if filling.read_as(fields, f"{path}.{name}")[0]]
    role = fields.get(f"{path}.role") or ("seller" if place == 0 else "")
    return Person(
        place=place,
        path=path,
        title=role.replace("-", " ").capitalize() or f"Person {place + 1}",
        age=age_said(fields.get(f"{path}.birth_date", ""), visit.now.date()),
        said=tuple(line for line in fields.get(f"ui.said.{place}", "").split("\n") if line),
        to_compare=() if compared else tuple(_LABELS[name] for name in read),
        differs=tuple(_differing(fields, path)),
        documents=tuple(_documents(fields, path)),
        captures=tuple(_captures(fields, path)),
        before=before(visit, fields, place),
    )


def age_said(birth: str, today: date) -> str:
    """The age of somebody in words; empty where no day is given.

    >>> age_said("2008-11-26", date(2026, 11, 25)), age_said("soon", date(2026, 11, 25))
    ('17 years old today', '')
    """
    try:
        return f"{ages.age_on(date.fromisoformat(birth), today)} years old today"
    except (ValueError, LedgerError):
        return ""


def before(visit: Visit, fields: Fields, place: int) -> tuple[int, ...]:
    """Slips of this person, newest first; none while the book is locked."""
    if visit.book.keys is None:
        return ()
    path = f"parties.{place}"
    parts = (fields.get(f"{path}.name.{part}", "") for part in ("given", "middle", "family", "suffix"))
    numbers = [
        fields.get(f"{path}.documents.{n}.number", "") for n in range(editing.size_of(fields, f"{path}.documents"))
    ]
    name = " ".join(part for part in parts if part)
    return tuple(returning.slips_of(visit.book, numbers=numbers, name=name, birth=fields.get(f"{path}.birth_date", "")))


def _differing(fields: Fields, path: str) -> Iterator[Differs]:
    for name in filling.differing(fields):
        if name.startswith(f"{path}."):
            way, read = filling.read_as(fields, name)
            short = name.removeprefix(f"{path}.")
            label = _LABELS.get(short, short.rpartition(".")[2].replace("_", " "))
            yield Differs(name, label, way, read, name.endswith(_SENSITIVE))


def _documents(fields: Fields, path: str) -> Iterator[Document]:
    for place in range(max(1, editing.size_of(fields, f"{path}.documents"))):
        here = f"{path}.documents.{place}"
        number = fields.get(f"{here}.number", "")
        how = fields.get(f"{here}.how_read", "")
        yield Document(
            place,
            here,
            how if how in filling.WAYS else "",
            fields.get(f"{here}.compared") == "yes",
            names.masked(number) if number else "",
        )


def _captures(fields: Fields, path: str) -> Iterator[Capture]:
    says = dict(CAPTURES)
    for place in range(editing.size_of(fields, f"{path}.captures")):
        here = f"{path}.captures.{place}"
        what = fields.get(f"{here}.what", "")
        if what:
            told = says.get(what, what.replace("-", " "))
            yield Capture(here, what, told, fields.get(f"{here}.file", ""), fields.get(f"{here}.not_taken", ""))
