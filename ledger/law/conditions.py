"""Conditions: a fact, one comparison, one wanted value or other fact; joined by all, any and not.

Decides: yes, no, or not decided with the reasons, and which facts were used. There is no expression language:
what cannot be said with the listed comparisons cannot be said. A condition over a fact that is not known is
not decided, unless the rest settles it either way.

>>> test = Compare(FACTS["seller.age"], "below", 18)
>>> test.decide({"seller": {"age": 17}}, asked := {})
True
>>> asked
{'seller.age': 17}
>>> test.decide({"seller": {}}, {}) is None
True
"""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from ledger.law.facts import FACTS, Fact, Unknown, shown
from ledger.measures import Money

__all__ = ["FACTS", "Against", "AllOf", "AnyOf", "Compare", "Condition", "Not", "Share", "every", "some", "words_of"]

Frame = Mapping[str, Any]
Asked = dict[str, Any]
"""facts that were used, by name, as a trace holds them"""


class Condition(Protocol):
    """Something that facts decide."""

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        """True, False, or None where it cannot be decided; the facts used are added to `asked`."""
        ...

    def facts(self) -> frozenset[str]:
        """Names of the facts that the condition reads."""
        ...

    def says(self) -> str:
        """The condition in words."""
        ...


@dataclass(frozen=True)
class Compare:
    """One fact against one wanted value."""

    fact: Fact
    op: str
    wanted: Any

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        value = self.fact.read(frame)
        asked[self.fact.name] = shown(value)
        if self.op == "known":
            return isinstance(value, Unknown) is not self.wanted
        if isinstance(value, Unknown):
            return None
        if isinstance(value, list) and self.fact.type != "list":
            answers = [self._holds(one) for one in value]
            return None if None in answers else all(answers)
        return self._holds(value)

    def _holds(self, value: Any) -> bool | None:
        if isinstance(value, Money) and value.currency != self.wanted.currency:
            return None
        return bool(_OPS[self.op](value, self.wanted))

    def facts(self) -> frozenset[str]:
        return frozenset({self.fact.name})

    def says(self) -> str:
        if self.op == "known":
            return f"{self.fact.name} is {'' if self.wanted else 'not '}known"
        return f"{self.fact.name} {words_of(self.op)} {_shown_wanted(self.wanted)}"


@dataclass(frozen=True)
class Against:
    """One fact against another of the same type; texts are compared without case and outer spaces."""

    fact: Fact
    op: str
    """same_as or differs_from"""
    other: Fact

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        values = _both(self.fact, self.other, frame, asked)
        if values is None:
            return None
        return (_plain(values[0]) == _plain(values[1])) is (self.op == "same_as")

    def facts(self) -> frozenset[str]:
        return frozenset({self.fact.name, self.other.name})

    def says(self) -> str:
        return f"{self.fact.name} {words_of(self.op)} {self.other.name}"


@dataclass(frozen=True)
class Share:
    """One amount or weight as a share of another."""

    fact: Fact
    other: Fact
    op: str
    ppm: int
    """the share it is compared with, in millionths"""

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        values = _both(self.fact, self.other, frame, asked)
        if values is None:
            return None
        part, whole = (value.minor if isinstance(value, Money) else value for value in values)
        return bool(_OPS[self.op](part * 1_000_000, whole * self.ppm))

    def facts(self) -> frozenset[str]:
        return frozenset({self.fact.name, self.other.name})

    def says(self) -> str:
        percent = f"{self.ppm // 10_000}.{self.ppm % 10_000:04}".rstrip("0").rstrip(".")
        return f"{self.fact.name} {words_of(self.op)} {percent} % of {self.other.name}"


def _both(fact: Fact, other: Fact, frame: Frame, asked: Asked) -> tuple[Any, Any] | None:
    """Two facts that can be compared; None where one is not known or their currencies differ."""
    one, two = fact.read(frame), other.read(frame)
    asked[fact.name], asked[other.name] = shown(one), shown(two)
    if isinstance(one, Unknown) or isinstance(two, Unknown):
        return None
    if isinstance(one, Money) and one.currency != two.currency:
        return None
    return one, two


_APOSTROPHES = str.maketrans({"\u2019": "'", "\u2018": "'", "\u02bc": "'"})


def _plain(text: Any) -> Any:
    """Text as it is compared: case, spaces, apostrophes and compatibility forms do not count."""
    if not isinstance(text, str):
        return text
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text).translate(_APOSTROPHES)
    return " ".join(text.casefold().split())


def _has(value: Sequence[Any], wanted: Any) -> bool:
    return _plain(wanted) in [_plain(one) for one in value]


_OPS: dict[str, Any] = {
    "is": lambda value, wanted: _plain(value) == _plain(wanted),
    "is_not": lambda value, wanted: _plain(value) != _plain(wanted),
    "in": lambda value, wanted: _has(wanted, value),
    "not_in": lambda value, wanted: not _has(wanted, value),
    "at_least": lambda value, wanted: value >= wanted,
    "above": lambda value, wanted: value > wanted,
    "at_most": lambda value, wanted: value <= wanted,
    "below": lambda value, wanted: value < wanted,
    "has": _has,
    "empty": lambda value, wanted: (len(value) == 0) is wanted,
}

_ORDER = ("at_least", "above", "at_most", "below")
EQUAL = ("same_as", "differs_from")
"""Comparisons with another fact."""
SHARED = {"money": _ORDER, "weight": _ORDER}
"""Comparisons of a share, for each type of fact that may be a share of another."""
OPS_OF: Mapping[str, tuple[str, ...]] = {
    "text": ("is", "is_not", "in", "not_in", *EQUAL, "known"),
    "word": ("is", "is_not", "in", "not_in", *EQUAL, "known"),
    "flag": ("is", "known"),
    "whole": ("is", *_ORDER, *EQUAL, "known"),
    "count": ("is", *_ORDER, *EQUAL, "known"),
    "money": (*_ORDER, *EQUAL, "known"),
    "fineness": (*_ORDER, "known"),
    "weight": (*_ORDER, *EQUAL, "known"),
    "day": (*_ORDER, *EQUAL, "known"),
    "clock": (*_ORDER, "known"),
    "list": ("has", "empty", "known"),
    "any": ("known",),
}
"""Comparisons that make sense for each type of fact."""

OPS = tuple(dict.fromkeys(op for ops in OPS_OF.values() for op in ops))


def words_of(op: str) -> str:
    """A comparison in words."""
    return op.replace("_", " ")


def _shown_wanted(wanted: Any) -> str:
    if isinstance(wanted, tuple):
        return ", ".join(map(_shown_wanted, wanted))
    if isinstance(wanted, bool):
        return "yes" if wanted else "no"
    return str(wanted)


@dataclass(frozen=True)
class AllOf:
    """Every one of several conditions."""

    parts: tuple[Condition, ...]

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        return every(self.parts, frame, asked)

    def facts(self) -> frozenset[str]:
        return frozenset().union(*(part.facts() for part in self.parts))

    def says(self) -> str:
        return "(" + " and ".join(part.says() for part in self.parts) + ")"


@dataclass(frozen=True)
class AnyOf:
    """At least one of several conditions."""

    parts: tuple[Condition, ...]

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        return some(self.parts, frame, asked)

    def facts(self) -> frozenset[str]:
        return frozenset().union(*(part.facts() for part in self.parts))

    def says(self) -> str:
        return "(" + " or ".join(part.says() for part in self.parts) + ")"


@dataclass(frozen=True)
class Not:
    """The opposite of a condition."""

    part: Condition

    def decide(self, frame: Frame, asked: Asked) -> bool | None:
        answer = self.part.decide(frame, asked)
        return None if answer is None else not answer

    def facts(self) -> frozenset[str]:
        return self.part.facts()

    def says(self) -> str:
        return f"not {self.part.says()}"


def every(parts: Sequence[Condition], frame: Frame, asked: Asked) -> bool | None:
    """Whether all hold: False as soon as one fails, None if one is undecided and none fails."""
    answer: bool | None = True
    for part in parts:
        found = part.decide(frame, asked)
        if found is False:
            return False
        if found is None:
            answer = None
    return answer


def some(parts: Sequence[Condition], frame: Frame, asked: Asked) -> bool | None:
    """Whether one holds: True as soon as one does, None if one is undecided and none holds."""
    answer: bool | None = False
    for part in parts:
        found = part.decide(frame, asked)
        if found is True:
            return True
        if found is None:
            answer = None
    return answer
