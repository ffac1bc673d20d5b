"""Stamps of which some characters could not be read: what the whole stamp may have been.

Decides: which marks of the tables fit the characters that are left. An unread character inside letters that no table
knows stays unread. Leaves to `marks` what the possible stamps say together.

>>> completions("STERL?NG")
(True, ('STERLING',))
>>> completions("14K G?")[1]
('14K GE', '14K GF', '14K GO', '14K GP', '14K GS', '14K GT', '14K G?')
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

from ledger.assay import marks_table, stamps

MOST = 80
"""Possible stamps that are still told one by one; where there are more, too little could be read."""
LONGEST = 24
"""Characters without a space, of which no mark has more."""
_SUFFIXES = ("", "P", "PLUMB", "GF", "RGP", "HGE", "HGP", "GEP", "GPL", "GP", "GE", "EP")
_METALS = ("PT", "PLAT", "PD", "PALL", "AU", "AG", "SV", "GOLD", "SILVER")
_TELLING = 4
"""So many readable characters of a known mark leave no room for letters that mean nothing."""


def completions(folded: str) -> tuple[bool, tuple[str, ...]]:
    """Every stamp that this one may have been, and whether it can hardly have been anything else.

    folded: as `stamps.fold` gives it. Each result has the same length. A word that may as well be a maker's stands
    with its "?" too; one of which too little can be read, or that fits no mark, stands with its "?" alone.
    """
    choices = [_completed(token) if "?" in token else (token,) for token in re.split(r"(\s+)", folded)]
    if math.prod(map(len, choices)) > MOST:
        return False, (folded,)
    places = [place for place, character in enumerate(folded) if character == "?"]
    found = [each for each in map("".join, product(*choices)) if _is_known(each, places)]
    return all("?" not in each for each in found), tuple(found)


def _is_known(stamp: str, places: list[int]) -> bool:
    """Whether no character that was filled in belongs to letters that mean nothing."""
    return not any(
        piece.kind == "maker" and not piece.ambiguous and any(piece.start <= place < piece.end for place in places)
        for piece in stamps.pieces(stamp)
    )


@lru_cache(maxsize=1024)
def _completed(token: str) -> tuple[str, ...]:
    if len(token) > LONGEST:
        return (token,)
    told = tuple(sorted(_rests(token, 0, {})))
    if len(told) > MOST:
        return (token,)
    readable = token.replace("?", "")
    mixed = any(map(str.isdigit, readable)) and any(not each.isdigit() for each in readable)
    return told if told and (mixed or len(readable) >= _TELLING) else (*told, token)


def _rests(token: str, place: int, known: dict[int, set[str]]) -> set[str]:
    """Every way to read a token from a place on as known marks one after another; of more than MOST only so many.

    known: what was found before, by place.
    """
    if "?" not in token[place:]:
        return {token[place:]}
    if place not in known:
        found: set[str] = set()
        for mark in _fitting(token, place):
            if len(found) <= MOST:
                found |= {mark + rest for rest in _rests(token, place + len(mark), known)}
        in_share = token[place] == "/" and token[:place].endswith(tuple("0123456789"))
        if not (token[place].isalnum() or token[place] == "?" or in_share):
            found |= {token[place] + rest for rest in _rests(token, place + 1, known)}
        known[place] = found
    return known[place]


def _fitting(token: str, place: int) -> list[str]:
    """Known marks that fit the characters from here on; a word, or a single character, only if it ends the token."""
    level, ends = [("", _tree())], []
    for character in token[place:]:
        level = [
            (read + letter, below)
            for read, node in level
            for letter, below in node.after.items()
            if character in ("?", letter)
        ]
        ends += [(read, node.ends) for read, node in level if node.ends]
    return [read for read, ends_as in ends if ends_as == "number" or _ends(token, place + len(read))]


def _ends(token: str, place: int) -> bool:
    return place == len(token) or not (token[place].isalnum() or token[place] == "?")


@dataclass
class _Node:
    """Where known marks that begin alike part."""

    after: dict[str, "_Node"] = field(default_factory=dict)
    ends: str = ""
    """word or number, where a mark ends here"""


@lru_cache(maxsize=1)
def _tree() -> _Node:
    root = _Node()
    for kind, marks in (("number", _numbers()), ("word", _words())):
        for mark in marks:
            node = root
            for letter in mark:
                node = node.after.setdefault(letter, _Node())
            node.ends = node.ends or kind
    return root


def _words() -> Iterator[str]:
    """Marks after which no letter or figure can follow."""
    for word in marks_table.WORDS:
        yield from word.split()
    yield from marks_table.KARATS
    yield from marks_table.SHARES


def _numbers() -> Iterator[str]:
    """Marks after which another can follow at once, as in 14K585."""
    for number in marks_table.NUMBERS:
        if len(number) > 1:
            yield from (number, f".{number}")
            for metal in _METALS:
                yield from (metal + number, number + metal)
    for karat in marks_table.KARATS:
        yield from (f"K{karat}", f"{karat}/20", f"{karat}/20GF")
        for word in ("K", "KT", "CT", "KARAT", "CARAT"):
            yield from (karat + word + suffix for suffix in _SUFFIXES)
