"""Dated facts about the shop: name, licence, address, agencies. Papers print those of the slip's day.

>>> facts = read(b'from = 2026-01-01\\nname = "A"\\naddress = ["1 B St"]\\nlicence = "1"\\nzone = "UTC"')
>>> on([facts.record()], "2026-05-01").name
'A'
"""

import datetime
import tomllib
import zoneinfo
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ledger import shipped
from ledger.errors import InputError


@dataclass(frozen=True)
class ShopFacts:
    """What holds about the shop from a day on."""

    from_day: str
    name: str
    address: tuple[str, ...]
    licence: str
    zone: str
    place: Mapping[str, str] = field(default_factory=dict)
    recipients: Mapping[str, str] = field(default_factory=dict)

    def record(self) -> dict[str, Any]:
        """As the shop entry's `public.facts` holds them."""
        return {
            "from": self.from_day,
            "name": self.name,
            "address": list(self.address),
            "licence": self.licence,
            "zone": self.zone,
            "place": dict(self.place),
            "recipients": dict(self.recipients),
        }

    def zoneinfo(self) -> zoneinfo.ZoneInfo:
        """The shop's time zone."""
        return zoneinfo.ZoneInfo(self.zone)


_MEMBERS = {"from", "name", "address", "licence", "zone", "place", "recipients"}


def read(data: bytes) -> ShopFacts:
    """The facts that a TOML file says. Raises: InputError."""
    try:
        document = tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise InputError(field="shop facts", given=str(fault), wanted="TOML text in UTF-8") from fault
    unknown = sorted(set(document) - _MEMBERS)
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(sorted(_MEMBERS)))
    day = document.get("from")
    if not isinstance(day, datetime.date) or isinstance(day, datetime.datetime):
        raise InputError(field="from", given=day, wanted="a date, such as 2026-01-01")
    return parse({**document, "from": day.isoformat()})


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
        place=_table(record, "place"),
        recipients=_table(record, "recipients"),
    )


def _table(record: Mapping[str, Any], name: str) -> dict[str, str]:
    table = record.get(name, {})
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise InputError(field=name, given=table, wanted="a table of texts")
    return dict(table)


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
