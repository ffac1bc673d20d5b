"""The form of one test on the slip page: which fields a kind of test has, in which words, with which caution.

Decides: labels and cautions. Leaves to `ledger.assay.evidence_schema` which members a kind has and what each may be,
so that a kind added there has its fields here at once.

>>> [ask.name for ask in asks("magnet", {}, "items.0.evidence.0")][:1]
['items.0.evidence.0.pull']
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from ledger.assay import evidence
from ledger.assay.evidence_schema import MEMBERS, NEEDED
from ledger.slip.editing import size_of

KINDS: Final = (
    ("xrf", "X-ray reading"),
    ("density", "Density: weighed in air and in water"),
    ("magnet", "Magnet"),
    ("visual", "Looked at under the loupe"),
    ("streak", "Streak on the stone, with acid"),
    ("silver-streak", "Streak for silver, with acid"),
    ("conductance", "Conductance"),
    ("ultrasound", "Ultrasound"),
    ("filed-xrf", "X-ray reading of a filed spot"),
    ("cut", "Cut or drilled"),
    ("stripped", "Shell stripped and weighed"),
    ("melt", "Melt assay"),
    ("consent", "The seller's consent to tests that mark"),
)
"""Kinds of test in the order in which a counter offers them, those that mark the article last."""

_ACID: Final = (
    "Touchstone acids are corrosive and toxic: ventilation, gloves and eye protection; never mix them; dispose of them"
    " as the law asks."
)
_RAYS: Final = (
    "An X-ray analyser emits ionising radiation: follow its maker's instructions and the law of the place. It sees the"
    " outermost micrometres only."
)
_MARKS: Final = "This leaves a mark on the article: ask the seller first, and write down the answer."
CAUTIONS: Final[Mapping[str, str]] = {
    "xrf": _RAYS,
    "filed-xrf": f"{_MARKS} {_RAYS}",
    "streak": f"{_ACID} A deep streak leaves a mark: ask the seller first.",
    "silver-streak": f"{_ACID} A deep streak leaves a mark: ask the seller first.",
    "cut": f"{_MARKS} Wear eye protection.",
    "stripped": _MARKS,
    "melt": f"{_MARKS} Melting gives off fumes and burns: fire and environmental codes hold.",
    "density": "Shake off bubbles, and weigh in air again after the bath: water that got in makes the result void.",
}

_LABELS: Final[Mapping[str, str]] = {
    "acid_karat": "Acid for (karat)", "depth": "How deep", "result": "The streak", "batch": "Acid batch",
    "opened": "Bottle opened on", "needles": "Compared with needles", "air": "Weight in air",
    "water": "Weight in water", "unit": "Unit", "interval": "Scale shows steps of",
    "water_temperature": "Water, degrees Celsius",
    "air_after": "In air after the bath", "bubbles": "Bubbles", "pull": "It pulls", "uncertainty": "Give or take",
    "thickness_mm": "Thickness, mm", "calliper_mm": "By the calliper, mm", "shown_mm": "As the gauge shows, mm",
    "shows": "It shows", "text": "In words", "who": "Who stripped it", "shell": "Weight of the shell", "metal": "Metal",
    "fineness": "Fineness, per thousand", "method": "Method", "laboratory": "Laboratory", "before": "Weight before",
    "after": "Weight after", "to": "To which tests", "given": "The seller agrees", "mark_left": "Mark that it left",
    "colour": "Colour of the streak", "karat": "Karat", "geometry": "Surface", "message": "The analyser's message",
    "kilohertz": "Kilohertz", "iacs": "% IACS", "instrument": "Instrument", "by": "By", "at": "At", "spot": "Where",
    "part": "Which part", "note": "Note", "weight": "Weight", "density": "Density", "estimated": "Estimated",
}  # fmt: skip
_COMMON_ELEMENTS: Final = ("Au", "Ag", "Cu", "Zn", "Ni")
_BESIDE: Final = ("spot", "part", "instrument", "by", "at", "note")
"""members that every test has, asked after its own"""

_SAID: Final = {"per-mille": "per thousand", "per-cent": "per cent"}
"""words of the form that the house says otherwise"""


@dataclass(frozen=True)
class Ask:
    """One field of a test."""

    name: str
    label: str
    kind: str
    """text, number or select"""
    choices: tuple[tuple[str, str], ...] = ()
    must: bool = False
    more: bool = False
    """seldom asked: it stands under `more`"""
    group: str = ""
    """what it belongs to with others, such as Reading 1; "" for the test itself"""


@dataclass(frozen=True)
class Test:
    """One test of an item as the page shows it."""

    path: str
    kind: str
    title: str
    caution: str
    groups: tuple[tuple[str, tuple[Ask, ...]], ...]
    """fields that are asked at once, by what they belong to"""
    more: tuple[tuple[str, tuple[Ask, ...]], ...]
    """fields that are seldom asked"""
    consent: bool
    """it leaves a mark, and the seller's answer is not written down"""


def tests(fields: Mapping[str, str], item: str) -> tuple[Test, ...]:
    """The tests of one item; item: its path, such as items.0."""
    found = []
    titles = dict(KINDS)
    for place in range(size_of(fields, f"{item}.evidence")):
        path = f"{item}.evidence.{place}"
        kind = fields.get(f"{path}.test", "")
        if kind not in MEMBERS:
            continue
        every = tuple(asks(kind, fields, path))
        marks = kind in evidence.MARKING or fields.get(f"{path}.depth") == "deep"
        consent = marks and not fields.get(f"{path}.consent.given")
        front, more = (_grouped([ask for ask in every if ask.more is when]) for when in (False, True))
        found.append(Test(path, kind, titles.get(kind, kind), CAUTIONS.get(kind, ""), front, more, consent))
    return tuple(found)


def _grouped(every: list[Ask]) -> tuple[tuple[str, tuple[Ask, ...]], ...]:
    groups: dict[str, list[Ask]] = {}
    for ask in every:
        groups.setdefault(ask.group, []).append(ask)
    return tuple((title, tuple(members)) for title, members in groups.items())


def asks(kind: str, fields: Mapping[str, str], path: str) -> Iterator[Ask]:
    """The fields of one kind of test, its own before those that every test has."""
    text: dict[str, Any] = {"type": "string"}
    if kind in evidence.MARKING or kind in ("streak", "silver-streak"):
        agreed = {"given": {"type": "boolean"}, "mark_left": text}
        yield from _ask("consent", {"properties": agreed}, fields, path, "", must=kind in evidence.MARKING)
    for name, node in MEMBERS[kind].items():
        yield from _ask(name, node, fields, path, "", must=name in NEEDED[kind])
    for name in _BESIDE:
        yield from _ask(name, text, fields, path, "", must=name == "instrument" and kind != "consent")


def _ask(
    name: str, node: Mapping[str, Any], fields: Mapping[str, str], path: str, group: str, *, must: bool
) -> Iterator[Ask]:
    place = f"{path}.{name}"
    label = _LABELS.get(name, name)
    if name == "elements":
        for element in node["properties"]:
            shown = element in _COMMON_ELEMENTS or bool(fields.get(f"{place}.{element}"))
            yield Ask(f"{place}.{element}", element, "number", more=not shown, group=group)
    elif "properties" in node:
        inside = {"control": "Control on a known needle", "stones": "Stones in it"}.get(name, group)
        for member, inner in node["properties"].items():
            yield from _ask(member, inner, fields, place, inside, must=must)
    elif node.get("type") == "array":
        yield from _rows(name, node["items"], fields, place, must=must)
    elif "enum" in node:
        words = tuple((word, _SAID.get(word, word.replace("-", " "))) for word in node["enum"])
        yield Ask(place, label, "select", (("", ""), *words), must, not must, group)
    elif node.get("type") == "boolean":
        yield Ask(place, label, "select", (("", ""), ("yes", "yes"), ("no", "no")), must, not must, group)
    else:
        yield Ask(place, label, "number" if "pattern" in node else "text", (), must, not must, group)


def _rows(name: str, node: Mapping[str, Any], fields: Mapping[str, str], place: str, *, must: bool) -> Iterator[Ask]:
    """The rows of a list that are filled, and one more; where and which part of a further reading are seldom asked."""
    for row in range(size_of(fields, place) + 1):
        if "properties" not in node:
            words = tuple((word, _SAID.get(word, word.replace("-", " "))) for word in node["enum"])
            yield Ask(f"{place}.{row}", _LABELS.get(name, name), "select", (("", ""), *words), must, not must)
            continue
        for member, inner in node["properties"].items():
            wanted, spare = must and member not in ("spot", "part"), row == size_of(fields, place) and row > 0
            for ask in _ask(member, inner, fields, f"{place}.{row}", f"Reading {row + 1}", must=wanted):
                yield replace(ask, more=ask.more or spare)
