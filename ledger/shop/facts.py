"""Dated facts about the shop: name, licences, address, agencies, calendar. Papers print those of the slip's day.

Decides: what may be said about the shop, and which of it rule files may ask about; what nobody filled in is not known.
Leaves to `adopted` which facts held on a day, and to the acts which permissions an authority gave.

>>> facts = read(b'from = 2026-01-01\\nname = "A"\\naddress = ["1 B St"]\\nlicence = "1"\\nzone = "UTC"')
>>> on([facts.record()], "2026-05-01").name
'A'
>>> facts.told("2026-05-01", [])
{'permissions': []}
"""

import datetime
import re
import tomllib
import zoneinfo
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ledger import measures, shipped
from ledger.errors import InputError


@dataclass(frozen=True)
class ShopFacts:
    """What holds about the shop from a day on."""

    from_day: str
    name: str
    address: tuple[str, ...]
    licence: str
    """as papers print it"""
    zone: str
    place: Mapping[str, Any] = field(default_factory=dict)
    recipients: Mapping[str, str] = field(default_factory=dict)
    """who receives reports, by the id that rule files use"""
    agencies: Mapping[str, str] = field(default_factory=dict)
    """the shop's own agencies, by the role that rule files name"""
    licences: tuple[Mapping[str, str], ...] | None = None
    """each with its kind, and number, issuer, place, from and until; None where nobody said"""
    calendar: Mapping[str, Any] | None = None
    answers: Mapping[str, Any] = field(default_factory=dict)
    """to the questions that rule files declare about the shop, as they were given"""

    def record(self) -> dict[str, Any]:
        """As the shop entry's `public.facts` holds them."""
        more = {"agencies": self.agencies, "calendar": self.calendar, "answers": self.answers}
        found = {
            "from": self.from_day,
            "name": self.name,
            "address": list(self.address),
            "licence": self.licence,
            "zone": self.zone,
            "place": dict(self.place),
            "recipients": dict(self.recipients),
            **{name: dict(value) for name, value in more.items() if value},
        }
        return found if self.licences is None else {**found, "licences": [dict(one) for one in self.licences]}

    def told(self, day: str, permissions: Sequence[str]) -> dict[str, Any]:
        """What rule files may ask about the shop, by the names of `ledger.law.facts`.

        day: ISO; a licence counts from its first day to its last. permissions: ids of those in force.
        """
        found: dict[str, Any] = {name: value for name, value in self.place.items() if value != ""}
        if self.licences is not None:
            found["licences"] = [one["kind"] for one in self.licences if _holds(one, day)]
        for name in ("agencies", "recipients", "calendar"):
            if value := getattr(self, name):
                found[name] = dict(value)
        if self.answers:
            found["answers"] = as_told(self.answers)
        return {**found, "permissions": list(permissions)}

    def zoneinfo(self) -> zoneinfo.ZoneInfo:
        """The shop's time zone."""
        return zoneinfo.ZoneInfo(self.zone)


def _holds(licence: Mapping[str, str], day: str) -> bool:
    return licence.get("from", "") <= day and day <= licence.get("until", "9999")


def as_told(answers: Mapping[str, Any]) -> dict[str, Any]:
    """Answers in the kinds of value that conditions read: money as record, weights as milligrams."""
    return {name: _as_read(value, name) for name, value in answers.items()}


def _as_read(value: Any, name: str) -> Any:
    match value:
        case {"amount": amount, "currency": currency}:
            return measures.money(currency, amount, f"answers.{name}").record()
        case {"value": figure, "unit": unit}:
            return int(measures.weigh(figure, unit, f"answers.{name}").mg)
        case _:
            return value


PLACE = {
    "state": "text", "county": "text", "municipality": "text", "county_population": "a whole number of people",
    "record_medium": "text, such as 'bound-book', 'cards' or 'electronic'", "reporting_mode": "text",
}  # fmt: skip
"""what rule files may ask of [place], and what each is"""

_MEMBERS = {
    "from", "name", "address", "licence", "zone", "place", "recipients", "agencies", "licences", "calendar", "answers",
}  # fmt: skip
_OF_A_LICENCE = ("kind", "number", "issuer", "place", "from", "until")
_OF_THE_CALENDAR = {"weekend", "closed", "from", "until"}
_DAYS_OF_THE_WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def read(data: bytes) -> ShopFacts:
    """The facts that a TOML file says. Raises: InputError."""
    try:
        document = _days_as_text(tomllib.loads(data.decode()))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise InputError(field="shop facts", given=str(fault), wanted="TOML text in UTF-8") from fault
    _only(document, _MEMBERS, "")
    day_of(document.get("from"), "from")
    place = document.get("place", {})
    _only(_is_table(place, "place"), set(PLACE), "place.")
    return parse(document)


def _days_as_text(value: Any) -> Any:
    """A document with TOML's own days as ISO text."""
    if isinstance(value, dict):
        return {name: _days_as_text(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_days_as_text(inner) for inner in value]
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else value


def _only(table: Mapping[str, Any], members: set[str], where: str) -> None:
    unknown = sorted(set(table) - members)
    if unknown:
        wanted = "one of " + ", ".join(sorted(members))
        raise InputError(field=where + unknown[0], given=unknown[0], wanted=wanted)


def day_of(value: Any, name: str) -> str:
    """The day (ISO) that a value names. Raises: InputError."""
    try:
        if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            return datetime.date.fromisoformat(value).isoformat()
    except ValueError:
        pass
    raise InputError(field=name, given=value, wanted="a date, such as 2026-01-01")


def parse(record: Mapping[str, Any]) -> ShopFacts:
    """The facts in a record. Raises: InputError."""
    address = record.get("address")
    if not isinstance(address, list) or not address or not all(isinstance(line, str) for line in address):
        raise InputError(field="address", given=address, wanted="a list of lines of text")
    texts = {name: record.get(name) for name in ("name", "licence", "zone")}
    for name, text in texts.items():
        if not isinstance(text, str) or not text.strip():
            raise InputError(field=name, given=text, wanted="text")
    try:
        zoneinfo.ZoneInfo(str(texts["zone"]))
    except (zoneinfo.ZoneInfoNotFoundError, ValueError) as fault:
        wanted = "the name of a time zone, such as 'America/Chicago'"
        raise InputError(field="zone", given=texts["zone"], wanted=wanted) from fault
    return ShopFacts(
        from_day=str(record["from"]),
        name=str(texts["name"]),
        address=tuple(address),
        licence=str(texts["licence"]),
        zone=str(texts["zone"]),
        place=_place(record),
        recipients=_table(record, "recipients"),
        agencies=_table(record, "agencies"),
        licences=_licences(record.get("licences")),
        calendar=_calendar(record.get("calendar")),
        answers=answers(record.get("answers", {})),
    )


def _is_table(value: Any, name: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise InputError(field=name, given=value, wanted="a table")
    return value


def _place(record: Mapping[str, Any]) -> dict[str, Any]:
    place = _is_table(record.get("place", {}), "place")
    for name, value in place.items():
        people = name == "county_population"
        good = type(value) is int and value >= 0 if people else isinstance(value, str)
        if not good:
            raise InputError(field=f"place.{name}", given=value, wanted=PLACE.get(name, "text"))
    return dict(place)


def _table(record: Mapping[str, Any], name: str) -> dict[str, str]:
    table = record.get(name, {})
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise InputError(field=name, given=table, wanted="a table of texts")
    return dict(table)


def _licences(given: Any) -> tuple[Mapping[str, str], ...] | None:
    if given is None:
        return None
    if not isinstance(given, list):
        raise InputError(field="licences", given=given, wanted="a list of licences, each with its kind")
    for number, licence in enumerate(given, 1):
        where = f"licences[{number}]."
        _only(_is_table(licence, where.rstrip(".")), set(_OF_A_LICENCE), where)
        for name, value in {"kind": None, **licence}.items():
            if name in ("from", "until"):
                day_of(value, where + name)
            elif not isinstance(value, str) or not value.strip():
                raise InputError(field=where + name, given=value, wanted="text")
    return tuple(dict(licence) for licence in given)


def _calendar(given: Any) -> dict[str, Any] | None:
    """The shop's own calendar: its weekend and closed days, for rules that count by it."""
    if given is None:
        return None
    _only(_is_table(given, "calendar"), _OF_THE_CALENDAR, "calendar.")
    weekend, closed = given.get("weekend", []), given.get("closed", [])
    if not isinstance(weekend, list) or not all(day in _DAYS_OF_THE_WEEK for day in weekend):
        raise InputError(field="calendar.weekend", given=weekend, wanted='a list of days, such as ["sunday"]')
    first, last = (day_of(given.get(name), f"calendar.{name}") for name in ("from", "until"))
    if not isinstance(closed, list):
        raise InputError(field="calendar.closed", given=closed, wanted="a list of days, each with its name")
    for number, one in enumerate(closed, 1):
        where = f"calendar.closed[{number}]"
        _only(_is_table(one, where), {"day", "name"}, f"{where}.")
        if not first <= day_of(one.get("day"), f"{where}.day") <= last:
            raise InputError(field=f"{where}.day", given=one["day"], wanted=f"a day from {first} to {last}")
        if not isinstance(one.get("name"), str) or not one["name"].strip():
            raise InputError(field=f"{where}.name", given=one.get("name"), wanted="text")
    return {"weekend": list(weekend), "closed": [dict(one) for one in closed], "from": first, "until": last}


def answers(given: Any) -> dict[str, Any]:
    """Answers about the shop or an act, by the id of their question. Raises: InputError."""
    for name, value in _is_table(given, "answers").items():
        field_name = f"answers.{name}"
        match value:
            case bool() | str():
                pass
            case int() if abs(value) < 2**53:
                pass
            case list() if all(isinstance(each, str) for each in value):
                pass
            case {"not_known": str()} if len(value) == 1:
                pass
            case {"amount": str(), "currency": str()} | {"value": str(), "unit": str()} if len(value) == 2:
                _as_read(value, name)
            case _:
                wanted = "true, false, a whole number, text, a day, a list of texts, {amount, currency}, {value, unit}"
                raise InputError(field=field_name, given=value, wanted=f"{wanted} or {{not_known}}")
    return dict(given)


def form() -> bytes:
    """The form that `init` leaves in a book's folder, to be filled in."""
    return (shipped.folder("sample_config") / "shop.toml").read_bytes()


def unfilled(facts: ShopFacts) -> list[str]:
    """Which facts that every paper prints still read as the form does."""
    blank = read(form())
    return [name for name in ("name", "address", "licence") if getattr(facts, name) == getattr(blank, name)]


def on(records: Sequence[Mapping[str, Any]], day: str) -> ShopFacts:
    """The facts that held on a day (ISO): those with the newest `from` not after it, the later entry winning.

    Before the first, the first: a paper never goes without the shop's name. Raises: InputError when there are none.
    """
    if not records:
        raise InputError(
            field="shop facts", given="none", wanted="the shop's name and licence; run `counterfoil shop facts`"
        )
    known = [record for record in records if str(record["from"]) <= day]
    if not known:
        return parse(min(records, key=lambda record: str(record["from"])))
    newest = max(str(record["from"]) for record in known)
    return parse([record for record in known if str(record["from"]) == newest][-1])
