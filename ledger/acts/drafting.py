"""A slip before it is presented: its random id, its data keys, its pictures.

Pictures are locked away, written and synced while the slip is drafted, so that no entry ever names a picture that
is not on disk. A draft that is given up leaves locked pictures nobody can open: their keys were never kept.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.slip import parts
from ledger.slip.document import Slip
from ledger.vault import pictures
from ledger.vault.keys_file import WrappedKey

ReadFile = Callable[[str, str], bytes]
"""(file name in the slip, field) -> its bytes; raises InputError when there is none"""


@dataclass
class Draft:
    """A draft's id, for life, and the keys made for it."""

    id: str
    keys: dict[str, tuple[bytes, WrappedKey]] = field(default_factory=dict, repr=False)
    locked: dict[str, parts.PictureRecord] = field(default_factory=dict)

    def key(self, book: Book, cls: str) -> bytes:
        """The data key of a class of this slip. Raises: LockedError."""
        if cls not in self.keys:
            self.keys[cls] = book.opened().fresh_data_key(self.id, cls, book.chance)
        return self.keys[cls][0]

    def keep_keys(self, page: Page) -> None:
        """Keep the keys in the transaction of the first entry that uses them."""
        page.begin_subject(self.id)
        for key, wrapped in self.keys.values():
            page.adopt(wrapped, key)


def begin(book: Book) -> Draft:
    """A new draft."""
    return Draft(book.chance(16).hex())


def resume(book: Book, number: int) -> Draft:
    """The draft that became a presented slip, with the keys the book keeps for it. Raises: InputError, LockedError."""
    keys = book.opened()
    row = tables.data_keys.c
    with engines.reading(book.engine) as connection:
        draft = Draft(reading.subject_of_slip(connection, book.origin, number))
        wanted = sa.select(row["class"], row.epoch, row.wrapped).where(row.book == book.origin, row.subject == draft.id)
        for cls, epoch, wrapped in connection.execute(wanted):
            kept = WrappedKey(draft.id, cls, epoch, bytes(wrapped))
            draft.keys[cls] = (keys.unwrap(kept), kept)
    return draft


def lock_signature(book: Book, draft: Draft, slip: Slip, read_file: ReadFile) -> Mapping[str, parts.PictureRecord]:
    """The picture of the seller's signature, where the slip names one: it comes after the slip was frozen."""
    for asked in parts.pictures(slip):
        if asked.part == parts.SIGNATURE:
            seen = _seen(read_file(asked.file, asked.part), asked.part)
            draft.locked[asked.part] = _lock(book, draft, asked, seen)
    return draft.locked


def lock_pictures(book: Book, draft: Draft, slip: Slip, read_file: ReadFile) -> Mapping[str, parts.PictureRecord]:
    """Every picture that the slip names, locked away on disk, by the name of its part.

    Raises: InputError for a file that is missing or no picture, LockedError, StorageError.
    """
    for asked, seen in looked_at(slip, read_file):  # all of them first: nothing is locked away for a slip that stops
        draft.locked[asked.part] = _lock(book, draft, asked, seen)
    return draft.locked


def looked_at(slip: Slip, read_file: ReadFile) -> list[tuple[parts.PictureAsked, "Seen"]]:
    """Every picture that the slip names, seen to be one. Raises: InputError for the first that is not."""
    return [(asked, _seen(read_file(asked.file, asked.part), asked.part)) for asked in parts.pictures(slip)]


@dataclass(frozen=True)
class Seen:
    """A picture's bytes as received, with the copy made for showing."""

    received: bytes
    shown: bytes
    media_type: str


def _seen(data: bytes, part: str) -> Seen:
    return Seen(data, *pictures.shown_copy(data, part))


def _lock(book: Book, draft: Draft, asked: parts.PictureAsked, seen: Seen) -> parts.PictureRecord:
    return lock_seen(book, draft.id, asked.cls, lambda: draft.key(book, asked.cls), seen)


def lock_seen(book: Book, subject: str, cls: str, of_key: Callable[[], bytes], seen: Seen) -> parts.PictureRecord:
    """Both copies of one picture, locked away and synced, under the data key of this subject x class.

    Raises: LockedError, StorageError.
    """
    name = book.chance(8).hex()
    key = of_key()
    files = {
        copy: pictures.lock(
            book.folder,
            key,
            content,
            book=book.origin,
            subject=subject,
            cls=cls,
            picture_id=f"{name}/{copy}",
            nonce=book.chance(12),
        )
        for copy, content in (("received", seen.received), ("shown", seen.shown))
    }
    return parts.PictureRecord(
        media_type=seen.media_type,
        bytes=len(seen.received),
        received=hashlib.sha256(seen.received).hexdigest(),
        shown=hashlib.sha256(seen.shown).hexdigest(),
        file_received=files["received"],
        file_shown=files["shown"],
        id=name,
        cls=cls,
    )
