"""Names that the rules of one file use, and that the file must declare.

Decides: which key names what (an agency, a rule, an event, a permission), and the fault where there is no such
thing. Works on the tables as they were read, so that one table with a fault does not hide what is missing in the
others. Leaves what other files must declare to `ledger.law.together`.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from ledger.law.form import KINDS
from ledger.law.shapes import Fault, Path


class _Named(NamedTuple):
    """What a file declares, by what it is."""

    ids: Mapping[str, frozenset[str]]
    """ids by the table that declares them"""

    def of(self, *tables: str) -> frozenset[str]:
        """Ids of these tables; of all rules without one."""
        return frozenset().union(*(self.ids.get(name, frozenset()) for name in tables or KINDS))


def faults(document: Mapping[str, Any], wrong: frozenset[Path] = frozenset()) -> list[Fault]:
    """Faults of rules that name something the file does not have.

    document: the file's tables as the standard library reads them. wrong: paths of tables that are already at fault.
    """
    named = _Named({name: _ids(value) for name, value in document.items()})
    found: list[Fault] = []
    for kind in KINDS:
        for number, raw in _tables(document.get(kind)):
            here = (kind, number)
            if here in wrong:
                continue
            found += _names(kind, raw, here, named)
            found += _events(raw, here, named)
            if "calendar" not in document and raw.get("calendar") != "shop" and needs_days_off(raw):
                says = "it counts working days, so the file needs a [calendar] with its days off; write one."
                found.append(Fault(here, says))
    return found + list(_rings(document))


def _rings(document: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults of rules whose time runs from each other, so that it never begins."""
    waits = {
        raw["id"]: frozenset(_awaited(raw))
        for kind in ("hold", "order", "report", "task", "retain", "pay")
        for _, raw in _tables(document.get(kind))
        if isinstance(raw.get("id"), str)
    }
    for kind in KINDS:
        for number, raw in _tables(document.get(kind)):
            name = raw.get("id")
            if isinstance(name, str) and name in _reached(name, waits):
                says = f"the time of '{name}' runs from its own end, straight or by way of others; write another start."
                yield Fault((kind, number, "id"), says)


def _awaited(value: Any, key: str = "") -> Iterator[str]:
    """Ids of the rules of this file from whose due day or end a rule's time runs."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _awaited(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _awaited(inner, key)
    elif isinstance(value, str) and key in ("start", "later_of", "earlier_of"):
        what, _, name = value.partition(":")
        if what in ("due", "end"):
            yield name


def _reached(name: str, waits: Mapping[str, frozenset[str]]) -> set[str]:
    """Rules that one comes to by going from rule to awaited rule, itself only if it comes back."""
    found: set[str] = set()
    left = list(waits.get(name, ()))
    while left:
        one = left.pop()
        if one not in found:
            found.add(one)
            left += waits.get(one, ())
    return found


def _tables(value: Any) -> Iterator[tuple[int, Mapping[str, Any]]]:
    for number, one in enumerate(value if isinstance(value, list) else ()):
        if isinstance(one, dict):
            yield number, one


def _ids(value: Any) -> frozenset[str]:
    return frozenset(one["id"] for _, one in _tables(value) if isinstance(one.get("id"), str))


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _names(kind: str, raw: Mapping[str, Any], here: Path, named: _Named) -> Iterator[Fault]:
    """Faults of the keys that name a recipient, a rule or a permission."""
    if kind == "report" and raw.get("to") not in named.of("recipient"):
        says = f"'{raw.get('to')}' is not declared; write a [[recipient]] with this id and its name."
        yield Fault((*here, "to"), says)
    for key, tables, what in (
        ("asks", ("ask",), "an [[ask]]") if kind == "report" else ("rules", (), "a rule"),
        ("displaces", (), "a rule"),
    ):
        for place, one in enumerate(_listed(raw.get(key))):
            if isinstance(one, str) and one not in named.of(*tables):
                says = f"'{one}' is not the id of {what} of this file; correct it or remove it."
                yield Fault((*here, key, place), says)
    ends = raw.get("before_end")
    if isinstance(ends, dict) and ends.get("of") not in named.of("hold", "order"):
        says = f"'{ends.get('of')}' is not the id of a hold or an order of this file; correct it, or declare it."
        yield Fault((*here, "before_end", "of"), says)
    for place, one in enumerate(_listed(raw.get("allows"))):
        permission = one.get("permission") if isinstance(one, dict) else None
        if permission is not None and permission not in named.of("permission"):
            says = f"'{permission}' is not declared; write a [[permission]] with this id and what it means."
            yield Fault((*here, "allows", place, "permission"), says)


_EVENT_OF = {
    "due": (("report", "task"), "a report or a task"),
    "end": (("hold", "order"), "a hold or an order"),
    "event": (("event",), "an [[event]]"),
}
"""of which tables the id behind an event's colon must be"""


def _events(value: Any, path: Path, named: _Named) -> Iterator[Fault]:
    """Faults of the events that a rule's table, or one inside it, names."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name not in ("when", "unless", "says", "quote", "source", "words"):
                yield from _events(inner, (*path, name), named)
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _events(inner, (*path, number), named)
    elif isinstance(value, str):
        what, _, name = value.partition(":")
        tables, says = _EVENT_OF.get(what, ((), ""))
        if tables and _is_event_key(path) and "/" not in name and name not in named.of(*tables):
            declared = f"'{name}' is not the id of {says} of this file; correct it, or declare it."
            yield Fault(path, declared)


def _is_event_key(path: Path) -> bool:
    keys = [step for step in path if isinstance(step, str)]
    return keys[-1] in ("start", "later_of", "earlier_of", "met_by")


def needs_days_off(raw: Any) -> bool:
    """Whether a rule's table, or one inside it, counts working days or rolls over days off."""
    if isinstance(raw, dict):
        if raw.get("next") == "working-day" or raw.get("unit") == "working-days" or raw.get("roll", "none") != "none":
            return True
        return any(needs_days_off(inner) for inner in raw.values())
    return isinstance(raw, list) and any(needs_days_off(inner) for inner in raw)
