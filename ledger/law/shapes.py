"""Shapes of a rule file's tables, and what is wrong with a value that does not have its shape.

Decides: how a table is described (`Key`, `Table` ...), how a value is held against it, and the words of each
fault with what to write instead. `ledger.law.form` says which tables there are; `ledger.law.schema` turns the
same descriptions into a JSON Schema, so that the two cannot drift apart.

>>> faults: list[Fault] = []
>>> check({"lenght": 30}, Table("[[hold]]", (Key("length", Whole(1, 99), "days", need=True),)), (), faults)
>>> [fault.says for fault in faults]
["'lenght' is not a key of [[hold]]; write 'length' or remove it."]
"""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

Path = tuple[str | int, ...]


class Fault(NamedTuple):
    """Something wrong at a path of a file, and what to write instead."""

    path: Path
    says: str


@dataclass(frozen=True)
class Text:
    """Words, or words of a fixed form."""

    wanted: str = "text in quotes"
    pattern: str = ""
    longest: int = 2_000


@dataclass(frozen=True)
class Word:
    """One of a closed list."""

    options: tuple[str, ...]


@dataclass(frozen=True)
class Day:
    """A date without quotes."""


@dataclass(frozen=True)
class Flag:
    """true or false."""


@dataclass(frozen=True)
class Whole:
    """A whole number within bounds."""

    low: int
    high: int


@dataclass(frozen=True)
class Operand:
    """What a fact is compared with; its form depends on the fact."""


@dataclass(frozen=True)
class Anything:
    """A value that somebody else looks at."""

    wanted: str


@dataclass(frozen=True)
class AnyTable:
    """A table whose keys somebody else looks at."""

    wanted: str


@dataclass(frozen=True)
class ListOf:
    """Several values of one shape."""

    item: "Shape"
    least: int = 1
    most: int = 5_000


@dataclass(frozen=True)
class Either:
    """Text, or a table."""

    text: Text
    table: "Table"


@dataclass(frozen=True)
class AnyOf:
    """A value of one of several shapes, of which at most one is a table and one a list."""

    shapes: tuple["Shape", ...]


@dataclass(frozen=True)
class Key:
    """One key of a table."""

    name: str
    shape: "Shape"
    says: str
    need: bool = False


@dataclass(frozen=True)
class Table:
    """A table with its keys; every other key is a fault."""

    name: str
    keys: tuple[Key, ...]
    one_of: tuple[str, ...] = ()
    """keys of which exactly one must be there"""

    def key(self, name: str) -> Key | None:
        """The key of that name."""
        return next((key for key in self.keys if key.name == name), None)


@dataclass(frozen=True)
class Recursive:
    """A table that holds itself: looked up by name when needed."""

    name: str
    tables: dict[str, Table]

    def table(self) -> Table:
        """The table meant."""
        return self.tables[self.name]


Shape = Text | Word | Day | Flag | Whole | Operand | Anything | AnyTable | ListOf | Either | AnyOf | Table | Recursive


def wanted(shape: Shape) -> str:
    """What a value of this shape must be, in words."""
    match shape:
        case Text():
            return shape.wanted
        case Word():
            return "one of " + ", ".join(f'"{option}"' for option in shape.options)
        case Day():
            return "a day without quotes, such as 2026-07-01"
        case Flag():
            return "true or false, without quotes"
        case Whole():
            return f"a whole number, {shape.low:,} to {shape.high:,}"
        case Operand():
            return "text in quotes, a whole number, a day, true or false, or a list of texts"
        case Anything() | AnyTable():
            return shape.wanted
        case ListOf():
            most = f", at most {shape.most}" if shape.most < 5_000 else ""
            return f"a list in square brackets{most}, each {wanted(shape.item)}"
        case Either():
            return f"{wanted(shape.text)}, or a table in braces"
        case AnyOf():
            return ", or ".join(map(wanted, shape.shapes))
        case _:
            return f"a table in braces, such as {{ {_first_keys(shape)} }}"


def _first_keys(shape: Table | Recursive) -> str:
    table = shape if isinstance(shape, Table) else shape.table()
    names = [key.name for key in table.keys if key.need] or [key.name for key in table.keys[:2]]
    return ", ".join(f"{name} = ..." for name in names)


def given(value: Any) -> str:
    """A value as a message shows it, cut where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, date):
        return value.isoformat()
    text = repr(value)
    return text if len(text) <= 60 else text[:50] + "...'"


def check(value: Any, shape: Shape, path: Path, faults: list[Fault], outer: tuple[Table, ...] = ()) -> None:
    """Adds to `faults` everything in `value` that does not have the shape.

    outer: the tables around, the nearest last, for the hint that a key stands after a sub-table.
    """
    chosen = _chosen(value, shape)
    if isinstance(chosen, Table) and isinstance(value, dict):
        _check_table(value, chosen, path, faults, outer)
    elif isinstance(chosen, ListOf) and isinstance(value, list) and chosen.least <= len(value) <= chosen.most:
        for number, one in enumerate(value):
            check(one, chosen.item, (*path, number), faults, outer)
    elif isinstance(chosen, Table | ListOf | AnyOf) or not _is(value, chosen):
        faults.append(Fault(path, _says_wrong(value, shape, path)))


def _says_wrong(value: Any, shape: Shape, path: Path) -> str:
    name = next((step for step in reversed(path) if isinstance(step, str)), "the file")
    if len(path) == 1 and isinstance(value, dict) and isinstance(shape, ListOf):
        return f"[{name}] stands in one pair of brackets, and there may be several; write [[{name}]]."
    return f"'{name}' is {given(value)}; write {wanted(shape)}."


def _chosen(value: Any, shape: Shape) -> Shape:
    """The one of several shapes that a value is held against: by whether it is a table or a list."""
    match shape:
        case Recursive():
            return shape.table()
        case Either():
            return shape.table if isinstance(value, dict) else shape.text
        case AnyOf():
            among = [_chosen(value, one) for one in shape.shapes]
            kind = Table if isinstance(value, dict) else ListOf if isinstance(value, list) else None
            if kind is not None:
                return next((one for one in among if isinstance(one, kind)), shape)
            return next((one for one in among if not isinstance(one, Table | ListOf) and _is(value, one)), shape)
        case _:
            return shape


def _is(value: Any, shape: Shape) -> bool:
    match shape:
        case Text():
            fits = isinstance(value, str) and len(value.strip()) > 0 and len(value) <= shape.longest
            return fits and (not shape.pattern or re.fullmatch(shape.pattern, value) is not None)
        case Word():
            return isinstance(value, str) and value in shape.options
        case Day():
            return isinstance(value, date) and not isinstance(value, datetime)
        case Flag():
            return isinstance(value, bool)
        case Whole():
            return isinstance(value, int) and not isinstance(value, bool) and shape.low <= value <= shape.high
        case Anything():
            return True
        case AnyTable():
            return isinstance(value, dict)
        case _:
            return _is_operand(value)


def _is_operand(value: Any) -> bool:
    if isinstance(value, list):
        return bool(value) and all(isinstance(one, str) for one in value)
    return isinstance(value, str | int | date) and not isinstance(value, datetime)


def _check_table(
    value: dict[str, Any], table: Table, path: Path, faults: list[Fault], outer: tuple[Table, ...]
) -> None:
    meant = set()
    for name, inner in value.items():
        key = table.key(name)
        if key is None:
            near = _near(name, table, value)
            meant.add(near)
            faults.append(Fault((*path, name), _unknown_key(name, near, table, outer, _place(table, path))))
        else:
            check(inner, key.shape, (*path, name), faults, (*outer, table))
    for key in table.keys:
        if key.need and key.name not in value and key.name not in meant:
            joined = _joined(key.name, value, table)
            if joined is None:
                faults.append(Fault(path, f"{table.name} needs '{key.name}': {wanted(key.shape)}."))
            elif joined[1]:
                says = f"a '{key.name}' stands inside '{joined[0]}', and if it is meant it belongs above that"
                faults.append(Fault(path, f"{table.name} needs '{key.name}'; {says}."))
    if table.one_of:
        there = [name for name in table.one_of if name in value or name in meant]
        if len(there) != 1:
            faults.append(Fault(path, _one_of(table, there)))


def _joined(missing: str, value: dict[str, Any], table: Table) -> tuple[str, bool] | None:
    """The table inside that a missing key joined because it was written below, and whether it is at home there too.

    Where it is not, its own fault says already where it belongs.
    """
    for name, inner in value.items():
        last = inner[-1] if isinstance(inner, list) and inner else inner
        key = table.key(name)
        if isinstance(last, dict) and missing in last and key is not None:
            home = _chosen(last, key.shape.item if isinstance(key.shape, ListOf) else key.shape)
            return name, isinstance(home, Table) and home.key(missing) is not None
    return None


def _one_of(table: Table, there: Sequence[str]) -> str:
    listed = ", ".join(f"'{name}'" for name in table.one_of)
    if not there:
        return f"{table.name} needs one of {listed}."
    return f"{table.name} has {' and '.join(repr(name) for name in there)}; keep exactly one of {listed}."


def _near(name: str, table: Table, value: dict[str, Any]) -> str:
    """The key that a misspelt one was meant to be, if one is like it and not there already."""
    from difflib import get_close_matches

    free = [key.name for key in table.keys if key.name not in value]
    return next(iter(get_close_matches(name, free, n=1)), "")


def _place(table: Table, path: Path) -> str:
    """How a table is called where it stands: by its header, else by the key that holds it."""
    keys = [step for step in path if isinstance(step, str)]
    return f"'{keys[-1]}'" if keys and not table.name.startswith("[") else table.name


def _unknown_key(name: str, near: str, table: Table, outer: tuple[Table, ...], place: str) -> str:
    for around in reversed(outer):
        if around.key(name) is not None:
            says = f"'{name}' is a key of {around.name}, but it stands inside {place} and belongs to that"
            return f"{says}; move it above {place}."
    if near:
        return f"'{name}' is not a key of {table.name}; write '{near}' or remove it."
    listed = ", ".join(key.name for key in table.keys)
    return f"'{name}' is not a key of {table.name}; remove it, or write one of {listed}."


def strays(value: Any, table: Table, headers: Collection[Path], path: Path = ()) -> list[Fault]:
    """Keys that may have joined the table above them without a word: both that table and the one around it take them.

    headers: paths of the tables that a line in brackets opens. Whoever writes such a table and then goes on with the
    table around it writes into the inner one. Where the key fits only the outer one, `check` says so; where it fits
    both and the outer one has none, nobody but the writer knows which was meant.
    """
    found: list[Fault] = []
    for name, inner in value.items() if isinstance(value, dict) else ():
        key = table.key(name)
        if key is None:
            continue
        listed = inner if isinstance(inner, list) else [inner]
        for number, one in enumerate(listed):
            where = (*path, name, number) if isinstance(inner, list) else (*path, name)
            shape = _chosen(one, key.shape.item if isinstance(key.shape, ListOf) else key.shape)
            if not isinstance(shape, Table) or not isinstance(one, dict):
                continue
            found += strays(one, shape, headers, where)
            if where in headers and path:
                found += [
                    Fault((*where, stray), _says_stray(stray, name, table))
                    for stray in one
                    if stray not in value
                    and table.key(stray) is not None
                    and (own := shape.key(stray)) is not None
                    and not own.need
                ]
    return found


def _says_stray(stray: str, name: str, table: Table) -> str:
    return (
        f"'{stray}' stands below '{name}' and belongs to that, but {table.name} may have a '{stray}' too;"
        f" move it above '{name}', or write '{name}' in braces if it is meant so."
    )
