"""Proof files: one entry's place in a book, with the seal that fixes it, as a file to hand to a stranger.

Decides the text of a `.tlog-proof` file and checks one. Leaves to the reader whether the entry says what is
claimed, and whose key it is.

    c2sp.org/tlog-proof@v1
    extra <base64>              optional; proved by nothing, so nothing here believes it
    index 3
    <base64 hash>               one line a hash, from the leaf's neighbour up to the root's child
    <empty line>
    <the seal, as it was signed>

>>> read(write(0, (), "seal", b"hello")).extra
b'hello'

Source: C2SP tlog-proof (read at commit 0065ea5b).
"""

import base64
import re
from collections.abc import Sequence
from dataclasses import dataclass

from ledger.chain import seals, tree

HEAD = "c2sp.org/tlog-proof@v1"
MAX_HASHES = 64

_BASE64 = "(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?"
_FORM = re.compile(
    rf"{re.escape(HEAD)}\n(?:extra ({_BASE64})\n)?index (0|[1-9][0-9]{{0,15}})\n"
    r"((?:[A-Za-z0-9+/]{43}=\n)*)\n(.+)",
    re.DOTALL,
)


@dataclass(frozen=True)
class ProofFile:
    """What a proof file holds. `note` is the seal as it was signed, not yet verified."""

    index: int
    path: tuple[bytes, ...]
    note: str
    extra: bytes | None


def write(index: int, path: Sequence[bytes], seal_note: str, extra: bytes | None = None) -> str:
    """The text of a proof file.

    index: number of the entry. path: from `tree.inclusion` at the size that the seal tells.
    """
    lines = [HEAD, *([] if extra is None else [f"extra {_base64(extra)}"]), f"index {index}", *map(_base64, path)]
    return "\n".join(lines) + "\n\n" + seal_note


def read(text: str) -> ProofFile:
    """A proof file taken apart, with nothing checked.

    Raises: seals.SealWrong when it is not one.
    """
    found = _FORM.fullmatch(text)
    if not found:
        raise seals.SealWrong(why="it is not a proof file")
    extra = None if found[1] is None else base64.b64decode(found[1])
    proof = ProofFile(int(found[2]), tuple(map(base64.b64decode, found[3].splitlines())), found[4], extra)
    if len(proof.path) > MAX_HASHES or write(proof.index, proof.path, proof.note, extra) != text:
        raise seals.SealWrong(why="it is not a proof file, or not written as one is")  # stray bits in base64
    return proof


def verify(text: str, leaf_or_entry: bytes, key: seals.VerifierKey) -> seals.Checkpoint:
    """The seal's state, once its signature and the path from this entry to its root have been checked.

    leaf_or_entry: a leaf hash of 32 bytes, or an entry's bytes, which are always longer.
    Raises: seals.SealWrong.
    """
    proof = read(text)
    checkpoint = seals.verify_seal(proof.note, key)
    leaf = leaf_or_entry if len(leaf_or_entry) == tree.HASH_BYTES else tree.leaf_hash(leaf_or_entry)
    if not tree.verify_inclusion(leaf, proof.index, checkpoint.size, proof.path, checkpoint.root):
        raise seals.SealWrong(
            why=f"its hashes do not lead from this entry, as number {proof.index}, to the sealed root"
        )
    return checkpoint


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()
