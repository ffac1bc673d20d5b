"""One entry with what its parts say, as the derived tables are made from it.

Decides nothing: an entry that concerns several subjects may have several parts of one name.

>>> text({"b": 1, "a": [True]})
'{"a":[true],"b":1}'
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from ledger.chain import canonical
from ledger.chain.entries import Entry

Blind = Callable[[str, str], str]


@dataclass(frozen=True)
class Line:
    """An entry with what its parts say. Several parts may bear one name when they concern different subjects."""

    entry: Entry
    parts: Sequence[tuple[str, Any]]
    blind: Blind | None

    def get(self, name: str, default: Any = None) -> Any:
        """The value of the first part of this name."""
        return next((value for found, value in self.parts if found == name), default)

    def all(self, name: str) -> list[Any]:
        """The values of all parts of this name."""
        return [value for found, value in self.parts if found == name]

    @property
    def slip(self) -> int:
        """The slip number in the public members."""
        return int(self.entry.public["slip"])


def text(value: Any) -> str:
    """A value as the derived tables hold it: canonical JSON."""
    return canonical.encode([value]).decode()[1:-1]
