"""Answers a stolen-goods question of which nothing was found, so that the answer can be checked years later.

Question, rules and the entries searched become an entry; what is handed out is a paper and an extract of that entry.
Where anything is found there is no negative answer, and here what agrees in common things alone is found too: "plain
gold ring" can hardly be denied. A person must judge the pointers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from ledger.acts import extracting, handing_over, matching
from ledger.acts.matching import Matched
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.shop import adopted
from reports import negative
from reports.page import moment


@dataclass(frozen=True)
class Answered:
    """What came of the question."""

    matched: tuple[Matched, ...]
    entry: Entry | None = None
    paper: bytes = b""
    extract: bytes = b""

    @property
    def nothing(self) -> bool:
        """Whether nothing was found and the answer was given."""
        return self.entry is not None


def nothing_found(
    book: Book, asked: Sequence[str], asked_by: dict[str, str], sheet: str, *, at: datetime, appraised: bool = False
) -> Answered:
    """The negative answer to a list of articles; without entry and papers where something was found.

    asked_by: agency and power, and officer and case if known. Raises: InputError without a power, or for a line
    with a word that articles bear and no comparison knows; LockedError.
    """
    if not asked_by.get("power"):
        raise InputError(field="power", given="nothing", wanted="what the question rests on: section, consent, warrant")
    matched = matching.match(book, asked, appraised=appraised, common=True)
    if any(one.found for one in matched):
        return Answered(matched)
    for line in asked:
        for word in matching.unread(book, line):
            wanted_words = f"words that can be compared: articles bear {word!r}; see `inquiry search {word}`"
            raise InputError(field="list", given=line, wanted=wanted_words)
    kept, entry = matching.ask(book, asked, asked_by, appraised=appraised, common=True)
    # From here on it stands in the book what was asked and that nothing was found.
    paper = _paper(book, asked, asked_by, entry, sheet, at)
    wanted = extracting.Wanted(
        asked_by["agency"], asked_by["power"], entries=(entry.seq,), parts=("inquiry", "answer"), papers=False
    )
    _, data = extracting.extract(book, wanted, sheet, at=at, papers={f"nothing-found-{entry.seq}.pdf": paper})
    return Answered(kept, entry, paper, data)


def _paper(book: Book, asked: Sequence[str], asked_by: dict[str, str], entry: Entry, sheet: str, at: datetime) -> bytes:
    with engines.reading(book.engine) as connection:
        shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
        copy = "Copy for the recipient"
        imprint = handing_over.imprint(connection, book, shop, entry, copy=copy, recipient=asked_by["agency"], at=at)
    return negative.draw(
        negative.Negative(
            imprint=imprint,
            asked=tuple(asked),
            recipient=", ".join(asked_by[name] for name in ("agency", "officer", "case") if asked_by.get(name)),
            basis=asked_by["power"],
            last=entry.seq - 1,
            rules=matching.rules(common=True),
            answered_at=moment(at),
        ),
        sheet,
    )
