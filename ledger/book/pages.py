"""Writes entries into a book: the only way in.

`Book.writing()` is one transaction under the write lock; `Page.append` adds one entry with everything that
belongs to it: tree nodes, locked rows, wrapped data keys and the rows derived from it. Leaving the block without
an error is the commit point: what was appended is then durable; leaving it with one leaves the book untouched.
Time, chance and keys are handed in.

    with book.writing() as page:
        entry = page.append("moved/0", about=["item/12/1"], public={}, held=[Held(part, "item", draft)])
        note = page.seal()
    # From here on the entry is in the book, and the seal over it is kept.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.statements import put
from ledger.chain import entries, parts, seals, tree
from ledger.errors import BookUnsound, InputError, LockedError
from ledger.moments import local_text
from ledger.vault import keys_file, rows
from ledger.vault.keys_file import OpenKeys, WrappedKey

Chance = Callable[[int], bytes]
Clock = Callable[[], datetime]

# Built once: these run inside the write lock of every purchase, and building a statement costs more than running it.
_IN_BOOK: sa.BindParameter[str] = sa.bindparam("in_book")
_NEWEST = (
    sa.select(tables.entries.c.seq, tables.entries.c.leaf)
    .where(tables.entries.c.book == _IN_BOOK)
    .order_by(tables.entries.c.seq.desc())
    .limit(1)
)
_HIGHEST_SLIP = sa.select(sa.func.max(tables.slips.c.slip)).where(tables.slips.c.book == _IN_BOOK)
_SEAL_OF = sa.select(tables.seals.c.note).where(
    tables.seals.c.book == _IN_BOOK, tables.seals.c.size == sa.bindparam("at_size")
)
_KEY_OF = sa.select(tables.data_keys.c.epoch, tables.data_keys.c.wrapped).where(
    tables.data_keys.c.book == _IN_BOOK,
    tables.data_keys.c.subject == sa.bindparam("of_subject"),
    tables.data_keys.c["class"] == sa.bindparam("of_class"),
)


def _projections() -> ModuleType:
    """What derives rows from an entry, with law and assay behind it: loaded by whoever writes, not by readers."""
    from ledger.book import projections

    return projections


@dataclass(frozen=True)
class Held:
    """One part of an entry, and the data key (subject x class) under which it is locked away."""

    part: parts.Part
    cls: str
    subject: str


@dataclass(frozen=True)
class Head:
    """Where a book ends: the size of its tree, its last leaf, and the right edge of the tree."""

    size: int
    leaf: bytes
    recorded_at: str | None
    edge: Mapping[tuple[int, int], bytes]


@dataclass
class Book:
    """One shop's book, opened. keys is None while it is locked: then nothing personal can be read or written."""

    folder: Path
    engine: sa.Engine
    origin: str
    clock: Clock
    chance: Chance
    program: str
    keys: OpenKeys | None = None
    by: str = "program"
    _head: Head | None = field(default=None, repr=False)
    _data_keys: dict[tuple[str, str], bytes] = field(default_factory=dict, repr=False)

    def opened(self) -> OpenKeys:
        """The opened keys. Raises: LockedError."""
        if self.keys is None:
            why = "unlock it with `counterfoil unlock`, or give --unlock-with FILE"
            raise LockedError(what="The vault of this book", why=why)
        return self.keys

    def hold(self, name: str, value: Any, subject: str, cls: str | None = None) -> Held:
        """A part with a fresh salt, to be locked away under subject and the class its name says."""
        return Held(parts.make(name, value, self.chance(16)), cls or parts.class_of(name), subject)

    @contextmanager
    def writing(self) -> Iterator["Page"]:
        """One transaction; one writer at a time.

        Raises: StorageError; LockedError when the opened keys are no longer the newest. Then nothing was written.
        """
        _projections()  # before the lock: nobody waits for a module to load
        with engines.writing(self.engine, self.origin) as connection:
            if self.keys is not None:  # inside the lock: whoever was shut out meanwhile writes nothing more
                keys_file.check_current(self.folder / "keys.json", self.keys)
            page = Page(self, connection, self._head_of(connection))
            yield page
            page.keep_new_keys()
        self._head = page.head
        self._data_keys.update(page.keys)
        for known in [one for one in list(self._data_keys) if one[0] in page.dropped]:
            self._data_keys.pop(known, None)

    def _head_of(self, connection: sa.Connection) -> Head:
        row = connection.execute(_NEWEST, {"in_book": self.origin}).first()
        if row is None:
            return Head(0, entries.ZERO, None, {})
        if self._head is not None and (row.seq, row.leaf) == (self._head.size - 1, self._head.leaf):
            return self._head
        return read_head(connection, self.origin, row.seq, row.leaf)


def read_head(connection: sa.Connection, book: str, seq: int, leaf: bytes) -> Head:
    """The head of a book whose last entry is seq.

    Raises: BookUnsound when that entry is not what its leaf hash says, or the tree lacks nodes: nothing may be built
    on either.
    """
    entry, node = tables.entries.c, tables.nodes.c
    data = connection.execute(sa.select(entry.bytes).where(entry.book == book, entry.seq == seq)).scalar_one()
    last = entries.read(tables.as_bytes(data))
    if (last.seq, last.leaf) != (seq, leaf):
        raise BookUnsound(what=f"The last entry, {seq}, is not the one that was written.")
    size = seq + 1
    places = [(level, (size >> level) - 1) for level in range(size.bit_length()) if size >> level & 1]
    wanted = sa.or_(*(sa.and_(node.level == level, node.idx == idx) for level, idx in places))
    found = connection.execute(sa.select(node.level, node.idx, node.hash).where(node.book == book, wanted))
    edge = {(level, idx): tables.as_bytes(value) for level, idx, value in found}
    if len(edge) != len(places):
        raise BookUnsound(what=f"The tree over the first {size} entries lacks {len(places) - len(edge)} of its nodes.")
    return Head(size, last.leaf, last.recorded_at, edge)


class Page:
    """What is being written in one transaction."""

    def __init__(self, book: Book, connection: sa.Connection, head: Head) -> None:
        self.book = book
        self.connection = connection
        self.head = head
        self.keys: dict[tuple[str, str], bytes] = {}
        self.dropped: set[str] = set()
        self._new_keys: list[tuple[str, str, str, str, bytes]] = []
        self._new_subjects: set[str] = set()
        self._now: datetime | None = None

    @property
    def now(self) -> datetime:
        """The machine's clock, read once: what one transaction writes was recorded at one moment.

        As exact as entries hold it, milliseconds, so that what an act works out from it can be worked out again.
        """
        if self._now is None:
            read = self.book.clock()
            self._now = read.replace(microsecond=read.microsecond // 1000 * 1000)
        return self._now

    def must_have_happened(self, at: datetime, field: str = "at") -> str:
        """The text of a local moment that is not ahead of the machine's clock.

        Raises: InputError for a later one, so that nobody frees goods or money by dating an act ahead.
        """
        if at.replace(microsecond=at.microsecond // 1000 * 1000) > self.now:
            clock = local_text(self.now.astimezone(at.tzinfo))
            raise InputError(
                field=field, given=local_text(at), wanted=f"a moment not after the machine's clock ({clock})"
            )
        return local_text(at)

    def append(
        self,
        kind: str,
        *,
        about: Sequence[str],
        public: Mapping[str, Any],
        held: Sequence[Held] = (),
        occurred_at: str | None = None,
        by: str | None = None,
    ) -> entries.Entry:
        """The entry that will stand in the book when the transaction ends.

        held: its parts; their digests stand in the entry, their text goes into the vault.
        Raises: InputError (over 60,000 bytes, members that the kind has not), LockedError, StorageError.
        """
        entry = entries.make(
            book=self.book.origin,
            seq=self.head.size,
            prev=self.head.leaf,
            kind=kind,
            recorded_at=self.now,
            previous_recorded_at=self.head.recorded_at,
            by=by or self.book.by,
            program=self.book.program,
            about=about,
            public=public,
            parts=[one.part.digest for one in held],
            occurred_at=occurred_at,
        )
        locked = self._lock(entry.seq, held)
        self.write(entry, locked)
        self.keep_new_keys()
        shown = [(one.part.name, one.part.value) for one in held]
        blind = None if self.book.keys is None else self.book.keys.blind
        projections = _projections()
        projections.apply(self.connection, projections.Line(entry, shown, blind))
        return entry

    def write(self, entry: entries.Entry, locked: Sequence[tuple[str, str, bytes]]) -> None:
        """Insert a prepared entry with its nodes and locked rows (class, subject, bytes), and move the head."""
        book, size = entry.book, self.head.size
        new = tree.new_nodes(size, entry.leaf, lambda level, idx: self.head.edge[level, idx])
        put(self.connection, tables.entries, [(book, entry.seq, entry.data, entry.leaf, entry.prev)])
        put(self.connection, tables.nodes, [(book, *node) for node in new])
        put(self.connection, tables.locked_rows, [(book, entry.seq, *row) for row in locked])
        self.head = Head(size + 1, entry.leaf, entry.recorded_at, _edge(size + 1, self.head.edge, new))

    def adopt(self, wrapped: WrappedKey, key: bytes) -> None:
        """Keep a data key that was made while the slip was drafted, in this transaction."""
        self._new_keys.append(_key_row(self.book.origin, wrapped))
        self.keys[wrapped.subject, wrapped.cls] = key

    def begin_subject(self, subject: str) -> None:
        """Say that a subject is new, drawn at random in this act: the book cannot hold any key of it yet."""
        self._new_subjects.add(subject)

    def keep_new_keys(self) -> None:
        """Write the data keys adopted since the last entry. Called before the transaction ends."""
        put(self.connection, tables.data_keys, self._new_keys)
        self._new_keys = []

    def key_for(self, subject: str, cls: str) -> bytes:
        """The data key of a subject x class, made now if there is none. Raises: LockedError."""
        known = self.keys.get((subject, cls))
        if known is None and subject not in self._new_subjects:
            # Read anew inside the lock: what was forgotten meanwhile must not be locked under a key that is gone.
            self.book._data_keys.pop((subject, cls), None)
            known = find_key(self.connection, self.book, subject, cls)
        if known is None:
            known, wrapped = self.book.opened().fresh_data_key(subject, cls, self.book.chance)
            self.adopt(wrapped, known)
        self.keys[subject, cls] = known
        return known

    def drop_keys(self, subject: str) -> None:
        """Delete the data keys of a subject of which no entry tells: what they locked opens no more."""
        row = tables.data_keys.c
        self.connection.execute(sa.delete(tables.data_keys).where(row.book == self.book.origin, row.subject == subject))
        self.dropped.add(subject)

    def next_slip(self) -> int:
        """The next slip number: highest + 1, read inside the write lock."""
        highest = self.connection.execute(_HIGHEST_SLIP, {"in_book": self.book.origin}).scalar()
        return int(highest or 0) + 1

    def put_rule_file(self, digest: str, data: bytes) -> None:
        """Keep a rule file's exact bytes for ever, once."""
        file = tables.rule_files.c
        known = sa.select(file.digest).where(file.book == self.book.origin, file.digest == digest)
        if self.connection.execute(known).first() is None:
            put(self.connection, tables.rule_files, [(self.book.origin, digest, data)])

    def root(self) -> bytes:
        """The root of the tree over everything appended so far."""
        return tree.root(self.head.size, lambda level, idx: self.head.edge[level, idx])

    def seal(self) -> str:
        """The signed seal over everything appended so far, kept in this transaction. Raises: LockedError."""
        note = self.connection.execute(_SEAL_OF, {"in_book": self.book.origin, "at_size": self.head.size}).scalar()
        if note is not None:
            return str(note)
        keys = self.book.opened()
        note = seals.seal(self.book.origin, self.head.size, self.root(), keys.public, keys.sign)
        put(self.connection, tables.seals, [(self.book.origin, self.head.size, note)])
        return note

    def _lock(self, seq: int, held: Sequence[Held]) -> list[tuple[str, str, bytes]]:
        groups: dict[tuple[str, str], list[str]] = {}
        for one in held:
            groups.setdefault((one.cls, one.subject), []).append(one.part.disclosure)
        return [
            (
                cls,
                subject,
                rows.lock(
                    self.key_for(subject, cls),
                    book=self.book.origin,
                    seq=seq,
                    cls=cls,
                    subject=subject,
                    disclosures=disclosures,
                    nonce=self.book.chance(12),
                ),
            )
            for (cls, subject), disclosures in groups.items()
        ]


def find_key(connection: sa.Connection, book: Book, subject: str, cls: str) -> bytes | None:
    """The data key of a subject x class, or None when there is none (never made, or forgotten)."""
    known = book._data_keys.get((subject, cls))
    if known is not None:
        return known
    if not all(isinstance(name, str) and name.isprintable() for name in (subject, cls)):
        # SQLite keeps whatever somebody put into a column; no name of ours looks like that.
        raise BookUnsound(what="Something is locked under a name that is no text.")
    row = connection.execute(_KEY_OF, {"in_book": book.origin, "of_subject": subject, "of_class": cls}).first()
    if row is None:
        return None
    opened = book.opened().unwrap(WrappedKey(subject, cls, row.epoch, tables.as_bytes(row.wrapped)))
    book._data_keys[subject, cls] = opened
    return opened


def _key_row(book: str, wrapped: WrappedKey) -> tuple[str, str, str, str, bytes]:
    return (book, wrapped.subject, wrapped.cls, wrapped.epoch, wrapped.wrapped)


def _edge(
    size: int, before: Mapping[tuple[int, int], bytes], new: Iterable[tuple[int, int, bytes]]
) -> dict[tuple[int, int], bytes]:
    """The complete subtrees that make up a tree of this size, largest first."""
    known = {**before, **{(level, idx): value for level, idx, value in new}}
    places = [(level, (size >> level) - 1) for level in range(size.bit_length()) if size >> level & 1]
    return {place: known[place] for place in reversed(places)}
