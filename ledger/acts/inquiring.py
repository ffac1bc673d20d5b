"""Answers a stolen-goods question: which items might be meant, and what the book says when none is.

A pointer is a possible match for a person to judge: its reasons are the words that agree. Every question is an entry
of its own, and so is a negative answer: "searched in entries 0 to N, nothing found" can be shown later.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from ledger.acts import tallying
from ledger.book import engine as engines
from ledger.book import reading, words_index
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.identity import names
from ledger.slip import searching
from ledger.slip.document import Name, Slip

MOST = 50
_COMMON = 2_000
"""a word that more items bear than this points at none of them by itself: it counts beside another"""

_RULES = (
    "every word of the question, else at least half of them; words compared whole after folding;"
    f" a word that more than {_COMMON} items bear counts only beside another"
)


@dataclass(frozen=True)
class PointedAt:
    """An item that may be the one asked for."""

    slip: int
    line: int
    words: str
    state: str
    day: str

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "item": f"{self.slip}/{self.line}",
            "words": self.words,
            "state": self.state,
            "day": self.day,
        }


@dataclass(frozen=True)
class Pointer(PointedAt):
    """The same, and the words that agree."""

    agrees: tuple[str, ...]
    of: int
    """how many words the question has"""

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {**super().record(), "agrees": list(self.agrees), "of": self.of}


@dataclass(frozen=True)
class Answer:
    """What a search found, and over which entries it was made."""

    question: str
    words: tuple[str, ...]
    size: int
    seal: str | None
    pointers: tuple[Pointer, ...]


def search(book: Book, question: str, *, most: int = MOST) -> Answer:
    """Items whose descriptions bear the words of a question, most agreeing first. Writes nothing.

    Raises: InputError for a question without a word that could be found.
    """
    words = searching.query_tokens(question)
    if not words:
        raise InputError(field="question", given=question, wanted="words of a description: a mark, a colour, initials")
    with engines.reading(book.engine) as connection:
        agreeing = _agreeing(connection, book.origin, words, most)
        rows = reading.item_rows(connection, book.origin, [item for item, _ in agreeing])
        found = [Pointer(*named(rows[item]), agreed, len(words)) for item, agreed in agreeing]
        return Answer(
            question,
            tuple(words),
            reading.size(connection, book.origin),
            reading.newest_seal(connection, book.origin),
            tuple(found),
        )


def _agreeing(
    connection: sa.Connection, book: str, words: Sequence[str], most: int
) -> list[tuple[tuple[int, int], tuple[str, ...]]]:
    """Items that bear all the words; where none does, those that bear most of them, common words counting least."""
    whole = words_index.find(connection, book, words, most=most)
    if whole:
        return [(item, tuple(words)) for item in whole]
    bearing = {word: words_index.find(connection, book, [word], most=_COMMON + 1) for word in words}
    telling = [word for word in words if len(bearing[word]) <= _COMMON]
    agreed: dict[tuple[int, int], set[str]] = {}
    weight: Counter[tuple[int, int]] = Counter()
    for word in telling:
        for item in bearing[word]:
            agreed.setdefault(item, set()).add(word)
            weight[item] += 1_000_000 // len(bearing[word])
    for common in (word for word in words if word not in telling):
        for word in telling:
            for item in words_index.find(connection, book, [word, common], most=_COMMON):
                agreed[item].add(common)
    least = (len(words) + 1) // 2
    ranked = sorted(
        (item for item in agreed if len(agreed[item]) >= least),
        key=lambda item: (-len(agreed[item]), -weight[item], item),
    )
    return [(item, tuple(word for word in words if word in agreed[item])) for item in ranked[:most]]


def named(row: Any) -> tuple[int, int, str, str, str]:
    """What a pointer says of its item, from its row: slip, line, words, state, day of purchase."""
    return row.slip, row.line, row.words, row.state, row.local_day


def ask(book: Book, question: str, asked_by: dict[str, str]) -> tuple[Answer, Entry]:
    """A search whose question and answer are kept: who asked lies in the vault, the entry names only its own id.

    asked_by: agency, officer, case, power: what is known of who asks.
    Raises: InputError, LockedError, StorageError.
    """
    answer = search(book, question)
    name = book.chance(8).hex()
    told = {
        "found": [pointer.record() for pointer in answer.pointers],
        "entries": answer.size,
        "rules": _RULES,
    }
    held = [
        book.hold("inquiry", {"question": question, "words": list(answer.words), **asked_by}, name),
        book.hold("answer", told, name),
    ]
    with book.writing() as page:
        entry = page.append("inquiry/0", about=[f"inquiry/{name}"], public={}, held=held)
        page.seal()
    # From here on it stands in the book what was asked and what was answered.
    return answer, entry


def sold_before(book: Book, slip: Slip) -> list[int]:
    """Slips of the same seller, by name and birth date or by a document's number, newest first.

    Raises: LockedError.
    """
    seller = slip.seller
    keys = [("document", names.number_key(one.number)) for one in seller.documents if isinstance(one.number, str)]
    if isinstance(seller.name, Name) and isinstance(seller.birth_date, date):
        keys.append(("person", names.person_key(seller.name.full, seller.birth_date)))
    return sorted({number for kind, key in keys for number in returning(book, kind, key)}, reverse=True)


def returning(book: Book, kind: str, key: str) -> list[int]:
    """Slips of the person or document with this key (see `identity.names`), newest first. Raises: LockedError."""
    with engines.reading(book.engine) as connection:
        return tallying.returning(connection, book, kind, key)
