"""How far below its mark the law lets an article lie, by the country and the date of its making.

Decides: which laws can govern a mark. What is not known about the making keeps every law that can apply; a country
whose law this table does not hold keeps that of the United States, where the goods are on sale. Leaves to `weighing`
what follows from a metal that is below its mark.

>>> [each.ppm for each in allowances("gold", Made("US", date(1975, 1, 1), date(1975, 12, 31)))]
[20833]
>>> [each.ppm for each in allowances("gold", Made("US", date(1970, 1, 1)))]
[3000, 20833]
>>> Made.read({"country": "US", "from": "1970", "to": "1981-09-30"}).latest
datetime.date(1981, 9, 30)
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from ledger.errors import InputError

STAMPING = "15 USC 295 (National Gold and Silver Stamping Act as amended by Pub. L. 94-450)"
OLD_STAMPING = "15 USC 295 as it stood before Pub. L. 94-450"
SILVER_STAMPING = "15 USC 294 and 296, as 16 CFR 23.6 note 9 (2015) repeats them"
GERMANY = "Feingehaltsgesetz of 16 July 1884 (Germany)"
UK = "Hallmarking Act 1973 (UK), schedules"
CONVENTION = "Convention on the Control and Marking of Articles of Precious Metals, Annex I"
ABROAD = "; it covers what is on sale in the United States, wherever it was made"
"""Added where the law of the country of making is not in this table. Source: 15 USC 294, which names dealers and
importers beside manufacturers."""
PLUMB_FROM = date(1981, 10, 1)
"""From this day articles made in the United States have to be plumb."""
STAMPING_FROM = date(1907, 6, 13)
"""Articles made up to this day come under no federal law on marks: 15 USC 294."""


@dataclass(frozen=True)
class Made:
    """What is known of where and when an article was made; nothing, as a rule."""

    country: str | None = None
    """two capital letters of ISO 3166-1"""
    earliest: date | None = None
    latest: date | None = None

    @staticmethod
    def read(raw: object, field: str = "made") -> "Made":
        """From {"country": "US", "from": "1970", "to": "1981-09-30"}, a year or a day each, none of them needed.

        Raises: InputError for a member that cannot be read, or an end before the start.
        """
        if not isinstance(raw, Mapping) or not raw.keys() <= {"country", "from", "to"}:
            raise InputError(field=field, given=raw, wanted="an object with country, from and to, each where known")
        country = raw.get("country")
        if country is not None and not (isinstance(country, str) and country.isascii() and country.isalpha()):
            raise InputError(field=f"{field}.country", given=country, wanted='two capital letters, such as "US"')
        if country is not None and not (len(country) == 2 and country.isupper()):
            raise InputError(field=f"{field}.country", given=country, wanted='two capital letters, such as "US"')
        earliest, latest = (
            _day(raw.get("from"), "-01-01", f"{field}.from"),
            _day(raw.get("to"), "-12-31", f"{field}.to"),
        )
        if earliest and latest and latest < earliest:
            raise InputError(field=f"{field}.to", given=raw["to"], wanted=f"a year or day not before {raw['from']}")
        return Made(country, earliest, latest)

    def can_be(self, first: date | None, last: date | None) -> bool:
        """Whether the article can have been made between two days, both in; None: open on that side."""
        too_late = last is not None and self.earliest is not None and self.earliest > last
        return not (too_late or (first is not None and self.latest is not None and self.latest < first))


def _day(text: object, rest: str, field: str) -> date | None:
    if text is None:
        return None
    wanted = 'a year or a day, such as "1975" or "1981-09-30"'
    if not isinstance(text, str) or len(text) not in (4, 10):
        raise InputError(field=field, given=text, wanted=wanted)
    try:
        return date.fromisoformat(text + rest if len(text) == 4 else text)
    except ValueError as fault:
        raise InputError(field=field, given=text, wanted=wanted) from fault


@dataclass(frozen=True)
class Allowance:
    """One law's tolerance, parts per million below the mark."""

    law: str
    country: str
    ppm: int
    """metal without solder"""
    solder_ppm: int
    """the whole article melted as one, solder and all"""
    of: str = ""
    """which articles, where the law tells them apart"""
    first: date | None = None
    last: date | None = None
    """articles made from and to these days"""

    def words(self) -> str:
        """The tolerance in words, per thousand, halves of a tenth and less cut off."""
        since = f" from {self.first.isoformat()}" if self.first else ""
        until = f" to {self.last.isoformat()}" if self.last else ""
        of = self.of or ("articles" if since or until else "")
        ends = f", {of}{' made' if since or until else ''}{since}{until}" if of else ""
        below = f"{self.ppm // 100 / 10:g} per thousand below, {self.solder_ppm // 100 / 10:g} with solder"
        return f"{self.country}{ends}: {below if self.ppm else 'nothing below'}"

    def record(self) -> dict[str, Any]:
        """Text and whole numbers; what the law does not tell apart is left out."""
        record: dict[str, Any] = {"law": self.law, "country": self.country}
        record |= {"tolerance_ppm": self.ppm, "tolerance_solder_ppm": self.solder_ppm}
        days = {"from": self.first and self.first.isoformat(), "to": self.last and self.last.isoformat()}
        return record | {name: text for name, text in {"of": self.of, **days}.items() if text}


_BEFORE_PLUMB = date(1981, 9, 30)
_UNSTAMPED = date(1907, 6, 12)
_CASES = "watch cases and flatware"
# Half a karat and one karat are 1/48 and 1/24, rounded down: the law allows no more.
_GOLD_US = (
    Allowance(STAMPING, "US", 3_000, 7_000, first=PLUMB_FROM),
    Allowance(STAMPING, "US", 3_000, 3_000, _CASES, PLUMB_FROM),
    Allowance(OLD_STAMPING, "US", 20_833, 41_666, first=STAMPING_FROM, last=_BEFORE_PLUMB),
    Allowance(OLD_STAMPING, "US", 3_000, 3_000, _CASES, STAMPING_FROM, _BEFORE_PLUMB),
    Allowance("no federal law on marks before 13 June 1907 (15 USC 294)", "US", 0, 0, last=_UNSTAMPED),
)
_SILVER_US = (
    Allowance(SILVER_STAMPING, "US", 4_000, 10_000, first=STAMPING_FROM),
    Allowance("no federal law on marks before 13 June 1907 (15 USC 294)", "US", 0, 0, last=_UNSTAMPED),
)
_JEWELLERY, _WARE = "jewellery", "ware other than jewellery"
LAWS: dict[str, dict[str, tuple[Allowance, ...]]] = {
    "US": {"gold": _GOLD_US, "silver": _SILVER_US},
    "DE": {
        "gold": (
            Allowance(GERMANY, "DE", 10_000, 10_000, _JEWELLERY),
            Allowance(GERMANY, "DE", 5_000, 5_000, _WARE),
        ),
        "silver": (
            Allowance(GERMANY, "DE", 10_000, 10_000, _JEWELLERY),
            Allowance(GERMANY, "DE", 8_000, 8_000, _WARE),
        ),
    },
    "GB": {metal: (Allowance(UK, "GB", 0, 0),) for metal in ("gold", "silver", "platinum", "palladium")},
}
"""Tolerances by country of making and metal. A metal that is not named has no tolerance that this table knows."""
COMMON_CONTROL_MARK = Allowance(CONVENTION, "any country of the Convention", 0, 0)


def allowances(metal: str, made: Made, *, plumb: bool = False, case: bool = False) -> tuple[Allowance, ...]:
    """Every tolerance that can govern a mark of this metal, that of the law in force first; empty: none is known.

    made: what is known of the making. plumb: the mark itself says plumb, so that the half karat of the old law is
    given up. case: the mark covers a watch case or flatware.
    """
    countries = (made.country,) if made.country in LAWS else ("US",) if made.country else tuple(LAWS)
    found = [
        each for country in countries for each in LAWS[country].get(metal, ()) if made.can_be(each.first, each.last)
    ]
    if plumb:
        found = [each for each in found if each.law != OLD_STAMPING]
    if made.country and made.country not in LAWS:
        found = [replace(each, law=each.law + ABROAD) if each.ppm else each for each in found]
    # The law's other class of articles counts only where the mark says that it is one of them.
    return tuple(each for each in found if (each.of == _CASES) == case or each.country != "US")
