"""What an audit found, as values.

>>> str(Fault("chain", 7, "the link to entry 6", "aa", "bb"))
'chain, entry 7: the link to entry 6: expected aa, found bb'
"""

from dataclasses import dataclass, field

LEVELS = ("chain", "forms", "tables", "parts", "pictures")
_MOST = 300


def shown(value: object) -> str:
    """What was found in a database that may have been tampered with, fit for a screen: nothing in it can act there.

    >>> shown(b"\\x00\\xff"), shown("red \\x1b[31m"), shown(None)
    ('00ff', 'red \\\\x1b[31m', 'None')
    """
    text = value.hex() if isinstance(value, bytes) else str(value)
    text = text if len(text) <= _MOST else text[: _MOST - 3] + "..."
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def number(value: object) -> int | None:
    """A number of an entry as a fault names it; None for what is no whole number."""
    return value if type(value) is int else None


@dataclass(frozen=True)
class Fault:
    """One thing that must not be in a sound book."""

    level: str
    seq: int | None
    what: str
    expected: str = ""
    found: str = ""

    def __str__(self) -> str:
        where = self.level if self.seq is None else f"{self.level}, entry {self.seq}"
        figures = f": expected {self.expected}, found {self.found}" if self.expected or self.found else ""
        return f"{where}: {self.what}{figures}"

    def record(self) -> dict[str, object]:
        """As `book verify --json` prints it."""
        return {
            "level": self.level,
            "seq": self.seq,
            "what": self.what,
            "expected": self.expected,
            "found": self.found,
        }


@dataclass
class Findings:
    """The result of an audit: sound when no fault was found in what was opened."""

    entries: int = 0
    root: str = ""
    levels: list[str] = field(default_factory=list)
    not_opened: list[tuple[str, str]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """No fault in what was opened."""
        return not self.faults

    def record(self) -> dict[str, object]:
        """Shape: {"ok", "entries", "root", "levels", "not_opened", "faults", "notes"}."""
        return {
            "ok": self.ok,
            "entries": self.entries,
            "root": self.root,
            "levels": self.levels,
            "not_opened": [{"level": level, "why": why} for level, why in self.not_opened],
            "faults": [fault.record() for fault in self.faults],
            "notes": self.notes,
        }
