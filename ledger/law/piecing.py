"""A text that is not TOML as a whole, read table by table as far as it goes.

Decides: where such a text is cut, what of it can be read, and where the keys of the readable part stand in the
whole. One table with a mistake in its writing must not hide the mistakes of the others. Leaves what the tables may
hold to `ledger.law.files`.

>>> found = Pieces('a = 1\\n[[hold]]\\nid = \\n[[hold]]\\nid = "b"\\n')
>>> found.document
{'a': 1, 'hold': [{'id': 'b'}]}
>>> [(one.line, one.says) for one in found.broken]
[(3, '`id =` cannot be read: nothing stands after the sign =; write a value.')]
>>> found.place(("hold", 0, "id"))
(5, 1)
"""

import re
import tomllib
from itertools import pairwise
from typing import Any

from ledger.law import mending
from ledger.law.locating import HEADER, Path, Places
from ledger.law.mending import Broken

_TOP = re.compile(r"\s*\[{1,2}\s*([A-Za-z0-9_-]+)\s*\]{1,2}")
_ID = re.compile(r"""^[ \t]*id[ \t]*=[ \t]*["']?([a-z0-9-]+)""", re.MULTILINE)
_CURRENCY = re.compile(r"""^[ \t]*currency[ \t]*=[ \t]*["']?([A-Z]{3})\b""", re.MULTILINE)
_JOINED = 4
"""so many pieces are tried together, where a header stands inside a long text"""


class Pieces:
    """What can be read of one text."""

    def __init__(self, text: str) -> None:
        self.document: dict[str, Any] = {}
        self.broken: list[Broken] = []
        self.lost: list[str] = []
        """the pieces that cannot be read"""
        self._places: dict[Path, tuple[Places, Path, int]] = {}
        starts = [0, *(match.start() for match in HEADER.finditer(text) if match.start() and _TOP.match(match[0]))]
        cuts = list(pairwise([*starts, len(text)]))
        number = 0
        while number < len(cuts):
            number += self._piece(text, cuts[number : number + _JOINED])

    def _piece(self, text: str, cuts: list[tuple[int, int]]) -> int:
        """Reads the first of some pieces, with those behind it if only so it can be read. Result: how many."""
        begin = cuts[0][0]
        above = text.count("\n", 0, begin)
        first: ValueError | None = None
        for taken, (_, end) in enumerate(cuts, 1):
            piece = text[begin:end]
            try:
                self._add(tomllib.loads(piece), piece, above)
            except RecursionError:
                break
            except ValueError as wrong:
                first = first or wrong
            else:
                return taken
        piece = text[begin : cuts[0][1]]
        self.lost.append(piece)
        if first is not None:
            found = mending.fault(first, piece)
            self.broken.append(found._replace(line=found.line + above))
        return 1

    def _add(self, found: dict[str, Any], piece: str, above: int) -> None:
        places = Places(piece)
        for name, value in found.items():
            known = self.document.get(name)
            if isinstance(value, list) and isinstance(known, list):
                for number in range(len(value)):
                    self._places[(name, len(known) + number)] = (places, (name, number), above)
                known += value
            elif name not in self.document:
                self.document[name] = value
                self._places[(name,)] = (places, (name,), above)

    def place(self, path: Path) -> tuple[int, int]:
        """Line and column of a path of the document, in the whole text."""
        for length in (2, 1):
            if path[:length] in self._places:
                places, own, above = self._places[path[:length]]
                where = (*own, *path[length:])
                return above + places.line(where), places.column(where)
        return 1, 1

    def ids(self) -> frozenset[str]:
        """Ids that the pieces declare which cannot be read."""
        return frozenset(match[1] for piece in self.lost for match in _ID.finditer(piece))

    def tables(self) -> frozenset[str]:
        """Names of the tables that cannot be read; "" for the head of the file."""
        return frozenset(match[1] if (match := _TOP.match(piece)) else "" for piece in self.lost)

    def currency(self) -> str:
        """The currency that an unreadable head names, as far as can be told."""
        return next((match[1] for piece in self.lost for match in _CURRENCY.finditer(piece)), "")
