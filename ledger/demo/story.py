"""What the acted story carries along: the book, its clock, the papers so far, and which visit became which slip."""

import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.demo.papers import Papers
from ledger.demo.setting import ZONE, StoryClock

Say = Callable[[str], None]

SHEET = "letter"
WIDTH = 118
"""columns of the output"""


@dataclass
class Story:
    """The demonstration while it is built."""

    book: Book
    clock: StoryClock
    papers: Papers
    slips: Path
    """folder of the slip documents with their pictures"""
    say: Say
    numbers: dict[str, int] = field(default_factory=dict)
    """slip number by the visit's name"""
    orders: dict[tuple[str, int], str] = field(default_factory=dict)
    """id of the hold order on an item, by visit and line"""
    awaiting: list[str] = field(default_factory=list)
    """reports sent to the sheriff and not confirmed yet"""
    first_seals: dict[int, str] = field(default_factory=dict)
    """the seal on each slip's stub"""

    def go(self, moment: datetime, by: str) -> datetime:
        """Move on to a moment; by acts from here on. Result: now, in Pellwick."""
        self.book.by = by
        return self.clock.go(moment)

    def now(self) -> datetime:
        """A second later, in Pellwick."""
        return self.clock().astimezone(ZONE)

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """One look into the tables."""
        with engines.reading(self.book.engine) as connection:
            yield connection

    def tell(self, moment: datetime, what: str) -> None:
        """One line of the story, or as many as it needs."""
        line = f"  {moment:%a} {moment.day:2} {moment:%b %H:%M}  {what}"
        for part in textwrap.wrap(line, WIDTH, subsequent_indent=" " * 21, break_on_hyphens=False):
            self.say(part)
