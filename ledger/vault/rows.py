"""Rows locked away: the parts of one entry that belong to one class, and the text of drafts.

Decides: what a row holds and what it is bound to. Leaves to others: the data keys (`opened`), the table
(book), the digests that prove each disclosure (chain). The names of parts lie only inside.

>>> where = {"book": "counterfoil/ab", "seq": 7, "cls": "seller", "subject": "slip/1f"}
>>> locked = lock(bytes(32), disclosures=["WyJhIl0", "WyJiIl0"], nonce=bytes(12), **where)
>>> len(locked)
43
>>> open_row(bytes(32), locked, **where)
['WyJhIl0', 'WyJiIl0']
"""

from collections.abc import Sequence

from ledger.errors import InputError
from ledger.vault import locks


def lock(key: bytes, *, book: str, seq: int, cls: str, subject: str, disclosures: Sequence[str], nonce: bytes) -> bytes:
    """One row: the disclosures of one class of one entry, bound to (format, book, seq, class, subject).

    key: the data key of (subject, class); nonce: 12 fresh random bytes.
    Shape: nonce 12 | ciphertext | tag 16; inside, the disclosures joined by line feeds.
    Raises: InputError for no disclosure, an empty one, or one with a line feed.
    """
    if not disclosures or not all(disclosures) or any("\n" in text for text in disclosures):
        raise InputError(
            field="disclosures",
            given=f"{len(disclosures)} of them",
            wanted="at least one, none empty and none with a line feed",
        )
    return locks.lock(key, nonce, locks.utf8("\n".join(disclosures), "disclosures"), _row(book, seq, cls, subject))


def open_row(key: bytes, data: bytes, *, book: str, seq: int, cls: str, subject: str) -> list[str]:
    """The disclosures of a row, as they were. Raises: LockedError when key, place or a bit differs."""
    what = f"The {cls} row of entry {seq}"
    return locks.open_locked(key, data, _row(book, seq, cls, subject), what).decode().split("\n")


def _row(book: str, seq: int, cls: str, subject: str) -> bytes:
    return locks.bound("counterfoil-row/0", book, seq, cls, subject)


def lock_text(key: bytes, *, book: str, subject: str, cls: str, id: str, text: str, nonce: bytes) -> bytes:
    """A draft's text, bound to (format, book, subject, class, id).

    key: the data key of (subject, class); nonce: 12 fresh random bytes, also when the draft is saved again.
    Shape: nonce 12 | ciphertext | tag 16; inside, UTF-8.
    """
    return locks.lock(key, nonce, locks.utf8(text, "draft"), _text(book, subject, cls, id))


def open_text(key: bytes, data: bytes, *, book: str, subject: str, cls: str, id: str) -> str:
    """The text of a draft. Raises: LockedError when key, place or a bit differs."""
    return locks.open_locked(key, data, _text(book, subject, cls, id), f"The text of {subject}").decode()


def _text(book: str, subject: str, cls: str, id: str) -> bytes:
    return locks.bound("counterfoil-draft/0", book, subject, cls, id)
