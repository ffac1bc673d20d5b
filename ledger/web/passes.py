"""The passes of inspectors: who, on what power, what they may see and until when; in memory only.

A pass is opened with a code that is told once, opens one sign-in, and is kept as its SHA-256. A restart ends them all.
"""

import base64
import hashlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

_CODE_BYTES = 10


@dataclass
class Pass:
    """One inspector's way in."""

    id: str
    officer: Mapping[str, str]
    """name, number and agency"""
    power: str
    scope: frozenset[str]
    until: datetime
    opened_by: str
    digest: str | None = field(repr=False)
    """of its code; None once that was used"""


class Passes:
    """Every pass that stands."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._standing: dict[str, Pass] = {}

    def open(
        self,
        officer: Mapping[str, str],
        power: str,
        scope: frozenset[str],
        *,
        until: datetime,
        by: str,
        chance: Callable[[int], bytes],
    ) -> tuple[Pass, str]:
        """A pass and its code: four groups of four letters and digits, 80 bits."""
        letters = base64.b32encode(chance(_CODE_BYTES)).decode()
        made = Pass(chance(8).hex(), dict(officer), power, scope, until, by, _digest(letters))
        with self._lock:
            self._standing[made.id] = made
        return made, "-".join(letters[start : start + 4] for start in range(0, len(letters), 4))

    def redeem(self, code: str, now: datetime) -> Pass | None:
        """The pass of a code that nobody used yet; from here on it opens nothing more."""
        digest = _digest("".join(one for one in code.upper() if one.isalnum()))
        with self._lock:
            for one in self._standing.values():
                if one.digest == digest and now < one.until:
                    one.digest = None
                    return one
        return None

    def standing(self, now: datetime) -> list[Pass]:
        """Those that have not ended, in the order in which they were opened."""
        with self._lock:
            return [one for one in self._standing.values() if now < one.until]

    def find(self, name: str, now: datetime) -> Pass | None:
        """The pass of an id, while it stands."""
        return next((one for one in self.standing(now) if one.id == name), None)

    def end(self, name: str) -> None:
        """It opens nothing from here on."""
        with self._lock:
            self._standing.pop(name, None)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
