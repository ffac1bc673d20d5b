"""Writes a slip back as the plain document that `reading` reads.

Decides: nothing. Reading what it writes gives the same slip again, which is how drafts are kept.

>>> decimal_text(Money("USD", 18_005)), decimal_text(Money("JPY", 18_005))
('180.05', '18005')
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from ledger import measures, moments
from ledger.measures import Money, Weight
from ledger.slip import document as d


def as_document(value: d.Slip) -> dict[str, Any]:
    """The plain document of a slip; reading it gives the same slip again."""
    members = dict(_members(value))
    members["occurred_at"] = members.pop("occurred_text")
    return members


def plain(value: Any) -> Any:
    """One value as the document writes it; an object for every value with members."""
    match value:
        case d.NotKnown(reason):
            return {"not_known": reason}
        case Money():
            return {"amount": decimal_text(value), "currency": value.currency}
        case Weight():
            return {"value": value.text, "unit": value.unit}
        case d.Size():
            return {name: inner for name, inner in _members(value) if name != "um"}
        case d.Stone(carats=Weight() as carats):
            return {**dict(_members(value)), "carats": carats.text}
        case d.Weighing():
            members = dict(_members(value))
            return {**members.pop("weight"), **members}
        case d.Offer() | d.Payout() | d.Trade():
            members = dict(_members(value))
            return {**members.pop("money"), **members, **_cash_part(value)}
        case datetime(tzinfo=ZoneInfo()):
            return moments.local_text(value)
        case date():
            return value.isoformat()
        case tuple():
            return [plain(inner) for inner in value]
        case _ if is_dataclass(value):
            return dict(_members(value))
        case _:
            return value


def _cash_part(value: d.Offer | d.Payout | d.Trade) -> dict[str, str]:
    """A payout's part in cash is a figure in the payout's own currency."""
    cash = getattr(value, "cash_part", None)
    return {} if cash is None else {"cash_part": decimal_text(cash)}


def _members(value: Any) -> Iterator[tuple[str, Any]]:
    for field in fields(value):
        if (inner := getattr(value, field.name)) is not None:
            yield field.name, plain(inner)


def decimal_text(money: Money) -> str:
    """The decimal text of an amount, with all decimals of its currency: '180.00'."""
    digits = measures.minor_digits(money.currency)
    whole, part = divmod(money.minor, 10**digits)
    return f"{whole}.{part:0{digits}}" if digits else str(whole)
