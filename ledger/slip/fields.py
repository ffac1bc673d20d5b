"""A slip document as the fields of a form, and back: one text for each place of the document.

A field is named by its path with dots: `items.0.marks.1.text`. `X.not_known` holds the reason why X is not known,
`X.none` says that a list was looked for and is empty, `why.RULE` is a person's reason for something undecided. Fields
that begin with `ui.` belong to the screen and never to the document. Decides nothing about the values: what is no
number stays text, for the schema to name. Where the schema takes a number or a truth beside text, which is the answer
to a question of a rule file and nothing else, a form cannot tell them apart: 0 is the number, yes is true, and an
answer of a document that says "0" or "yes" as text comes back as those.

>>> document_of({"tray.number": "3", "tray.articles": "2", "items.0.stones.none": "yes", "ui.unit": "g"})
{'tray': {'number': '3', 'articles': 2}, 'items': [{'stones': []}]}
>>> path_of("items[1].marks[2].text")
'items.0.marks.1.text'
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from ledger.slip.schema import SCHEMA

NONE = "none"
_WHY = "why."
_SCREEN = "ui."
_STEP = re.compile(r"\[(\d+)\]")
_WHOLE = re.compile(r"[0-9]{1,9}")


def document_of(fields: Mapping[str, str]) -> dict[str, Any]:
    """The document that the fields write. Blank ones are left out, and lists close up in order."""
    tree: dict[str, Any] = {}
    for name, text in fields.items():
        if text.strip() and not name.startswith((_WHY, _SCREEN)):
            _put(tree, name.split("."), text.strip())
    found = _gathered(tree, ())
    return found if isinstance(found, dict) else {}


def fields_of(document: Mapping[str, Any], at: str = "") -> dict[str, str]:
    """The fields that write a document, or a piece of one. at: the field's name of the place where the piece stands."""
    return dict(_flat(document, at))


def reasons_of(fields: Mapping[str, str]) -> dict[str, str]:
    """A person's reasons, by the rule they answer."""
    return {name[len(_WHY) :]: text.strip() for name, text in fields.items() if name.startswith(_WHY) and text.strip()}


def path_of(field: str) -> str:
    """The form's name for a place that an error names; errors count lists from one, forms from zero."""
    return _STEP.sub(lambda step: f".{int(step[1]) - 1}", field)


def _put(tree: dict[str, Any], steps: list[str], text: str) -> None:
    for step in steps[:-1]:
        inner = tree.setdefault(step, {})
        if not isinstance(inner, dict):  # a text stands where others say that there is more: the text stays
            return
        tree = inner
    tree.setdefault(steps[-1], text)


def _gathered(value: Any, at: tuple[str, ...]) -> Any:
    if isinstance(value, str):
        return _typed(value, at)
    if set(value) == {NONE} and value[NONE] == "yes":
        return []
    value = {step: inner for step, inner in value.items() if step != NONE or inner != "yes"}  # what was entered counts
    if all(_WHOLE.fullmatch(step) for step in value):
        return [_gathered(value[step], (*at, "#")) for step in sorted(value, key=int)]
    return {step: _gathered(inner, (*at, step)) for step, inner in value.items()}


def _typed(text: str, at: tuple[str, ...]) -> Any:
    kinds = _kinds(at)
    if "boolean" in kinds and text in ("yes", "no"):
        return text == "yes"
    if "integer" in kinds and _WHOLE.fullmatch(text):
        return int(text)
    return text


@lru_cache(maxsize=4096)
def _kinds(at: tuple[str, ...]) -> frozenset[str]:
    """The types that the schema takes at a place."""
    nodes = list(_resolved(SCHEMA))
    for step in at:
        inner = [node.get("items") if step == "#" else node.get("properties", {}).get(step) for node in nodes]
        nodes = [one for node in inner if node is not None for one in _resolved(node)]
    return frozenset(node["type"] for node in nodes if isinstance(node.get("type"), str))


def _resolved(node: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """A node of the schema with everything it refers to or may be instead."""
    if "$ref" in node:
        node = SCHEMA["$defs"][node["$ref"].rpartition("/")[2]]
    yield node
    for key in ("anyOf", "oneOf", "allOf"):
        for one in node.get(key, ()):
            yield from _resolved(one)


def _flat(value: Any, path: str) -> Iterator[tuple[str, str]]:
    before = f"{path}." if path else ""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _flat(inner, f"{before}{name}")
    elif isinstance(value, list | tuple):
        if not value:
            yield f"{before}{NONE}", "yes"
        for place, inner in enumerate(value):
            yield from _flat(inner, f"{before}{place}")
    elif isinstance(value, bool):
        yield path, "yes" if value else "no"
    else:
        yield path, str(value)
