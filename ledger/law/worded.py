"""What a rule's table says, in words: lengths of time, deadlines, conditions, lists.

Decides: how each form of value reads in a sentence. Works on the table as it was written, so that a key added to the
form is worded without a line here. Leaves what a rule means to `ledger.law.duties`.

>>> worded({"length": 30, "unit": "days", "start": "receipt"})
'30 days from receipt'
>>> worded([{"fact": "item.price", "below": "5.00"}])
'item.price below 5.00'
"""

from collections.abc import Mapping
from typing import Any

_COUNTING = ("length", "unit", "first_day_counts", "counts", "roll", "calendar", "start")
_DUE = ("within", "next", "same_day", "weekly", "quarterly", "yearly", "at_once", "no_day")
_ROLLS = {
    "next-working-day": "a last day off moved to the next working day",
    "after-sunday-or-holiday": "a last day that is a Sunday or holiday moved on",
}


def terms(table: Mapping[str, Any]) -> dict[str, str]:
    """What each key of a rule's table says, by the key's name in words; a length of time is one of them."""
    found: dict[str, str] = {}
    if "length" in table:
        found["length"] = _span({name: table[name] for name in _COUNTING if name in table and name != "start"})
    for name, value in table.items():
        if name not in _COUNTING or "length" not in table or name == "start":
            found[name.replace("_", " ")] = worded(value)
    return found


def worded(value: Any) -> str:
    """Any value of a rule's table in words."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return _table(value)
    if isinstance(value, list | tuple):
        mark = "; " if any(isinstance(one, Mapping) and "fact" not in one for one in value) else ", "
        return mark.join(map(worded, value))
    return str(value)


def _table(table: Mapping[str, Any]) -> str:
    if set(table) & {"fact", "all", "any", "not"}:
        return _condition(table)
    for choice in ("later_of", "earlier_of"):
        if choice in table:
            return f"the {choice.replace('_of', '')} of {worded(table[choice])}"
    if {"length", "unit"} <= set(table):
        return _joined(_span(table), {name: inner for name, inner in table.items() if name not in _COUNTING})
    shape = next((name for name in _DUE if name in table), "")
    if shape and "reason" not in table:
        rest = {name: inner for name, inner in table.items() if name not in (*_DUE, *_COUNTING, "by")}
        return _joined(_due(shape, table), rest)
    return _joined("", table)


def _joined(first: str, rest: Mapping[str, Any]) -> str:
    said = []
    for name, inner in rest.items():
        if name in ("says", "reason", "name"):
            said.append(worded(inner).rstrip("."))
        else:
            said.append(_ROLLS.get(str(inner), f"{name.replace('_', ' ')} {worded(inner)}"))
    return ", ".join([*([first] if first else []), *said])


def _condition(table: Mapping[str, Any]) -> str:
    if "not" in table:
        return f"not {_condition(table['not'])}"
    for join, word in (("all", " and "), ("any", " or ")):
        if join in table:
            return f"({word.join(map(_condition, table[join]))})"
    others = [
        f"{name.replace('_', ' ')} {worded(wanted)}" for name, wanted in table.items() if name not in ("fact", "label")
    ]
    return " ".join([str(table["fact"]), *others])


def _span(table: Mapping[str, Any]) -> str:
    """A length of time."""
    unit = str(table.get("unit", "")).replace("-", " ")
    length = table["length"]
    said = f"{length} {unit if length != 1 else unit.removesuffix('s')}".strip()
    if table.get("counts", "for") == "before":
        said = f"until number {length} of the {unit} begins"
    return said + _how(table)


def _how(table: Mapping[str, Any]) -> str:
    said = f" from {worded(table['start'])}" if "start" in table else ""
    said += ", the first day counted" if table.get("first_day_counts") else ""
    said += f", {_ROLLS.get(table['roll'], table['roll'])}" if table.get("roll", "none") != "none" else ""
    return said + (f", days off of the {table['calendar']}" if "calendar" in table else "")


def _due(shape: str, table: Mapping[str, Any]) -> str:
    """A deadline."""
    by = table.get("by", "")
    hour = "by the end of the day" if by in ("", "24:00") else f"by {'the close' if by == 'close' else by}"
    value = table[shape]
    said = {
        "next": f"{hour} on the next {str(value).replace('-', ' ')}",
        "same_day": f"{hour} of the same day",
        "weekly": f"{hour} on {str(value).capitalize()}",
        "quarterly": f"{hour} on the next of {worded(value)}",
        "yearly": f"{hour} on the next of {worded(value)}",
        "at_once": "at once",
        "no_day": "without a day",
    }
    span = {"length": value, "unit": table.get("unit", "")}
    return (f"within {_span(span)}" if shape == "within" else said[shape]) + _how(table)
