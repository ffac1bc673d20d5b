"""Seals: the signed state of a book at one size, and the keys that sign it.

Decides the bytes of a signed note (text, then signature lines) and of a checkpoint (the text: origin, size, root),
how a key is written and compared, and the short form of a seal that fits on paper. Leaves to `vault` where the
signing key lies: it comes in as a function from bytes to a 64-byte Ed25519 signature. Whom to trust is the
caller's choice: keys come in too, never out of the note.

    counterfoil/00112233445566778899aabbccddeeff        origin, also the key's name
    12                                                  size
    CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=        root

    \N{EM DASH} counterfoil/00112233445566778899aabbccddeeff Az3grl...   one line a signature

>>> from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
>>> secret = Ed25519PrivateKey.from_private_bytes(bytes(32))
>>> public = secret.public_key().public_bytes_raw()
>>> note = seal("counterfoil/" + "0" * 32, 12, b"\\x11" * 32, public, secret.sign)
>>> key = read_vkey(vkey("counterfoil/" + "0" * 32, public))
>>> checkpoint = verify_seal(note, key)
>>> short_form(checkpoint.size, checkpoint.root)
'12-CEIRCEIRCEIRCEIRCEIR'

Source: C2SP signed-note and tlog-checkpoint (read at commit 5ba5ee83, 2026-07-22); RFC 8032 Ed25519; RFC 4648.
"""

import base64
import binascii
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from hashlib import sha256

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from ledger.chain.tree import HASH_BYTES
from ledger.errors import BookError, InputError

SignFn = Callable[[bytes], bytes]

MAX_SIGNATURES = 64
MAX_SIZE = 2**53 - 1
_ED25519 = b"\x01"
_DASH = "\N{EM DASH} "
_SHORT_DIGITS = 20

_SIZE = re.compile("0|[1-9][0-9]{0,15}")
_VKEY = re.compile(r"([^\s+]+)\+([0-9a-f]{8})\+([A-Za-z0-9+/]+={0,2})")
_SHORT = re.compile(r"([1-9][0-9]{0,15})-([A-Z2-7]{20})")
_CONTROL = re.compile("[\x00-\x09\x0b-\x1f\ud800-\udfff]")  # with halves of characters, which UTF-8 cannot hold


@dataclass(kw_only=True, eq=False)
class SealWrong(BookError):
    """A seal or another signed note cannot be read, or is not signed by the key it should be."""

    why: str

    def __str__(self) -> str:
        return f"This seal proves nothing: {self.why}. Ask for another copy and compare the key's fingerprint."


@dataclass(frozen=True)
class VerifierKey:
    """A public Ed25519 key under its name. `id` is the four bytes by which a signature line names it."""

    name: str
    public: bytes
    id: bytes


@dataclass(frozen=True)
class Signature:
    """One signature line: who, which key, and the bytes after the key's id."""

    name: str
    key_id: bytes
    signature: bytes


@dataclass(frozen=True)
class Note:
    """A text that ends with a line feed, and who signed it."""

    text: str
    signatures: tuple[Signature, ...]


@dataclass(frozen=True)
class Checkpoint:
    """The state of a book: `root` is the hash over its first `size` entries."""

    origin: str
    size: int
    root: bytes
    extensions: tuple[str, ...] = ()


# Keys


def key_id(name: str, public: bytes) -> bytes:
    """Shape: first 4 bytes of SHA-256(name | 0A | 01 | public key)."""
    return sha256(name.encode() + b"\n" + _ED25519 + public).digest()[:4]


def vkey(name: str, public: bytes) -> str:
    """A public key as one line of text. Shape: name+8 hex digits of the id+base64(01 | public key)."""
    return f"{name}+{key_id(name, public).hex()}+{_base64(_ED25519 + public)}"


def read_vkey(text: str) -> VerifierKey:
    """The key in a line of text.

    Raises: InputError for another form, another kind of key, or an id that is not the key's.
    """
    wanted = "a verification key, name+id+base64, of Ed25519"
    found = _VKEY.fullmatch(text.strip())
    key = _from_base64(found[3]) if found else None
    if not found or not key or key[:1] != _ED25519 or len(key) != 33:
        raise InputError(field="key", given=text, wanted=wanted)
    name, public = found[1], key[1:]
    if key_id(name, public).hex() != found[2]:
        raise InputError(field="key", given=text, wanted=f"{wanted}, whose id is {key_id(name, public).hex()}")
    return VerifierKey(name, public, key_id(name, public))


def fingerprint(public: bytes) -> str:
    """What a stranger compares. Shape: 64 lower-case hex digits of SHA-256(01 | public key)."""
    return sha256(_ED25519 + public).hexdigest()


def fingerprint_groups(digits: str) -> str:
    """A fingerprint as it is printed, in sixteen groups of four.

    >>> fingerprint_groups("0123456789abcdef" * 4)[:19]
    '0123 4567 89ab cdef'
    """
    return " ".join(digits[start : start + 4] for start in range(0, len(digits), 4))


def same_fingerprint(one: str, other: str) -> bool:
    """Whether both are the same fingerprint: spaces, colons and capitals do not count, all 64 digits do."""
    first, second = (re.sub(r"[\s:]", "", text).lower() for text in (one, other))
    return first == second and re.fullmatch("[0-9a-f]{64}", first) is not None


# Notes


def read_note(text: str) -> Note:
    """A signed note taken apart, with no signature checked: nothing in it may be believed yet.

    Raises: SealWrong when it is not one.
    """
    if _CONTROL.search(text):
        raise SealWrong(why="a control character stands in it")
    body, gap, lines = text.rpartition("\n\n")
    if not gap or not body or not lines.endswith("\n"):
        raise SealWrong(why="it is not a text, an empty line and signature lines")
    signatures = tuple(map(_read_line, lines[:-1].split("\n")))
    if len(signatures) > MAX_SIGNATURES:
        raise SealWrong(why=f"it has more than {MAX_SIGNATURES} signatures")
    return Note(body + "\n", signatures)


def _read_line(line: str) -> Signature:
    name, gap, rest = line.removeprefix(_DASH).partition(" ")
    data = _from_base64(rest)
    if not line.startswith(_DASH) or not gap or not _is_name(name) or data is None or len(data) < 5:
        raise SealWrong(why="a signature line is not a dash, a name and base64")
    return Signature(name, data[:4], data[4:])


def write_note(note: Note) -> str:
    """The note as text; `read_note` gives it back."""
    return f"{note.text}\n{''.join(map(_write_line, note.signatures))}"


def _write_line(line: Signature) -> str:
    return f"{_DASH}{line.name} {_base64(line.key_id + line.signature)}\n"


def sign_note(text: str, name: str, public: bytes, sign: SignFn) -> str:
    """A note with one signature.

    text: ends with a line feed and holds no other control character.
    Raises: ValueError for another text, or a name that is empty or holds a space or a plus sign.
    """
    if not text.endswith("\n") or _CONTROL.search(text):
        raise ValueError("the text of a note ends with a line feed and holds no other control character")
    return add_signature(write_note(Note(text, ())), name, public, sign)


def add_signature(note_text: str, name: str, public: bytes, sign: SignFn) -> str:
    """The note with one more signature line at its end; the lines before stay as they are."""
    if not _is_name(name):
        raise ValueError("the name of a key is not empty and holds no space and no plus sign")
    text = note_text.rpartition("\n\n")[0] + "\n"
    return note_text + _write_line(Signature(name, key_id(name, public), sign(text.encode())))


def verify_note(note_text: str, keys: Iterable[VerifierKey]) -> Note:
    """The note with the signatures of these keys, all of them checked; lines of other keys are left out.

    Raises: SealWrong when none of the keys signed it or one of their signatures is false.
    """
    note = read_note(note_text)
    known = {(key.name, key.id): key for key in keys}
    ours = tuple(each for each in note.signatures if (each.name, each.key_id) in known)
    if not ours:
        raise SealWrong(why="it is not signed by the key it should be signed by")
    for each in ours:
        try:
            public = Ed25519PublicKey.from_public_bytes(known[each.name, each.key_id].public)
            public.verify(each.signature, note.text.encode())
        except InvalidSignature:
            raise SealWrong(why=f"the signature of {each.name} is not over this text") from None
    return replace(note, signatures=ours)


# Seals


def checkpoint_text(origin: str, size: int, root: bytes) -> str:
    """The text that a seal signs. Shape: origin | LF | size | LF | base64(root) | LF.

    Raises: ValueError for size 0, which nothing can be proved about, or a root that is not 32 bytes long.
    """
    if not 0 < size <= MAX_SIZE or len(root) != HASH_BYTES or not origin or "\n" in origin:
        raise ValueError("a seal has an origin, a size from 1 and a root of 32 bytes")
    return f"{origin}\n{size}\n{_base64(root)}\n"


def read_checkpoint(text: str) -> Checkpoint:
    """The state that a note's text tells.

    Raises: SealWrong when the text is not a checkpoint, or tells of a book without entries.
    """
    lines = text.split("\n")
    if len(lines) < 4 or lines[-1] or not all(lines[:-1]):
        raise SealWrong(why="its text is not an origin, a size and a root")
    root = _from_base64(lines[2])
    if not _SIZE.fullmatch(lines[1]) or root is None or len(root) != HASH_BYTES:
        raise SealWrong(why="its text is not an origin, a size and a root")
    if not 0 < int(lines[1]) <= MAX_SIZE:
        raise SealWrong(why="it seals a book without entries, or of more than any book holds")
    return Checkpoint(lines[0], int(lines[1]), root, tuple(lines[3:-1]))


def seal(origin: str, size: int, root: bytes, public: bytes, sign: SignFn) -> str:
    """The whole note that seals a book at one size, signed by the book's key under the book's name."""
    return sign_note(checkpoint_text(origin, size, root), origin, public, sign)


def read_seal(note_text: str) -> Checkpoint:
    """What a seal says, unverified: compare it, or look up the key to verify it by, and believe nothing else."""
    return read_checkpoint(read_note(note_text).text)


def verify_seal(note_text: str, key: VerifierKey) -> Checkpoint:
    """What a seal says, once this key's signature has been checked.

    Raises: SealWrong.
    """
    return read_checkpoint(verify_note(note_text, [key]).text)


def short_form(size: int, root: bytes) -> str:
    """A seal as a person can copy it: 100 bits of the root. Shape: size-20 base32 digits."""
    return f"{size}-{base64.b32encode(root).decode()[:_SHORT_DIGITS]}"


def read_short_form(text: str) -> tuple[int, str]:
    """Size and base32 digits of a seal in short form; small letters and spaces are taken as a pen leaves them.

    Raises: InputError.

    >>> read_short_form("12-ceir ceir ceir ceir ceir")
    (12, 'CEIRCEIRCEIRCEIRCEIR')
    """
    found = _SHORT.fullmatch(re.sub(r"\s", "", text).upper())
    if not found:
        raise InputError(field="seal", given=text, wanted="a size, a hyphen and 20 letters A to Z or digits 2 to 7")
    return int(found[1]), found[2]


def _is_name(name: str) -> bool:
    return name != "" and not re.search(r"[\s+]", name)


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _from_base64(text: str) -> bytes | None:
    """The bytes, or None for anything but the one text that stands for them."""
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
    return data if _base64(data) == text else None
