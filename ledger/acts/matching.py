"""Matches what was stolen against what was bought: one article a line, in anybody's words.

A match is a pointer with its reasons, for a person to judge. An article that so many others are like is never strong:
what half the book bears points at nothing. A list that an authority brings is kept as an inquiry with its answer.
"""

import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import sqlalchemy as sa

from ledger.acts import inquiring
from ledger.book import engine as engines
from ledger.book import reading, tables, words_index
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.likeness import articles, ranking, traits
from ledger.likeness.chance import bits
from ledger.likeness.comparing import Likeness
from ledger.likeness.ranking import AS_LIKE, BY_CHANCE
from ledger.slip import rebuilding

MOST_LINES = 5_000
_COMMON = 2_000
"""a trait that more items have than this is looked for only together with another"""
_PAIRED = 6
"""of the common traits, so many of the rarest are looked for in pairs"""
_LOOKED_AT = 100
"""so many of the most promising items are compared in full"""

RULES = (
    "features, sizes, weights, dates, initials, names and serial numbers compared one by one; strong only"
    f" if fewer than {BY_CHANCE:g} articles of this book would agree as much by chance, and"
    f" no more than {AS_LIKE} are as like; an article that agrees only in what many have, such as kind, metal or size,"
)
_COMMON_TOO = {False: " does not count as found", True: " counts as found too"}


def rules(*, common: bool) -> str:
    """How articles were compared, in words. common: whether agreement in common things alone counts."""
    return RULES + _COMMON_TOO[common]


@dataclass(frozen=True)
class Found(inquiring.PointedAt):
    """An item that may be the one asked for, and how like it is."""

    likeness: Likeness

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {**super().record(), **self.likeness.record()}


@dataclass(frozen=True)
class Matched:
    """One line of the list and what the book has that is like it, most like first."""

    asked: str
    found: tuple[Found, ...]


def lines(data: bytes) -> tuple[str, ...]:
    """The articles of a list: the lines of a text, or the rows of a CSV file joined to one line each.

    Raises: InputError for an empty list, one too long, or bytes that are no text.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(field="list", given="bytes that are not UTF-8", wanted="text, one article a line") from None
    rows = csv.reader(io.StringIO(text)) if _is_table(text) else ([line] for line in text.splitlines())
    try:
        found = tuple(", ".join(cell.strip() for cell in row if cell.strip()) for row in rows)
    except csv.Error as wrong:
        raise InputError(field="list", given=str(wrong), wanted="a CSV file, one article a row") from None
    found = tuple(line for line in found if line.strip())
    if not 0 < len(found) <= MOST_LINES:
        wanted = f"1 to {MOST_LINES:,} articles, one a line"
        raise InputError(field="list", given=f"{len(found):,} lines", wanted=wanted)
    return found


def _is_table(text: str) -> bool:
    """Whether a text is a CSV file: every line has as many commas outside quotes as the first, at least one."""
    rows = [line for line in text.splitlines() if line.strip()][:20]
    try:
        counts = {len(next(csv.reader([line]))) for line in rows}
    except (csv.Error, StopIteration):
        return False
    return len(rows) > 1 and len(counts) == 1 and counts != {1}


def match(
    book: Book, asked: Sequence[str], *, most: int = 3, appraised: bool = False, common: bool = False
) -> tuple[Matched, ...]:
    """For each article asked for, the items most like it. Writes nothing.

    appraised: finenesses come from appraisals, not from memory. common: also items that agree in common things only.
    """
    with engines.reading(book.engine) as connection:
        items = tables.items.c
        of = connection.execute(sa.select(sa.func.count()).where(items.book == book.origin)).scalar_one()
        return tuple(
            _match(connection, book.origin, line, of, most, appraised=appraised, common=common) for line in asked
        )


def unread(book: Book, line: str) -> tuple[str, ...]:
    """Words of a line that no comparison knows, though articles of the book bear them. Writes nothing."""
    words = traits.unknown(line)
    forms = {form: word for word in words for form in (word, word + "s", word.removesuffix("s"))}
    with engines.reading(book.engine) as connection:
        borne = words_index.counts(connection, book.origin, forms)
    return tuple(word for word in words if word in {forms[form] for form, count in borne.items() if count})


def _match(
    connection: sa.Connection, book: str, asked: str, of: int, most: int, *, appraised: bool, common: bool
) -> Matched:
    wanted = traits.read(asked)
    sought = articles.sought(wanted)
    counts = words_index.counts(connection, book, {token for one in sought for token in one.tokens})
    promising = _promising(connection, book, sought, counts, of)
    rows = reading.item_rows(connection, book, promising)
    candidates = {item: _traits_of(rows[item]) for item in promising}
    ranked = ranking.rank(wanted, candidates, counts, of, appraised=appraised, common=common)
    return Matched(asked, tuple(Found(*inquiring.named(rows[one.key]), one.likeness) for one in ranked[:most]))


def _traits_of(row: sa.Row[Any]) -> traits.Traits:
    kept = canonical.decode(row.description.encode())
    return articles.traits_of(rebuilding.item_of(kept["description"], kept["inscriptions"]))


def _promising(
    connection: sa.Connection, book: str, sought: Sequence[articles.Sought], counts: Mapping[str, int], of: int
) -> list[tuple[int, int]]:
    """Items that share the most telling traits asked for, the best first."""
    worth: Counter[tuple[int, int]] = Counter()
    bearing = {one: sum(counts.get(token, 0) for token in one.tokens) for one in sought}
    rarest = sorted(sought, key=lambda one: bearing[one])
    for one in rarest:
        if 0 < bearing[one] <= _COMMON:
            for item in _bearing(connection, book, one):
                worth[item] += round(bits(bearing[one], of, one.tenths) * 10)
    common = [one for one in rarest if bearing[one] > _COMMON][:_PAIRED]
    for one, other in combinations(common, 2):
        both = round((bits(bearing[one], of, one.tenths) + bits(bearing[other], of, other.tenths)) * 10)
        for item in _bearing(connection, book, one, other):
            worth[item] += both
    return [item for item, _ in sorted(worth.items(), key=lambda pair: (-pair[1], pair[0]))[:_LOOKED_AT]]


def _bearing(connection: sa.Connection, book: str, *sought: articles.Sought) -> set[tuple[int, int]]:
    """Items that have all of these traits."""
    found: set[tuple[int, int]] = set()
    for words in product(*(one.tokens for one in sought)):
        found.update(words_index.find(connection, book, words, most=_COMMON))
    return found


def ask(
    book: Book,
    asked: Sequence[str],
    asked_by: dict[str, str],
    *,
    most: int = 3,
    appraised: bool = False,
    common: bool = False,
) -> tuple[tuple[Matched, ...], Entry]:
    """A match whose list and answer are kept: who asked lies in the vault, the entry names only its own id.

    asked_by: agency, officer, case, power: what is known of who asks. Raises: LockedError, StorageError.
    """
    found = match(book, asked, most=most, appraised=appraised, common=common)
    name = book.chance(8).hex()
    with engines.reading(book.engine) as connection:
        size = reading.size(connection, book.origin)
    told = {
        "found": [{"asked": one.asked, "pointers": [item.record() for item in one.found]} for one in found],
        "entries": size,
        "rules": rules(common=common),
    }
    held = [
        book.hold("inquiry", {"list": list(asked), "appraised": appraised, **asked_by}, name),
        book.hold("answer", told, name),
    ]
    with book.writing() as page:
        entry = page.append("inquiry/0", about=[f"inquiry/{name}"], public={}, held=held)
        page.seal()
    # From here on it stands in the book which list was matched and what was found.
    return found, entry
