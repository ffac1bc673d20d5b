"""How bytes are locked: which published primitives are used, and with which words they are bound.

Decides: AES-256-GCM with a 96-bit nonce for everything that is locked; Argon2id for what a person types;
HKDF-SHA-256 where one secret serves two purposes; the byte form of what a ciphertext is bound to, so that
it opens only in its own place. Leaves to others: which key locks what (`keys_file`, `opened`) and where
the locked bytes lie (`rows`, `pictures`). Chance is handed in, one nonce for each call.

>>> where = bound("counterfoil-row/0", "counterfoil/ab", 7, "seller", "slip/1f")
>>> where
b'["counterfoil-row/0","counterfoil/ab",7,"seller","slip/1f"]'
>>> locked = lock(bytes(32), bytes(12), b"words", where)
>>> open_locked(bytes(32), locked, where, "A row")
b'words'
>>> open_locked(bytes(32), locked, bound("counterfoil-row/0", "counterfoil/ab", 8, "seller", "slip/1f"), "A row")
Traceback (most recent call last):
ledger.errors.LockedError: A row is locked: the key does not fit, or the bytes were changed or moved; ...
"""

import json
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from ledger.errors import InputError, LockedError, StorageError

Chance = Callable[[int], bytes]
"""So many random bytes; `os.urandom` outside tests."""

KEY_BYTES = 32
NONCE_BYTES = 12
TAG_BYTES = 16
SALT_BYTES = 16


@dataclass(frozen=True)
class Cost:
    """What one guess at a pass-phrase costs.

    Source: RFC 9106, section 4: the second recommended choice is 64 MiB, 3 passes, 4 lanes.
    """

    memory_kib: int
    """kibibytes, at least 8 for each lane, at most 4 GiB"""
    passes: int
    """1 to 100"""
    lanes: int
    """1 to 64"""

    def __post_init__(self) -> None:
        # A keys file comes from a disk: without limits a changed figure would eat the machine's memory.
        if not (1 <= self.lanes <= 64 and 1 <= self.passes <= 100 and 8 * self.lanes <= self.memory_kib <= 4_194_304):
            raise InputError(
                field="cost",
                given=f"{self.memory_kib} KiB, {self.passes} passes, {self.lanes} lanes",
                wanted="1 to 64 lanes, 1 to 100 passes, and 8 KiB a lane up to 4 GiB",
            )


USUAL = Cost(65_536, 3, 4)
"""Source: RFC 9106, section 4, second recommended choice."""


def take(chance: Chance, count: int) -> bytes:
    """So many bytes of chance. Raises: StorageError when the source gives another number of them."""
    got = chance(count)
    if len(got) != count:
        raise StorageError(
            path="the source of chance",
            why=f"{count} bytes were asked and {len(got)} came; nothing was locked, restart the machine",
        )
    return got


def bound(*parts: str | int) -> bytes:
    """The words a ciphertext is bound to, as bytes that no other list of words gives.

    Shape: a JSON array without spaces, UTF-8; strings and whole numbers only.
    Raises: InputError for text that has no UTF-8 form.
    """
    return utf8(json.dumps(parts, ensure_ascii=False, separators=(",", ":")), "name")


def utf8(text: str, field: str) -> bytes:
    """The text in UTF-8. Raises: InputError for half characters; the text itself is not in its sentence."""
    try:
        return text.encode()
    except UnicodeEncodeError:
        raise InputError(
            field=field,
            given=f"text of {len(text)} characters, one of them half",
            wanted="text in UTF-8; type it again",
        ) from None


def lock(key: bytes, nonce: bytes, data: bytes, where: bytes) -> bytes:
    """The data locked with AES-256-GCM and bound to its place.

    key: 32 bytes; nonce: 12 bytes, fresh for every call with this key; where: from `bound`.
    Shape: nonce 12 | ciphertext | tag 16.
    Source: NIST SP 800-38D.
    Raises: InputError for a key or nonce of another length.
    """
    if len(key) != KEY_BYTES or len(nonce) != NONCE_BYTES:
        raise InputError(field="key and nonce", given=f"{len(key)} and {len(nonce)} bytes", wanted="32 and 12 bytes")
    return nonce + AESGCM(key).encrypt(nonce, data, where)


def open_locked(key: bytes, locked: bytes, where: bytes, what: str) -> bytes:
    """The data inside; `what` names it in the error, without saying anything that is secret.

    Raises: LockedError when the key, the place or a single bit differs.
    """
    if len(key) == KEY_BYTES and len(locked) >= NONCE_BYTES + TAG_BYTES:
        try:
            return AESGCM(key).decrypt(locked[:NONCE_BYTES], locked[NONCE_BYTES:], where)
        except InvalidTag:
            pass
    raise LockedError(
        what=what,
        why="the key does not fit, or the bytes were changed or moved; open it with the right keys, "
        "or put it back from the newest backup",
    )


def stretch(pass_phrase: str, salt: bytes, cost: Cost) -> bytes:
    """A key of 32 bytes from what a person typed: Argon2id over its NFC form in UTF-8.

    Source: RFC 9106 (version 0x13, no secret value, no associated data).
    """
    typed = utf8(unicodedata.normalize("NFC", pass_phrase), "pass-phrase")
    argon = Argon2id(salt=salt, length=KEY_BYTES, iterations=cost.passes, lanes=cost.lanes, memory_cost=cost.memory_kib)
    return argon.derive(typed)


def spread(secret: bytes, salt: bytes, purpose: bytes, length: int = KEY_BYTES) -> bytes:
    """A key for one purpose from a secret that already is random. Source: RFC 5869 with SHA-256."""
    return HKDF(algorithm=SHA256(), length=length, salt=salt, info=purpose).derive(secret)
