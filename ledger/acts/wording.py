"""How values of the record read on a paper: plain words, with units, and "not known" with its reason.

>>> said({"currency": "USD", "minor": 18000}), said(True), said({"not_known": "worn away"})
('USD 180.00', 'yes', 'not known: worn away')
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from ledger.law.duties import Duties
from ledger.law.facts import FACTS
from ledger.law.holds import Leave
from ledger.measures import Money, grams, thousandths
from ledger.slip.document import Weighing
from reports import goods
from reports.page import moment

NOT_RECORDED = "not recorded"


def said(value: Any) -> str:
    """A value in words; an empty list is an answer."""
    match value:
        case None | "":
            return NOT_RECORDED
        case bool():
            return "yes" if value else "no"
        case {"not_known": reason}:
            return f"not known: {reason}"
        case {"currency": str(currency), "minor": int(minor)}:
            return str(Money(currency, minor))
        case {"value": str(figure), "unit": str(unit)}:
            return f"{figure} {unit}"
        case {"text": str(text)}:
            where = value.get("where")
            return f"{text} ({where})" if where else text
        case Mapping():
            return ", ".join(said(inner) for inner in value.values() if inner not in (None, "", [], {}))
        case list() | tuple():
            return "; ".join(said(inner) for inner in value) if value else "none"
        case _:
            return str(value)


def weight(weighing: Weighing | None) -> str:
    """A weighing as the scale showed it, with grams beside it where the scale spoke another unit."""
    if weighing is None:
        return "not weighed"
    shown = f"{weighing.weight.text} {weighing.weight.unit}"
    return shown if weighing.weight.unit == "g" else f"{shown} ({grams(weighing.weight.mg)} g)"


def leaves(leave: Leave, orders: int = 0) -> str:
    """From when goods may leave, both readings where they differ."""
    if orders:
        return "held by an authority's order"
    if leave.waiting_for is not None:
        return f"no date yet: waiting for {leave.waiting_for}"
    if leave.cautious is None or leave.plain is None:
        return "no hold"
    if leave.plain == leave.cautious:
        return moment(leave.plain)
    return f"{moment(leave.cautious)} (cautious), {moment(leave.plain)} (plain)"


def answered(duties: Duties, facts: Mapping[str, Any], asked: tuple[str, ...], about: str) -> tuple[goods.Field, ...]:
    """The fields that rule files ask about the seller, the slip or one item, in their order, with what was answered.

    asked: names of facts in the order of a report's rule; empty: all that the layers ask, in their order.
    about: "seller", "slip" or "item/<n>".
    """
    fields = []
    kind = about.partition("/")[0]
    by_name = {field.fact: field for field in duties.asks}
    order = asked or tuple(by_name)
    for name in order:
        field = by_name.get(name)
        if name.partition(".")[0] != kind:
            continue
        label = field.label if field else FACTS[name].says
        value = found(facts, name, about)
        source = "; ".join(field.sources) if field else ""
        fields.append(goods.Field(label, value, required=bool(field and field.need == "must"), source=source))
    return tuple(fields)


def found(facts: Mapping[str, Any], name: str, about: str) -> str | None:
    """What the facts answer to one name, in words; None where nothing was said."""
    path = FACTS[name].path[1:]
    subject: Any = facts.get("seller" if about == "seller" else "slip", {})
    if about.startswith("item/"):
        line = int(about.removeprefix("item/"))
        subject = next((item for item in facts["items"] if item["line"] == line), {})
    value = _at(subject, path)
    return None if value is None else said(value)


def _at(value: Any, path: Sequence[str]) -> Any:
    if not path:
        return value
    if isinstance(value, list):
        inner = [_at(each, path) for each in value]
        kept = [each for each in inner if each is not None]
        return kept or None
    if not isinstance(value, Mapping):
        return None
    if "not_known" in value:
        return value
    return _at(value.get("documents" if path[0] == "document" else path[0]), path[1:])


def interval(recorded: Mapping[str, Any] | None) -> str:
    """The fineness interval of an assessment's record, per thousand."""
    seen = (recorded or {}).get("seen")
    if not seen:
        return "not shown by the tests"
    low, high = thousandths(seen["low_ppm"]), thousandths(seen["high_ppm"])
    return f"{recorded['metal']} {low} to {high} per thousand where tested" if recorded else ""


def at(moment_: datetime) -> str:
    """A moment as papers print it."""
    return moment(moment_)
