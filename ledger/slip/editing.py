"""Changes of a slip's form fields: a row more or less, an item moved up, a line of shorthand read, values that follow.

Decides: what one button of the slip page does to the fields, and that nothing typed by hand is written over. Leaves to
`shorthand` what a line says, to the counter which buttons there are, and to nobody what the law says of it.
A form field's name is its path in the document with dots; what begins with ui. is of the screen only.

>>> read_lines({"ui.items": "1", "ui.line.0": "ring yg"})["items.0.metal_colour"]
'yellow'
>>> applied({"items.0.article": "ring", "items.1.article": "chain"}, "up:items.1")[0]["items.0.article"]
'chain'
"""

import re
from collections.abc import Callable, Mapping
from typing import Final

from ledger.slip import shorthand

Fields = Mapping[str, str]

_OF_THE_ITEM: Final = ("ui.line.", "ui.read.", "ui.test.")
"""fields of the screen that move with their item"""
_LIST: Final = re.compile(r"^[a-z_]+(\.\d+\.[a-z_]+)*\.?$")


def size_of(fields: Fields, path: str) -> int:
    """How many rows a list has: one more than its highest position."""
    begin = path + "."
    positions = (name[len(begin) :].partition(".")[0] for name in fields if name.startswith(begin))
    return max((int(position) + 1 for position in positions if position.isdigit()), default=0)


def items_shown(fields: Fields) -> int:
    """How many items the page shows: those that are written and those that were asked for."""
    asked = fields.get("ui.items", "")
    written = (size_of(fields, "items"), size_of(fields, "ui.line"))
    return max(1, *written, int(asked) if asked.isdigit() and len(asked) < 4 else 0)


def applied(fields: Fields, do: str, *, test: Callable[[str], Mapping[str, str]] | None = None) -> tuple[Fields, str]:
    """The fields after one button was pressed, and the field at which to go on ("" where there is none).

    do: add:PATH, remove:PATH.N, up:PATH.N, read:items.N; anything else changes nothing.
    test: gives the fields of a new test of a kind, such as who makes it and when.
    """
    act, _, path = do.partition(":")
    if act == "read" and (line := _last(path)) is not None and path == f"items.{line}":
        after = read_lines(fields)
        return after, f"ui.line.{line + 1}" if line + 1 < items_shown(after) else "items.0.conclusion.agrees"
    if act == "add" and _LIST.match(path):
        return _added(fields, path, test)
    if act in ("remove", "up") and (place := _last(path)) is not None:
        parent = path.rpartition(".")[0]
        if act == "remove":
            return _removed(fields, parent, place), _near(parent, max(0, place - 1))
        return _swapped(fields, parent, place), _near(parent, max(0, place - 1))
    return fields, ""


def _last(path: str) -> int | None:
    last = path.rpartition(".")[2]
    return int(last) if last.isdigit() and len(last) < 4 and _LIST.match(path.rpartition(".")[0]) else None


def _near(parent: str, place: int) -> str:
    return f"ui.line.{place}" if parent == "items" else f"{parent}.{place}"


def _added(fields: Fields, path: str, test: Callable[[str], Mapping[str, str]] | None) -> tuple[dict[str, str], str]:
    after, place = dict(fields), size_of(fields, path)
    if path == "items":
        count = items_shown(fields)
        after["ui.items"] = str(count + 1)
        return after, f"ui.line.{count}"
    if path.endswith(".evidence"):
        chosen = f"ui.test.{path.split('.')[1]}"
        if kind := after.pop(chosen, ""):
            after[f"{path}.{place}.test"] = kind
            after |= {f"{path}.{place}.{name}": value for name, value in (test(kind) if test else {}).items()}
        return after, f"{path}.{place}"
    after.pop(f"{path}.{shorthand.NONE}", None)
    return after, f"{path}.{place}"


def _names(parent: str) -> tuple[str, ...]:
    return (f"{parent}.", *_OF_THE_ITEM) if parent == "items" else (f"{parent}.",)


def _moved(fields: Fields, parent: str, to: Callable[[int], int | None]) -> dict[str, str]:
    """The fields with the rows of a list at other positions; a row without one is left out."""
    after: dict[str, str] = {}
    for name, value in fields.items():
        begin = next((each for each in _names(parent) if name.startswith(each)), None)
        position, dot, rest = name[len(begin) :].partition(".") if begin else ("", "", "")
        if begin is None or not position.isdigit():
            after[name] = value
        elif (place := to(int(position))) is not None:
            after[f"{begin}{place}{dot}{rest}"] = value
    return after


def _removed(fields: Fields, parent: str, gone: int) -> dict[str, str]:
    after = _moved(fields, parent, lambda at: None if at == gone else at - (at > gone))
    if parent == "items":
        after["ui.items"] = str(max(1, items_shown(fields) - 1))
    return after


def _swapped(fields: Fields, parent: str, place: int) -> dict[str, str]:
    pair = {place: place - 1, place - 1: place} if place else {}
    return _moved(fields, parent, lambda at: pair.get(at, at))


def read_lines(fields: Fields) -> dict[str, str]:
    """The fields with every line of shorthand read that was written or changed since it was last read.

    What an earlier reading of the line filled, and nobody changed by hand, goes; what a hand wrote stays.
    """
    after = dict(fields)
    for place in range(items_shown(fields)):
        line, before = fields.get(f"ui.line.{place}", ""), fields.get(f"ui.read.{place}", "")
        if line != before:
            _read_one(after, f"items.{place}", line, before)
            after[f"ui.read.{place}"] = line
            if not line:
                del after[f"ui.read.{place}"]
    return after


def left(fields: Fields, place: int) -> tuple[shorthand.Left, ...]:
    """The words of an item's line that filled no field, each with the reason."""
    return _said(fields, fields.get(f"ui.read.{place}", "")).left


def _said(fields: Fields, line: str) -> shorthand.Understood:
    return shorthand.read(line, unit=fields.get("ui.unit") or "g", ring_system=fields.get("ui.ring_system") or "us")


def _read_one(after: dict[str, str], item: str, line: str, before: str) -> None:
    for name, value in _said(after, before).fields.items():
        if after.get(f"{item}.{name}") == value:
            del after[f"{item}.{name}"]
    says = _said(after, line).fields
    lists = {name.partition(".")[0] for name in says if re.match(r"^[a-z_]+\.\d", name)}
    behind = {name: _filled(after, f"{item}.{name}") for name in lists}
    for name, value in says.items():
        top, _, rest = name.partition(".")
        position, dot, member = rest.partition(".")
        if position.isdigit():
            name = f"{top}.{int(position) + behind[top]}{dot}{member}"
        if not after.get(f"{item}.{name}"):
            after[f"{item}.{name}"] = value


def _filled(fields: Fields, path: str) -> int:
    """How many rows of a list a hand has filled."""
    return size_of({name: value for name, value in fields.items() if value}, path)


def usual(fields: Fields) -> dict[str, str]:
    """The fields with what a figure needs beside it: a weighing is gross and in the scale's unit unless said."""
    after = dict(fields)
    scale, unit = fields.get("ui.scale", ""), fields.get("ui.unit") or "g"
    for name, value in fields.items():
        if not value:
            continue
        if found := re.match(r"^(items\.\d+\.weighings\.\d+)\.value$", name):
            _unless(after, f"{found[1]}.what", "gross")
            _unless(after, f"{found[1]}.unit", unit)
            _unless(after, f"{found[1]}.scale", scale)
        elif found := re.match(r"^(items\.\d+)\.article$", name):
            _unless(after, f"{found[1]}.kind", "single")
            _unless(after, f"{found[1]}.goods", "jewelry")
            _unless(after, f"{found[1]}.pieces", "1")
        elif found := re.match(r"^(items\.\d+\.offer)\.amount$", name):
            _unless(after, f"{found[1]}.currency", fields.get("ui.currency", ""))
    return after


def _unless(fields: dict[str, str], name: str, value: str) -> None:
    """Fills a field that is blank."""
    if value and not fields.get(name):
        fields[name] = value


def followed(fields: Fields, name: str, value: str) -> dict[str, str]:
    """The fields with one that follows from others, such as the payout's amount, unless a hand wrote another value."""
    after, kept = dict(fields), f"ui.follows.{name}"
    if not after.get(name) or after.get(name) == after.get(kept):
        after |= {name: value, kept: value}
    return {each: said for each, said in after.items() if said or each not in (name, kept)}
