"""Holds the shelf against the book, both ways, and draws a sample from a seed that somebody else gives.

Labels are scanned: what the book has in stock and nobody scanned is an entry without article; what was scanned and the
book does not have in stock is an article without entry. Nothing is written. A sample can be drawn again by a stranger
with the list of items and the seed alone.
"""

import hashlib
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import aftermath, handing_over, leaving
from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Book
from ledger.errors import InputError
from ledger.shop import adopted
from reports import inspection
from reports.page import moment

METHOD = (
    "After the seed and a vertical bar the number of each item is written, as in SEED|12/1. Of those letters in UTF-8"
    " the SHA-256 is taken and written in hex. The items with the lowest values are the sample, in that order."
)
MOST_CODES = 200_000
ELSEWHERE = ("sent out", "consigned")
"""states of an item that is the shop's and does not lie on its shelves"""

_PLAIN = re.compile("([0-9]{1,18})/([0-9]{1,18})")
_SQUARE = re.compile(r"(counterfoil/[0-9a-f]{32}) item/([0-9]{1,18})/([0-9]{1,18})(?: \S+)?")


@dataclass(frozen=True)
class Article:
    """An item as the book has it."""

    item: str
    words: str
    place: str
    state: str

    def record(self) -> dict[str, str]:
        """JSON values only."""
        return {"item": self.item, "words": self.words, "place": self.place, "state": self.state}


@dataclass(frozen=True)
class Stray:
    """What was scanned, and why the book has no such article in stock."""

    code: str
    why: str

    def record(self) -> dict[str, str]:
        """JSON values only."""
        return {"code": self.code, "why": self.why}


@dataclass(frozen=True)
class Shelf:
    """Shelf against book, both ways."""

    place: str
    """the place that was looked at; empty: the whole shop"""
    found: tuple[Article, ...]
    missing: tuple[Article, ...]
    """entries without article"""
    strays: tuple[Stray, ...]
    """articles without entry"""
    away: tuple[Article, ...]
    """the shop's, and by the book elsewhere, such as at a repairer's: not missing"""
    twice: tuple[str, ...]
    """codes that were scanned more than once"""

    @property
    def agrees(self) -> bool:
        """Whether every entry has its article and every article its entry."""
        return not self.missing and not self.strays

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "place": self.place,
            "agrees": self.agrees,
            "found": len(self.found),
            "missing": [one.record() for one in self.missing],
            "strays": [one.record() for one in self.strays],
            "away": [one.record() for one in self.away],
            "twice": list(self.twice),
        }


def codes(data: bytes) -> list[str]:
    """The codes that were scanned, one a line. Raises: InputError for none, too many, or bytes that are no text."""
    try:
        found = [line.strip() for line in data.decode("utf-8-sig").splitlines() if line.strip()]
    except UnicodeDecodeError as fault:
        wanted = f"text in UTF-8 (byte {fault.start} is not)"
        raise InputError(field="FILE", given="bytes", wanted=wanted) from None
    if not 0 < len(found) <= MOST_CODES:
        raise InputError(field="FILE", given=f"{len(found):,} codes", wanted=f"1 to {MOST_CODES:,}, one a line")
    return found


def check(book: Book, scanned: Sequence[str], *, place: str = "") -> Shelf:
    """The shelf held against the book. place: only what the book says lies there. Needs no key and writes nothing."""
    with engines.reading(book.engine) as connection:
        ours, others = _stock(connection, book.origin)
    here = {item: one for item, one in ours.items() if place in ("", one.place)}
    strays, seen, twice = [], set(), []
    for code in scanned:
        item, why = _read(code, book.origin)
        if item in seen:
            twice.append(code)
            continue
        seen.add(item)
        if not why and item not in ours:
            why = f"by the book it is {others[item]}" if item in others else "the book has no such item"
        if not why and item not in here:
            why = f"by the book it lies in {ours[item].place or 'no place that was recorded'}"
        if why:
            strays.append(Stray(code, why))
    missing = [one for item, one in here.items() if item not in seen]
    return Shelf(
        place=place,
        found=tuple(one for item, one in here.items() if item in seen),
        missing=tuple(one for one in missing if one.state not in ELSEWHERE),
        strays=tuple(strays),
        away=tuple(one for one in missing if one.state in ELSEWHERE),
        twice=tuple(dict.fromkeys(twice)),
    )


def _read(code: str, book: str) -> tuple[str, str]:
    """The item that a code names, or the code itself and why it names none of this book's."""
    plain = _PLAIN.fullmatch(code)
    if plain is not None:
        return f"{int(plain[1])}/{int(plain[2])}", ""
    square = _SQUARE.fullmatch(code)
    if square is None:
        return code, "it is not the code of a label"
    if square[1] != book:
        return code, "its label is of another book"
    return f"{int(square[2])}/{int(square[3])}", ""


def _stock(connection: sa.Connection, book: str) -> tuple[dict[str, Article], dict[str, str]]:
    """The shop's items by number, and the states of all others."""
    item = tables.items.c
    wanted = sa.select(item.slip, item.line, item.words, item.place, item.state).where(item.book == book)
    ours, others = {}, {}
    for slip, line, words, place, state in connection.execute(wanted.order_by(item.slip, item.line)):
        if state in leaving.OURS:
            ours[f"{slip}/{line}"] = Article(f"{slip}/{line}", words, place, state)
        else:
            others[f"{slip}/{line}"] = state
    return ours, others


def shelf_paper(book: Book, shelf: Shelf, sheet: str, *, at: datetime) -> bytes:
    """The two-way sheet. Raises: InputError while the book has no seal."""
    with engines.reading(book.engine) as connection:
        shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
        imprint = handing_over.imprint(
            connection, book, shop, None, copy="Copy for both sides", recipient="an inspection", at=at
        )
    return inspection.draw_shelf(
        inspection.ShelfSheet(
            imprint=imprint,
            at=moment(at),
            place=shelf.place or "the whole shop",
            found=len(shelf.found),
            missing=tuple(_line(one) for one in shelf.missing),
            strays=tuple((one.code, one.why) for one in shelf.strays),
            away=tuple(_line(one) for one in shelf.away),
            twice=shelf.twice,
        ),
        sheet,
    )


def _line(one: Article) -> tuple[str, str, str, str]:
    return one.item, one.words, one.place, one.state


@dataclass(frozen=True)
class Drawn:
    """One item of a sample, and the value by which it was drawn."""

    article: Article
    value: str
    """64 hex digits"""


@dataclass(frozen=True)
class Sample:
    """Items drawn by a seed."""

    seed: str
    of: str
    """what they were drawn from, in words"""
    population: int
    drawn: tuple[Drawn, ...]

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "seed": self.seed,
            "of": self.of,
            "population": self.population,
            "method": METHOD,
            "drawn": [{**one.article.record(), "value": one.value} for one in self.drawn],
        }


def sample(book: Book, seed: str, count: int, *, since: int | None = None) -> Sample:
    """Items drawn from stock; or from everything bought by an entry after `since`, whether it is still here or not.

    seed: any text, compared letter by letter. Raises: InputError for an empty seed.
    """
    with engines.reading(book.engine) as connection:
        return sample_in(connection, book.origin, seed, count, since=since)


def sample_in(connection: sa.Connection, book: str, seed: str, count: int, *, since: int | None = None) -> Sample:
    """As `sample`, inside a transaction."""
    if not seed.strip() or count < 1:
        raise InputError(field="seed", given=seed, wanted="a text that the inspector chooses, and a count from 1")
    seed = unicodedata.normalize("NFC", seed)
    item, slip = tables.items.c, tables.slips.c
    wanted = sa.select(item.slip, item.line, item.words, item.place, item.state).where(item.book == book)
    if since is None:
        of, wanted = "all items in stock", wanted.where(item.state.in_(leaving.OURS))
    else:
        of = "all items bought since the last inspection" if since >= 0 else "all items bought since the book began"
        bought = sa.select(slip.slip).where(slip.book == book, slip.recorded_seq > since)
        wanted = wanted.where(item.slip.in_(bought), item.state.not_in(aftermath.NOT_BOUGHT))
    found = [
        Drawn(Article(f"{row[0]}/{row[1]}", *row[2:]), value_of(seed, f"{row[0]}/{row[1]}"))
        for row in connection.execute(wanted).all()
    ]
    lowest = sorted(found, key=lambda one: one.value)[:count]
    return Sample(seed, of, len(found), tuple(lowest))


def value_of(seed: str, item: str) -> str:
    """The value by which an item is drawn, as METHOD says it.

    >>> value_of("7", "12/1")[:16]
    '89934015559f1f90'
    """
    return hashlib.sha256(f"{seed}|{item}".encode()).hexdigest()
