"""How long a stolen-goods question takes in a book of a million articles, beside the bare question to the index.

The book's tables and index are filled as recording fills them, with made articles (`tests.stolen_goods`): 100,000
drawn ones, each borne by ten items, and every item with a number of its own. Questions are of three kinds: words of
one article as a victim would say them, a serial number alone, and two words that a tenth of the book bears.
Run: `python -m tests.bench.bench_search [SIZE] [URL]`; figures stand in DEVELOPERS.md.
"""

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

import sqlalchemy as sa

from ledger.acts import inquiring, matching
from ledger.book import engine as engines
from ledger.book import pages, tables, words_index
from ledger.chain import canonical
from ledger.likeness import articles
from ledger.slip import rebuilding, searching
from tests import stolen_goods

NOON = datetime(2026, 11, 24, 18, tzinfo=UTC)
SIZE = 1_000_000
_BEARING = 10
_BATCH = 5_000


def drawn(random: Random, count: int) -> list[tuple[stolen_goods.Article, str, list[str]]]:
    """Made articles, each with its canonical description and the words under which it is found."""
    made = []
    for _ in range(count):
        article = stolen_goods.article(random)
        item = rebuilding.item_of(article.item, {})
        words = [*searching.tokens(item), *articles.tokens(articles.traits_of(item))]
        kept = canonical.encode({"description": article.item, "inscriptions": {}}).decode()
        made.append((article, kept, words))
    return made


def fill(book: pages.Book, made: Sequence[tuple[stolen_goods.Article, str, list[str]]], size: int) -> None:
    """Rows of so many slips with one item each, and their words in the index."""
    numbers = iter(range(1, size + 1))
    while batch := [number for _, number in zip(range(_BATCH), numbers, strict=False)]:
        with engines.writing(book.engine, book.origin) as connection:
            connection.execute(sa.insert(tables.slips), [_slip(book, number) for number in batch])
            connection.execute(sa.insert(tables.items), [_item(book, number, made) for number in batch])
            for number in batch:
                words = made[number % len(made)][2]
                words_index.put(connection, book.origin, number, 1, [*words, f"n{number}"])


def _slip(book: pages.Book, number: int) -> dict[str, Any]:
    at = "2026-11-24T12:00:00-06:00[America/Chicago]"
    return {
        "book": book.origin, "slip": number, "draft": f"{number:032x}", "state": "recorded", "presented_at": at,
        "local_day": "2026-11-24", "presented_seq": number, "recorded_seq": number, "closed_seq": None, "items": 1,
        "currency": "USD", "total_minor": 10_000, "channel": "counter",
    }  # fmt: skip


def _item(book: pages.Book, number: int, made: Sequence[tuple[stolen_goods.Article, str, list[str]]]) -> dict[str, Any]:
    return {
        "book": book.origin, "slip": number, "line": 1, "draft": f"{number:032x}", "state": "in stock",
        "words": "a made article", "description": made[number % len(made)][1], "gross_mg": 5_000, "net_mg": 5_000,
        "fine_mg": 2_900, "assessment": "{}", "currency": "USD", "offer_minor": 10_000, "place": "shop",
        "changed_seq": number,
    }  # fmt: skip


def questions(random: Random, made: Sequence[tuple[stolen_goods.Article, str, list[str]]], size: int) -> Iterator[str]:
    """What people ask, in turn of each kind."""
    for _ in range(100):
        yield random.choice(made)[0].words
        yield f"ring N{random.randrange(1, size)}"
        yield random.choice(("yellow chain", "14K ring", "white bracelet 585", "earrings 750 yellow hoop"))


def told(name: str, seconds: list[float]) -> str:
    """Median, 95th of a hundred and longest."""
    ordered = sorted(seconds)
    p95 = ordered[int(len(ordered) * 0.95)]
    usual = statistics.median(ordered)
    return f"{name}: p50 {usual * 1e3:.1f} ms, p95 {p95 * 1e3:.1f} ms, longest {ordered[-1] * 1e3:.1f} ms"


def timing(book: pages.Book, made: Sequence[tuple[stolen_goods.Article, str, list[str]]], size: int) -> None:
    """Search, its bare index query, and match, each question one after the other."""
    ours, bare, matched = [], [], []
    for question in questions(Random(7), made, size):
        words = searching.query_tokens(question)
        started = time.perf_counter()
        found = inquiring.search(book, question)
        ours.append(time.perf_counter() - started)
        wanted = found.pointers[0].agrees if found.pointers else words
        with engines.reading(book.engine) as connection:
            started = time.perf_counter()
            words_index.find(connection, book.origin, wanted, most=inquiring.MOST)
            bare.append(time.perf_counter() - started)
        started = time.perf_counter()
        matching.match(book, [question])
        matched.append(time.perf_counter() - started)
    print(told("search", ours))
    print(told("the bare question to the index", bare))
    ratios = sorted(our / floor for our, floor in zip(ours, bare, strict=True))
    print(f"search / bare: median {statistics.median(ratios):.2f}x, p95 {ratios[int(len(ratios) * 0.95)]:.2f}x")
    print(told("match, one line of a stolen list", matched))


def main() -> None:
    """Fill a book and ask it."""
    size = int(sys.argv[1]) if len(sys.argv) > 1 else SIZE
    with tempfile.TemporaryDirectory() as folder:
        url = sys.argv[2] if len(sys.argv) > 2 else engines.sqlite_url(Path(folder))
        engine = engines.open_engine(url)
        engines.migrate(engine)
        book = pages.Book(Path(folder), engine, "counterfoil/" + "0" * 32, lambda: NOON, os.urandom, "0.1.0")
        started = time.perf_counter()
        made = drawn(Random(1), max(1, size // _BEARING))
        fill(book, made, size)
        print(f"{size:,} items of {len(made):,} kinds, filled in {time.perf_counter() - started:.0f} s")
        timing(book, made, size)
        engine.dispose()


if __name__ == "__main__":
    main()
