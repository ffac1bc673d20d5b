"""What the barcode of an American driver licence or identity card says, as far as a slip needs it.

Decides: how the payload of AAMVA's card design standard is read (all versions since 2000), also where a keyboard
scanner changed its control characters; which dates are possible; what is dropped unread. An element is found by its
name; offsets are only compared. A payload that was cut off gives nothing at all, a date that cannot be is left to the
clerk. Leaves to others: finding the code in a picture, what a place asks for. The code is unsigned and easily printed:
what it says proves nothing about who stands there.
Source: AAMVA DL/ID Card Design Standard, annex D (editions 2000, 2013, 2020), the elements of its tables D.3 and D.4;
the edition of 2025 was not read: its versions are read by the rules of version 10, with a warning.

>>> read("hello").why_not
'This is no barcode of a driver licence or identity card.'
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

_HEADER = re.compile(r"@?[\x00-\x20]*(?:ANSI ?|AAMVA)(\d{6})(\d{2})")
_ENTRY = re.compile(r"(DL|ID|EN|Z[A-Z])(\d{4})(\d{4})")
_ELEMENT = re.compile(r"(?:DL|ID|EN)*([DZ][A-Z]{2})(.*)", re.DOTALL)
_LATEST = 10
_NOTHING = ("", "NONE", "UNAVL", "UNAVAIL", "UNK", "UNKNOWN")
_NEEDED = {
    "number": ("DAQ",),
    "birth": ("DBB",),
    "expiry": ("DBA",),
    "name": ("DCS", "DAB", "DAA", "DCT"),
    "street": ("DAG", "DAL"),
    "city": ("DAI", "DAN"),
    "state": ("DAJ", "DAO"),
    "postcode": ("DAK", "DAP"),
}
"""a card always has these; where one is missing the scan was cut off"""
_EYES = {
    "BLK": "black", "BLU": "blue", "BRO": "brown", "GRY": "grey", "GRN": "green", "HAZ": "hazel", "MAR": "maroon",
    "PNK": "pink", "DIC": "two colours", "BL": "blue", "BR": "brown", "GR": "green",
}  # fmt: skip
_HAIR = {
    "BAL": "bald", "BLK": "black", "BLN": "blond", "BRO": "brown", "GRY": "grey", "RED": "red", "SDY": "sandy",
    "WHI": "white", "BR": "brown", "BL": "blond",
}  # fmt: skip
_SEX = {"1": "male", "2": "female", "M": "male", "F": "female"}


@dataclass(frozen=True)
class Licence:
    """What a barcode says. Where `why_not` is set nothing else is to be used."""

    party: Mapping[str, Any] = field(default_factory=dict)
    """name, birth_date, address and one document, as a slip document writes a party"""
    description: Mapping[str, str] = field(default_factory=dict)
    """sex, height, eyes, hair: to be kept only where a rule asks for them"""
    version: int = 0
    warnings: tuple[str, ...] = ()
    to_type: tuple[str, ...] = ()
    """what the clerk must type from the card, each with why"""
    why_not: str = ""


def read(payload: str | bytes) -> Licence:
    """The card that a payload describes.

    payload: as scanned, or as a keyboard scanner typed it. Nothing is raised: what cannot be read says so.
    """
    text = payload.decode("latin-1") if isinstance(payload, bytes) else payload
    header = _HEADER.match(text.lstrip())
    if header is None:
        return Licence(why_not="This is no barcode of a driver licence or identity card.")
    version = int(header[2])
    elements, twice, kind, warnings = _elements(text.lstrip(), header, version)
    missing = [name for name, ids in _NEEDED.items() if not any(one in elements for one in ids)]
    if missing:
        return Licence(version=version, why_not=f"The scan was cut off ({', '.join(missing)} missing): scan again.")
    if version > _LATEST:
        warnings.append(f"The card follows version {version}, which is read by the rules of version {_LATEST}.")
    reader = _Reader(elements, twice, warnings)
    return Licence(
        party=reader.party(kind),
        description=reader.description(),
        version=version,
        warnings=tuple(warnings),
        to_type=tuple(reader.to_type),
    )


def _elements(text: str, header: re.Match[str], version: int) -> tuple[dict[str, str], set[str], str, list[str]]:
    """Elements by name, names that stand twice with two values, the card's kind, and warnings."""
    warnings: list[str] = []
    rest = text[header.end() + (2 if version > 1 else 0) + 2 :]
    entries = []
    while (entry := _ENTRY.match(rest)) is not None:
        entries.append(entry)
        rest = rest[entry.end() :]
    kind = entries[0][1] if entries else "DL"
    as_scanned = text.startswith("@\n\x1e\r")
    if as_scanned and any(text[int(one[2]) : int(one[2]) + 2] != one[1] for one in entries):
        warnings.append(
            "The code's own table of contents points to wrong places; the elements were read by their names."
        )
    if re.match(rf"({kind})\1", rest):
        warnings.append("The code names its kind twice.")
    found: dict[str, str] = {}
    twice: set[str] = set()
    for line in re.split(r"[\x00-\x1f]+", rest):
        element = _ELEMENT.fullmatch(line.strip(" "))
        if element is None or element[1].startswith("Z"):
            continue
        name, value = element[1], element[2].strip()
        if found.get(name, value) != value:
            twice.add(name)
        found.setdefault(name, value)
    return found, twice, kind, warnings


@dataclass
class _Reader:
    elements: Mapping[str, str]
    twice: set[str]
    warnings: list[str]
    to_type: list[str] = field(default_factory=list)

    def party(self, kind: str) -> dict[str, Any]:
        found: dict[str, Any] = {"name": self._name()}
        birth = self._day("DBB", "birth date")
        if birth is not None:
            found["birth_date"] = birth
        found["address"] = self._address()
        document: dict[str, Any] = {
            "type": "identity-card" if kind == "ID" else "driver-licence",
            "issuer": self._first("DAJ", "DAO"),
            "number": self._first("DAQ"),
            "how_read": "barcode",
        }
        for member, name, says in (("issued", "DBD", "day of issue"), ("expires", "DBA", "day of expiry")):
            day = self._day(name, says) if name in self.elements else None
            if day is not None:
                document[member] = day
        if "DAQ" in self.twice:
            self.to_type.append("number of the document: the code gives two")
            document["number"] = {"not_known": "the barcode gives two numbers"}
        return {**found, "documents": [document]}

    def description(self) -> dict[str, str]:
        said = {
            "sex": _SEX.get(self._first("DBC").upper(), ""),
            "height": self._height(),
            "eyes": _EYES.get(self._first("DAY").upper(), ""),
            "hair": _HAIR.get(self._first("DAZ").upper(), ""),
        }
        return {name: value for name, value in said.items() if value}

    def _first(self, *names: str) -> str:
        """The first of these elements that says something."""
        values = (self.elements.get(name, "") for name in names)
        return next((value for value in values if value.upper() not in _NOTHING), "")

    def _name(self) -> dict[str, str]:
        family, given = self._first("DCS", "DAB"), self._first("DAC")
        middle, suffix = self._first("DAD"), self._first("DCU", "DAE")
        whole = self._first("DAA")
        if not family and whole:
            parts = [*re.split(r"[,$@]", whole), "", "", ""]
            family, given, middle, suffix = parts[:4]
        elif not given and self._first("DCT"):
            given, _, middle = self._first("DCT").replace(",", " ").partition(" ")
        cut = [
            says for name, says in (("DDE", "family"), ("DDF", "given"), ("DDG", "middle")) if self._first(name) == "T"
        ]
        if cut:
            self.warnings.append(f"The code cuts the {' and '.join(cut)} name: compare it with the card.")
        told = {"family": family, "given": given, "middle": middle.replace(",", " "), "suffix": suffix}
        return {name: value.strip() for name, value in told.items() if value.strip()}

    def _address(self) -> dict[str, Any]:
        lines = [one for one in (self._first("DAG", "DAL"), self._first("DAH", "DAM")) if one]
        country = {"USA": "US", "CAN": "CA"}.get(self._first("DCG").upper(), "")
        told = {
            "lines": lines,
            "city": self._first("DAI", "DAN"),
            "region": self._first("DAJ", "DAO"),
            "postcode": _postcode(self._first("DAK", "DAP")),
            "country": country,
        }
        return {name: value for name, value in told.items() if value}

    def _height(self) -> str:
        said = self._first("DAU").upper()
        if match := re.fullmatch(r"(\d{2,3}) ?(IN|CM)", said):
            return f"{int(match[1])} {match[2].lower()}"
        if match := re.fullmatch(r"([3-8])[-' ]?(\d{2})\"?", said):
            return f"{int(match[1])} ft {int(match[2])} in"
        return ""

    def _day(self, name: str, says: str) -> str | None:
        """A day as ISO text; None, and a word to the clerk, where it cannot be one."""
        value = self.elements.get(name, "")
        if name in self.twice:
            self.to_type.append(f"{says}: the code gives two")
            return None
        found = day_of(value)
        if found is None:
            self.to_type.append(f"{says}: the code gives {value or 'nothing'}, which is no day")
            return None
        american = 1 <= int(value[:2]) <= 12
        if (self._first("DCG") == "USA" and not american) or (self._first("DCG") == "CAN" and american):
            self.warnings.append(f"The {says} is written as in another country than the code names.")
        return found.isoformat()


def day_of(digits: str) -> date | None:
    """The day that eight digits name, month first or year first; None where they name none.

    The first two tell which: 01 to 12 is a month, 18 to 21 a century.
    """
    if not re.fullmatch(r"\d{8}", digits):
        return None
    month_first = 1 <= int(digits[:2]) <= 12
    year, month, day = (digits[4:], digits[:2], digits[2:4]) if month_first else (digits[:4], digits[4:6], digits[6:])
    if not 1800 <= int(year) <= 2199:
        return None
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def _postcode(said: str) -> str:
    """A postal code without its padding: nine digits with a hyphen, four noughts left out."""
    bare = said.replace(" ", "")
    if re.fullmatch(r"\d{9}", bare):
        return bare[:5] if bare.endswith("0000") else f"{bare[:5]}-{bare[5:]}"
    return said.strip()
