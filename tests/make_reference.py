"""The page that an owner reads to write a rule file: `python -m tests.make_reference` writes it anew.

The words stand in tests/reference/page.md; every table of keys, facts, events and acts is made here from the form that
the program itself reads by, so that page and program cannot drift apart. tests/test_law_reference.py compares the page
with what this makes, and tries its examples.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from ledger.law.case_orders import ORDER as CASE_ORDER
from ledger.law.cases import _ACT as CASE_ACT
from ledger.law.cases import _CASE as CASE
from ledger.law.cases import CASES
from ledger.law.conditions import OPS_OF
from ledger.law.expecting import KEYS
from ledger.law.facts import FACTS
from ledger.law.form import DECLARED, FILE, KINDS
from ledger.law.form_parts import COMMON, CONDITION
from ledger.law.form_times import CALENDAR, DUE, EVENT_NAME, RECIPIENT, SPAN
from ledger.law.periods import PLAIN_EVENTS
from ledger.law.rules import ACTS, BASES, CLASSES, PLACES
from ledger.law.rules_times import MET_BY
from ledger.law.shapes import AnyOf, Either, Key, ListOf, Recursive, Shape, Table, Text, Whole, Word, wanted

ROOT = Path(__file__).parent.parent
TEMPLATE = ROOT / "tests" / "reference" / "page.md"
PAGE = ROOT / "sample_config" / "rules" / "README.md"

ELSEWHERE: Mapping[str, str] = {
    "a condition": "[condition](#conditions)",
    "a length of time": "[length of time](#how-days-are-counted)",
    "a start": "[start](#how-days-are-counted)",
    "a reading": "[reading](#how-days-are-counted)",
    "due": "[deadline](#reports)",
    "act": "act, see below",
    "order": "order, see below",
    "[[case]]": "case, see below",
}
"""tables that are explained in one place and used in many"""

LISTED: Mapping[tuple[str, ...], str] = {
    ACTS: "an [act](#holds)",
    PLACES: "a [place](#holds)",
    BASES: "a [basis](#what-every-rule-has)",
    CLASSES: "a [class](#how-long-data-are-kept)",
}
"""words that have a table of their own"""

EVENTS: Mapping[str, str] = {
    "purchase": "the purchase; for a hold, when it was recorded, if that was later",
    "receipt": "the goods reach the shop; with the purchase, but for parcels",
    "contract": "seller and shop agree; with the purchase, but for parcels",
    "payment": "the seller is paid",
    "last-entry": "the last entry of a bound book",
    "order-notice": "an authority tells of its order",
    "order-written": "an authority's order comes in writing",
}
ACT_WORDS: Mapping[str, str] = {
    "offer": "offer it for sale, show it in the window",
    "sell": "sell it, exchange it, dispose of it",
    "hand-over": "let it out of hand",
    "return": "give it back to the seller",
    "use": "wear or use it",
    "alter": "change its form: repair, cut, take stones out, remount",
    "melt": "melt it",
    "mix": "put it together with other goods",
    "move": "bring it somewhere else",
    "send-out": "send it out, to a repairer or refiner",
    "surrender": "give it to an authority",
}
PLACE_WORDS: Mapping[str, str] = {
    "premises": "the shop itself",
    "municipality": "its town or city",
    "county": "its county",
    "state": "its state",
    "nation": "its country",
    "abroad": "anywhere",
}
CLASS_WORDS: Mapping[str, str] = {
    "seller": "who sold: name, address, documents, description",
    "print": "finger prints",
    "scan": "pictures of the person and of documents",
    "item": "what was bought: description, marks, tests, pictures",
    "money": "prices and how they were paid",
    "law": "the duties, and how they were reached",
    "case": "inquiries and papers of authorities",
    "staff": "who served",
    "draft": "slips that were never recorded",
}


def page() -> str:
    """The whole page."""
    text = TEMPLATE.read_text(encoding="utf-8")
    return re.sub(r"^<!-- (\w+)(?:: ([^>]*?))? -->$", lambda match: _made(match[1], match[2] or ""), text, flags=re.M)


def _made(what: str, name: str) -> str:
    if what == "keys":
        return _keys(tables()[name])
    return _LISTS[what]()


def tables() -> dict[str, Table]:
    """The tables that the page explains, by the name it asks for them with."""
    head = Table(FILE.name, tuple(key for key in FILE.keys if not _holds_tables(key.shape)))
    common = Table("every rule", COMMON)
    kinds = {name: _own(table) for name, table in KINDS.items()}
    shared = {
        "a length of time": SPAN,
        "due": DUE,
        "a start": _named("start", SPAN),
        "a reading": _named("readings", SPAN),
    }
    cases = {"cases": CASES, "case": CASE, "act": CASE_ACT, "an order of a case": CASE_ORDER}
    whole = {
        "file": head,
        "common": common,
        "calendar": CALENDAR,
        "recipient": RECIPIENT,
        "condition": CONDITION.table(),
    }
    return {**whole, **kinds, **DECLARED, **shared, **cases}


def _own(table: Table) -> Table:
    common = {key.name for key in COMMON} | {"basis_of"}
    return Table(table.name, tuple(key for key in table.keys if key.name not in common), table.one_of)


def _named(key: str, table: Table) -> Table:
    found = _inner(next(one for one in table.keys if one.name == key).shape)
    assert found is not None
    return found


def _holds_tables(shape: Shape) -> bool:
    return isinstance(shape, Table) or (isinstance(shape, ListOf) and isinstance(shape.item, Table))


def _inner(shape: Shape) -> Table | None:
    """The table inside a shape, if it holds one."""
    match shape:
        case Table():
            return shape
        case Recursive():
            return shape.table()
        case ListOf():
            return _inner(shape.item)
        case Either():
            return shape.table
        case AnyOf():
            return next((found for one in shape.shapes if (found := _inner(one)) is not None), None)
        case _:
            return None


def _keys(table: Table) -> str:
    """A table of keys, then one for each table inside that is not explained elsewhere."""
    return "\n\n".join(_parts(table, "", set()))


def _parts(table: Table, where: str, seen: set[str]) -> Iterator[str]:
    lines = [f"{where}\n"] if where else []
    lines += ["| key | what you write | what it says |", "| --- | --- | --- |"]
    lines += [
        f"| `{key.name}`{' (needed)' if key.need else ''} | {_value(key.shape)} | {key.says} |" for key in table.keys
    ]
    if table.one_of:
        names = ", ".join(f"`{name}`" for name in table.one_of)
        lines.append(f"\nExactly one of {names} must be there.")
    yield "\n".join(lines)
    for key in table.keys:
        inner = _inner(key.shape)
        if inner is not None and inner.name not in ELSEWHERE and inner.name not in seen:
            seen.add(inner.name)
            yield from _parts(inner, f"In `{key.name}`{', each' if isinstance(key.shape, ListOf) else ''}:", seen)


def _value(shape: Shape) -> str:
    """What to write for a key, short enough for a table."""
    match shape:
        case Text() if shape == EVENT_NAME:
            return "an [event](#how-days-are-counted)"
        case Text() | Whole():
            return _plain(wanted(shape))
        case Word() if shape.options in LISTED:
            return LISTED[shape.options]
        case Word():
            return ", ".join(f'`"{option}"`' for option in shape.options)
        case ListOf():
            most = f", at most {shape.most}" if shape.most < 5_000 else ""
            return f"a list{most}: {_value(shape.item)}"
        case Either():
            return f"{_value(shape.text)}; or {_value(shape.table)}"
        case AnyOf():
            return "; or ".join(map(_value, shape.shapes))
        case Table() | Recursive():
            inner = _inner(shape)
            assert inner is not None
            return ELSEWHERE.get(inner.name, "a table in braces")
        case _:
            return _plain(wanted(shape))


def _plain(words: str) -> str:
    return re.sub(r'"([^"]+)"', r'`"\1"`', words).replace("|", "\\|")


def _rows(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


_TYPE_WORDS: Mapping[str, str] = {
    "text": "words",
    "word": "one of a list of words",
    "flag": "yes or no",
    "whole": "a whole number",
    "count": "a whole number",
    "money": "an amount",
    "fineness": "a fineness",
    "weight": "a weight",
    "day": "a day",
    "clock": "a clock time",
    "list": "a list of words",
    "any": "anything",
}
_COMPARED: Mapping[str, str] = {
    "is": "it is this",
    "is_not": "it is not this",
    "in": "it is one of these",
    "not_in": "it is none of these",
    "at_least": "this or more",
    "above": "more than this",
    "at_most": "this or less",
    "below": "less than this",
    "has": "the list holds this word",
    "empty": "the list is empty, or is not",
    "known": "it is known, or is not",
    "same_as": "it is the same as the fact named here",
    "differs_from": "it is not the same as the fact named here",
}


def _comparisons() -> str:
    rows = []
    for op, says in _COMPARED.items():
        types = [_TYPE_WORDS[name] for name, ops in OPS_OF.items() if op in ops]
        rows.append((f"`{op}`", says, ", ".join(dict.fromkeys(types))))
    assert {op for ops in OPS_OF.values() for op in ops} == set(_COMPARED)
    return _rows(("comparison", "holds if", "of facts that are"), rows)


def _events() -> str:
    assert set(EVENTS) == set(PLAIN_EVENTS)
    rows = [(f"`{name}`", says) for name, says in EVENTS.items()]
    rows += [
        (
            f"`report-{how}:ID`",
            f"the report to the recipient ID is {how}; `all` or `any` instead of ID: all, or any of them",
        )
        for how in MET_BY
    ]
    rows += [
        ("`due:RULE`", "a report or task fell due; `xx-state/RULE` is one of another file"),
        ("`end:RULE`", "another hold or order ended"),
        ("`request:ID`", "an authority asked; ID is that of the report"),
        ("`event:ID`", "an event that the file declares"),
    ]
    return _rows(("event", "happens when"), rows)


def _acts() -> str:
    assert set(ACT_WORDS) == set(ACTS)
    assert set(PLACE_WORDS) == set(PLACES)
    acts = _rows(("act", "is to"), [(f"`{name}`", says) for name, says in ACT_WORDS.items()])
    places = _rows(("place", "is"), [(f"`{name}`", says) for name, says in PLACE_WORDS.items()])
    return f"{acts}\n\n{places}\n\nA move within the place where an article must stay is allowed."


def _classes() -> str:
    assert set(CLASS_WORDS) == set(CLASSES)
    return _rows(("class", "holds"), [(f"`{name}`", says) for name, says in CLASS_WORDS.items()])


def _expectations() -> str:
    return _rows(("key", "what it reads"), [(f"`{name}`", says) for name, says in KEYS.items()])


def _facts() -> str:
    rows = []
    for name, fact in FACTS.items():
        words = f": {', '.join(fact.words)}" if fact.words else ""
        subject, *keys = fact.path
        path = ".".join(fact.path)
        in_a_case = "" if path == name else f"`{'.'.join(keys)}`" if subject == name.split(".")[0] else f"`{path}`"
        rows.append((f"`{name}`", _TYPE_WORDS[fact.type] + words, in_a_case, fact.says))
    return _rows(("fact", "is", "in a case", "says"), rows)


_LISTS: Mapping[str, Callable[[], str]] = {
    "comparisons": _comparisons,
    "events": _events,
    "acts": _acts,
    "classes": _classes,
    "expectations": _expectations,
    "facts": _facts,
}


def keys_of(table: Table, seen: set[int]) -> Iterator[tuple[str, Key]]:
    """Every key of a table and of the tables inside it, with the name of the table it stands in."""
    if id(table) in seen:
        return
    seen.add(id(table))
    for key in table.keys:
        yield table.name, key
        inner = _inner(key.shape)
        if inner is not None and inner.name != "basis_of":
            yield from keys_of(inner, seen)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")
