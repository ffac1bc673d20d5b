"""The keys of a book while it is open: what a clerk's or an owner's slot gives.

Decides: how a data key is made, wrapped and opened again; how a value becomes a row of the blind index;
what the signing key signs with. Leaves to others: how the keys got out of the file (`keys_file`), who may
do what (the acts), where wrapped keys and index rows are kept (book).

A data key is random, one for each subject and class, wrapped under the wrapping key of an epoch and bound to
(book, subject, class, epoch): moved to another slip or another class it does not open. A wrapping key is
random too, never derived, so that destroying it destroys what it wrapped.

>>> secrets = Secrets(slot=bytes(32), index=bytes(32), signing=bytes(32), wrapping={"e1": bytes(32)})
>>> keys = opened("ada", "clerk", "counterfoil/" + "0" * 32, "e1", secrets)
>>> key, wrapped = keys.fresh_data_key("slip/1f", "seller", bytes)
>>> keys.unwrap(wrapped) == key
True
>>> keys.blind("document", "X123")[:16]
'c899f8e4c84576bd'
>>> keys
OpenKeys(staff='ada', role='clerk', book='counterfoil/00000000000000000000000000000000', epoch='e1')
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, Self, cast

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.hmac import HMAC

from ledger.errors import InputError, LockedError
from ledger.vault.locks import KEY_BYTES, NONCE_BYTES, Chance, bound, lock, open_locked, take

Role = Literal["clerk", "owner"]

CLASSES = frozenset({"seller", "print", "scan", "item", "money", "law", "case", "staff", "draft"})
"""What can be forgotten alone, for one subject."""

_HANDED_OVER = "counterfoil-opened-keys/0"


@dataclass(frozen=True)
class WrappedKey:
    """A data key as the table of data keys holds it."""

    subject: str
    """slip, lot, inquiry, process, inspection, report, staff or look, by its random id"""
    cls: str
    """one of CLASSES"""
    epoch: str
    wrapped: bytes
    """Shape: nonce 12 | ciphertext 32 | tag 16"""


@dataclass(frozen=True, eq=False)
class Secrets:
    """What must never be printed: no value of it is in its repr, and it compares only to itself."""

    slot: bytes = field(repr=False)
    """the slot key of whoever opened"""
    index: bytes = field(repr=False)
    signing: bytes = field(repr=False)
    """seed of the Ed25519 key"""
    wrapping: Mapping[str, bytes] = field(repr=False)
    """by epoch: the current one, and during a rotation the one before"""
    owner: bytes | None = field(repr=False, default=None)
    """the owner secret; None behind a clerk's slot"""


@dataclass(frozen=True, eq=False)
class OpenKeys:
    """An opened book. Made by `keys_file.open_file` and `keeper.fetch`; nothing secret is in its repr."""

    staff: str
    """whose slot it was; "paper" for the paper key"""
    role: Role
    book: str
    epoch: str
    """the epoch that wraps new data keys"""
    public: bytes = field(repr=False)
    """the Ed25519 key that checks this book's seals, 32 bytes"""
    secrets: Secrets = field(repr=False)

    @property
    def owner(self) -> bool:
        """Whether the owner secret is here; without it an owner's acts are impossible, not only forbidden."""
        return self.secrets.owner is not None

    def sign(self, message: bytes) -> bytes:
        """Ed25519 signature of the book's key, 64 bytes. Source: RFC 8032."""
        return Ed25519PrivateKey.from_private_bytes(self.secrets.signing).sign(message)

    def blind(self, kind: str, value: str) -> str:
        """The row of the blind index for a value: 64 hex digits, equal for equal values of one kind.

        value: as the caller normalised it. Never index alone what has few values (a birth date): equal rows
        would tell how often each occurs.
        Source: RFC 2104 with SHA-256.
        """
        code = HMAC(self.secrets.index, SHA256())
        code.update(bound("counterfoil-blind/0", kind, value))
        return code.finalize().hex()

    def fresh_data_key(self, subject: str, cls: str, chance: Chance) -> tuple[bytes, WrappedKey]:
        """A new random key for one class of one subject, and its wrapped form for the table of data keys.

        Raises: InputError for an unknown class or an empty subject.
        """
        if cls not in CLASSES or not subject:
            raise InputError(
                field="class and subject",
                given=f"{cls} {subject}",
                wanted=f"a subject, and one of {sorted(CLASSES)}",
            )
        key = take(chance, KEY_BYTES)
        return key, self._wrap(key, subject, cls, chance)

    def unwrap(self, wrapped: WrappedKey) -> bytes:
        """The data key, 32 bytes.

        Raises: LockedError when its epoch is gone, or it was moved to another subject, class or book.
        """
        what = f"The {wrapped.cls} class of {wrapped.subject}"
        wrapping = self.secrets.wrapping.get(wrapped.epoch)
        if wrapping is None:
            raise LockedError(
                what=what,
                why=f"its key belongs to the epoch {wrapped.epoch}, which these keys do not hold; "
                "run `counterfoil lock` and `counterfoil unlock`, or restore the newest keys backup",
            )
        where = self._where(wrapped.subject, wrapped.cls, wrapped.epoch)
        return open_locked(wrapping, wrapped.wrapped, where, what)

    def rewrap(self, wrapped: WrappedKey, chance: Chance) -> WrappedKey:
        """The same data key under the current epoch; one that already is there comes back as it is.

        Raises: LockedError as `unwrap` does.
        """
        key = self.unwrap(wrapped)
        return wrapped if wrapped.epoch == self.epoch else self._wrap(key, wrapped.subject, wrapped.cls, chance)

    def _wrap(self, key: bytes, subject: str, cls: str, chance: Chance) -> WrappedKey:
        where = self._where(subject, cls, self.epoch)
        locked = lock(self.secrets.wrapping[self.epoch], take(chance, NONCE_BYTES), key, where)
        return WrappedKey(subject, cls, self.epoch, locked)

    def _where(self, subject: str, cls: str, epoch: str) -> bytes:
        return bound("counterfoil-data-key/0", self.book, subject, cls, epoch)

    def to_bytes(self) -> bytes:
        """Everything, secrets too, for the key keeper's socket and nothing else.

        Shape: a JSON object in UTF-8; keys as hex.
        """
        held = self.secrets
        return json.dumps(
            {
                "format": _HANDED_OVER,
                "staff": self.staff,
                "role": self.role,
                "book": self.book,
                "epoch": self.epoch,
                "slot": held.slot.hex(),
                "index": held.index.hex(),
                "signing": held.signing.hex(),
                "wrapping": {epoch: key.hex() for epoch, key in held.wrapping.items()},
                "owner": held.owner.hex() if held.owner is not None else None,
            }
        ).encode()

    @classmethod
    def from_bytes(cls, data: bytes) -> Self:
        """The keys that `to_bytes` packed. Raises: LockedError; nothing of the bytes is in its text."""
        try:
            read = json.loads(data)
            if read["format"] != _HANDED_OVER:
                raise ValueError
            secrets = Secrets(
                slot=bytes.fromhex(read["slot"]),
                index=bytes.fromhex(read["index"]),
                signing=bytes.fromhex(read["signing"]),
                wrapping={str(epoch): bytes.fromhex(key) for epoch, key in read["wrapping"].items()},
                owner=None if read["owner"] is None else bytes.fromhex(read["owner"]),
            )
            staff, role, book, epoch = (str(read[name]) for name in ("staff", "role", "book", "epoch"))
            return cls(staff, cast(Role, role), book, epoch, _public(secrets.signing), secrets)
        except (ValueError, KeyError, TypeError, AttributeError):
            raise LockedError(
                what="The book",
                why="what the key keeper handed over is not the opened keys of this program's version; "
                "run `counterfoil lock` and `counterfoil unlock`",
            ) from None


def opened(staff: str, role: Role, book: str, epoch: str, secrets: Secrets) -> OpenKeys:
    """Opened keys from their secrets; the public key follows from the signing key."""
    return OpenKeys(staff, role, book, epoch, _public(secrets.signing), secrets)


def _public(seed: bytes) -> bytes:
    return Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw()
