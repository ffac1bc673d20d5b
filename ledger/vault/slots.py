"""The layout of a keys file: its slots, what wraps what, and the code that authenticates the list.

Decides: the members of `keys.json` (KEYS.md tells them to a stranger), what each wrapped key is bound to, how
the owner secret vouches for the list. Leaves to others: the acts on the file and its place on a disk
(`keys_file`). Nothing here keeps a secret: each function takes the secrets it needs.

A slot is one person's, or the paper key's. Its slot key is random and stands there twice: wrapped under what
the person types, and under the owner secret, so that an owner can renew what the slot opens without asking.

>>> from_bytes(b"{}", Path("keys.json"))
Traceback (most recent call last):
ledger.errors.StorageError: keys.json: is not a keys file that this program wrote; put back the newest keys backup.
"""

import hashlib
import hmac
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import orjson

from ledger.errors import InputError, StorageError
from ledger.vault import paper_key
from ledger.vault.locks import (
    NONCE_BYTES,
    SALT_BYTES,
    Chance,
    Cost,
    bound,
    lock,
    open_locked,
    spread,
    stretch,
    take,
)
from ledger.vault.opened import Role

FORMAT = "counterfoil-keys/0"
PAPER = "paper"
"""The slot that the paper key opens; no person may be called so."""

_WHAT = "The keys file"


@dataclass(frozen=True)
class Typed:
    """A slot key wrapped under what a person types."""

    cost: Cost | None
    """what a guess costs; None for the paper key, whose 160 random bits need no stretching"""
    salt: bytes
    wrapped: bytes


@dataclass(frozen=True)
class Slot:
    """One person's slot, or the paper key's."""

    staff: str
    role: Role
    known_since: int
    """the generation of the owner secret under which this slot key was made; see `KeysFile.owners`"""
    typed: Typed
    for_owner: bytes
    """the slot key, wrapped under the owner secret"""
    counter: bytes
    """the counter secret, wrapped under the slot key"""
    owner: bytes | None
    """the owner secret, wrapped under the slot key; None in a clerk's slot"""


@dataclass(frozen=True)
class KeysFile:
    """A keys file as it stands: nothing in it is secret without a slot key."""

    book: str
    public: bytes
    """Ed25519 key that checks the book's seals"""
    owners: int
    """generation of the owner secret: grows when an owner leaves, who knew every slot key until then"""
    epoch: str
    """the current epoch"""
    epochs: Mapping[str, bytes]
    """wrapping key of each epoch, wrapped under the counter secret"""
    index: bytes
    """index key, wrapped under the counter secret"""
    signing: bytes
    """seed of the signing key, wrapped under the counter secret"""
    slots: tuple[Slot, ...]
    code: bytes = b""
    """HMAC-SHA-256 of everything but the typed wraps, under a key that comes from the owner secret"""

    def slot(self, staff: str) -> Slot | None:
        """The slot of one person, or None."""
        return next((slot for slot in self.slots if slot.staff == staff), None)

    def with_slot(self, changed: Slot) -> "KeysFile":
        """The file with this slot in the place of the one of the same person, or at the end."""
        if self.slot(changed.staff) is None:
            return replace(self, slots=(*self.slots, changed))
        slots = (changed if slot.staff == changed.staff else slot for slot in self.slots)
        return replace(self, slots=tuple(slots))


@dataclass(frozen=True, eq=False)
class Held:
    """The two secrets of a book, in an owner's hands. Nothing of them is in its repr."""

    counter: bytes = field(repr=False)
    """opens the shop: wraps the wrapping keys, the index key and the signing key"""
    owner: bytes = field(repr=False)
    """wraps slot keys, authenticates the list of slots"""


def typed_under(
    book: str, staff: str, role: Role, slot_key: bytes, text: str, cost: Cost | None, chance: Chance
) -> Typed:
    """A slot key wrapped under a pass-phrase, or under the paper key where there is no cost."""
    salt = take(chance, SALT_BYTES)
    where = _in_slot(book, staff, role, "typed")
    return Typed(cost, salt, lock(_typed_key(text, salt, cost), take(chance, NONCE_BYTES), slot_key, where))


def open_typed(book: str, slot: Slot, text: str) -> bytes:
    """The slot key. Raises: LockedError when something else was typed."""
    key = _typed_key(text, slot.typed.salt, slot.typed.cost)
    return open_locked(key, slot.typed.wrapped, _in_slot(book, slot.staff, slot.role, "typed"), _WHAT)


def _typed_key(text: str, salt: bytes, cost: Cost | None) -> bytes:
    if cost is None:
        return spread(paper_key.read(text), salt, b"counterfoil-keys/0 paper key")
    return stretch(text, salt, cost)


def filled(
    book: str, staff: str, role: Role, typed: Typed, slot_key: bytes, known_since: int, held: Held, chance: Chance
) -> Slot:
    """A slot that opens these secrets: the counter secret for everyone, the owner secret for owners only."""
    nonces = [take(chance, NONCE_BYTES) for _ in range(3)]
    return Slot(
        staff=staff,
        role=role,
        known_since=known_since,
        typed=typed,
        for_owner=lock(_wrapping(held), nonces[0], slot_key, _in_slot(book, staff, role, "for owner")),
        counter=lock(slot_key, nonces[1], held.counter, _in_slot(book, staff, role, "counter")),
        owner=lock(slot_key, nonces[2], held.owner, _in_slot(book, staff, role, "owner")) if role == "owner" else None,
    )


def refilled(book: str, slot: Slot, before: Held, now: Held, chance: Chance) -> Slot:
    """The slot opening other secrets, without its person: the owner secret of before gives the slot key."""
    where = _in_slot(book, slot.staff, slot.role, "for owner")
    slot_key = open_locked(_wrapping(before), slot.for_owner, where, _WHAT)
    return filled(book, slot.staff, slot.role, slot.typed, slot_key, slot.known_since, now, chance)


def open_counter(book: str, slot: Slot, slot_key: bytes) -> bytes:
    """The counter secret. Raises: LockedError."""
    return open_locked(slot_key, slot.counter, _in_slot(book, slot.staff, slot.role, "counter"), _WHAT)


def open_owner(book: str, slot: Slot, slot_key: bytes) -> bytes | None:
    """The owner secret; None in a clerk's slot. Raises: LockedError."""
    if slot.owner is None:
        return None
    return open_locked(slot_key, slot.owner, _in_slot(book, slot.staff, slot.role, "owner"), _WHAT)


def _in_slot(book: str, staff: str, role: str, use: str) -> bytes:
    return bound(FORMAT, book, "slot", staff, role, use)


def lock_book_key(book: str, use: str, key: bytes, counter: bytes, chance: Chance) -> bytes:
    """A key of the book under the counter secret. use: "index", "signing", or an epoch's name."""
    return lock(counter, take(chance, NONCE_BYTES), key, bound(FORMAT, book, "key", use))


def open_book_key(book: str, use: str, wrapped: bytes, counter: bytes) -> bytes:
    """A key of the book. Raises: LockedError."""
    return open_locked(counter, wrapped, bound(FORMAT, book, "key", use), _WHAT)


def _wrapping(held: Held) -> bytes:
    return spread(held.owner, b"", b"counterfoil-keys/0 wrap slot keys")


def list_code(file: KeysFile, owner: bytes) -> bytes:
    """What the owner secret says about the list: 32 bytes over everything but the typed wraps.

    The typed wraps stay out so that a clerk can change her own pass-phrase; each of them holds only against
    the slot key beside it.
    """
    told = _members(replace(file, code=b""))
    for slot in told["slots"]:
        del slot["typed"]
    text = orjson.dumps(told, option=orjson.OPT_SORT_KEYS)
    key = spread(owner, b"", b"counterfoil-keys/0 authenticate the list")
    return hmac.digest(key, text, hashlib.sha256)


def same_code(file: KeysFile, owner: bytes) -> bool:
    """Whether the owner secret vouches for the list as it stands."""
    return hmac.compare_digest(file.code, list_code(file, owner))


def to_bytes(file: KeysFile) -> bytes:
    """The bytes of `keys.json`. Shape: JSON in UTF-8, keys and wraps as lower-case hex; see KEYS.md."""
    return orjson.dumps(_members(file), option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)


def _members(file: KeysFile) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "book": file.book,
        "public": file.public.hex(),
        "owners": file.owners,
        "epoch": file.epoch,
        "epochs": {epoch: wrapped.hex() for epoch, wrapped in file.epochs.items()},
        "index": file.index.hex(),
        "signing": file.signing.hex(),
        "slots": [_slot_members(slot) for slot in file.slots],
        "code": file.code.hex(),
    }


def _slot_members(slot: Slot) -> dict[str, Any]:
    cost = slot.typed.cost
    typed: dict[str, Any] = {"by": "hkdf-sha-256"}
    if cost is not None:
        typed = {"by": "argon2id", "memory_kib": cost.memory_kib, "passes": cost.passes, "lanes": cost.lanes}
    return {
        "staff": slot.staff,
        "role": slot.role,
        "known_since": slot.known_since,
        "typed": typed | {"salt": slot.typed.salt.hex(), "wrapped": slot.typed.wrapped.hex()},
        "for_owner": slot.for_owner.hex(),
        "counter": slot.counter.hex(),
        "owner": slot.owner.hex() if slot.owner is not None else None,
    }


def from_bytes(data: bytes, path: Path) -> KeysFile:
    """The keys file in these bytes. Raises: StorageError for anything that `to_bytes` does not write."""
    try:
        read = orjson.loads(data)
        if read["format"] != FORMAT:
            raise ValueError
        file = KeysFile(
            book=_text(read["book"]),
            public=bytes.fromhex(read["public"]),
            owners=int(read["owners"]),
            epoch=_text(read["epoch"]),
            epochs={epoch: bytes.fromhex(wrapped) for epoch, wrapped in read["epochs"].items()},
            index=bytes.fromhex(read["index"]),
            signing=bytes.fromhex(read["signing"]),
            slots=tuple(_read_slot(slot) for slot in read["slots"]),
            code=bytes.fromhex(read["code"]),
        )
        if to_bytes(file) == data:
            return file
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError, InputError):
        pass
    raise StorageError(path=path, why="is not a keys file that this program wrote; put back the newest keys backup")


def _read_slot(read: Any) -> Slot:
    typed = read["typed"]
    cost = None
    if typed["by"] == "argon2id":
        cost = Cost(int(typed["memory_kib"]), int(typed["passes"]), int(typed["lanes"]))
    return Slot(
        staff=_text(read["staff"]),
        role="owner" if read["role"] == "owner" else "clerk",
        known_since=int(read["known_since"]),
        typed=Typed(cost, bytes.fromhex(typed["salt"]), bytes.fromhex(typed["wrapped"])),
        for_owner=bytes.fromhex(read["for_owner"]),
        counter=bytes.fromhex(read["counter"]),
        owner=None if read["owner"] is None else bytes.fromhex(read["owner"]),
    )


def _text(read: Any) -> str:
    if not isinstance(read, str):
        raise TypeError
    return read
