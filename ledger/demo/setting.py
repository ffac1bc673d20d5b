"""Where the demonstration plays: its shop, its people, its clock, and chance that is no chance.

Decides: everything that makes one run of the demonstration like the next. The clock stands where the story puts it
and moves on a second whenever it is read; "random" bytes are SHA-256 of a counter, so that every key and salt of the
demonstration is public, and worth nothing.

>>> draw = counted_chance("any seed")
>>> draw(2).hex(), draw(2).hex() == counted_chance("any seed")(2).hex()
('4e48', False)
"""

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from ledger.shop.facts import ShopFacts

ZONE = ZoneInfo("America/Chicago")
SEED = "Pellwick"

SHOP = ShopFacts(
    from_day="2026-01-01",
    name="The Pewter Heron",
    address=("9 Market Cross", "Pellwick, Norrowa 00441"),
    licence="Licence 26-118, Town of Pellwick (invented)",
    zone=ZONE.key,
    place={"state": "Norrowa", "county": "Tamsett", "municipality": "Pellwick"},
    recipients={"county-sheriff": "Sheriff of Tamsett County, property desk", "town-police": "Pellwick Police"},
)

OWNER = "ada"
CLERKS = {"mara": "Mara Quill", "tobias": "Tobias Fenwright"}
PASS_PHRASES = {
    "ada": "a heron of pewter stands on one leg",
    "mara": "mara counts the spoons twice",
    "tobias": "tobias weighs the bangle again",
}
"""Printed in the source on purpose: whoever reads this opens every vault of the demonstration."""

COMPARED_ON = "2026-10-01"
"""the day on which the owner compared the rule files with the invented law"""


def local(text: str) -> datetime:
    """The moment that a clock in Pellwick shows: "2026-10-05 10:15"."""
    return datetime.fromisoformat(text).replace(tzinfo=ZONE)


class StoryClock:
    """A clock that stands where the story is, and never goes back."""

    def __init__(self, start: datetime) -> None:
        self._now = start.astimezone(UTC)

    def __call__(self) -> datetime:
        """A second later than it was read before."""
        self._now += timedelta(seconds=1)
        return self._now

    def go(self, moment: datetime) -> datetime:
        """Move on to a moment; one that has passed already changes nothing. Result: now, in Pellwick."""
        self._now = max(self._now, moment.astimezone(UTC))
        return self._now.astimezone(ZONE)


def counted_chance(seed: str) -> Callable[[int], bytes]:
    """Bytes of a counter's SHA-256 digests: they never repeat, and every run of a seed gives the same."""
    drawn = 0

    def draw(count: int) -> bytes:
        nonlocal drawn
        made = b""
        while len(made) < count:
            drawn += 1
            made += hashlib.sha256(f"{seed} {drawn}".encode()).digest()
        return made[:count]

    return draw
