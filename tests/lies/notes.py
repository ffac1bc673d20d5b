"""Seals of the small book and proofs of its entries, and lies about both."""

import base64
from collections.abc import Callable

from ledger.chain import proof_files, seals, tree
from tests.chain_book import ORIGIN, SmallBook, key, public, small_book
from tests.lies.cases import Lies, flipped

_OTHER = key(32)


def _line(note: str) -> str:
    return note.split("\n\n")[1]


def _relined(note: str, change: Callable[[bytes], bytes]) -> str:
    """The note with the bytes of its signature line changed."""
    head, _, blob = note.rstrip("\n").rpartition(" ")
    return f"{head} {base64.b64encode(change(base64.b64decode(blob))).decode()}\n"


def _resigned(text: str, name: str = ORIGIN) -> str:
    """A note over any text, signed by the book's true key whatever the text says."""
    secret = key()
    line = seals.Signature(name, seals.key_id(name, public(secret)), secret.sign(text.encode()))
    return seals.write_note(seals.Note(text, (line,)))


def seal_lies() -> Lies:
    book = small_book()
    note = book.seals[12]
    root = base64.b64encode(book.root(12)).decode()
    body = f"{ORIGIN}\n12\n{root}\n"
    cosigned = seals.add_signature(note, "witness.example", public(_OTHER), _OTHER.sign)
    lies = {
        "signature-lowest-bit": _relined(note, lambda blob: flipped(blob, 32)),
        "signature-highest-bit": _relined(note, lambda blob: flipped(blob, -1)),
        "signature-cut": _relined(note, lambda blob: blob[:-1]),
        "signature-with-a-byte-more": _relined(note, lambda blob: blob + b"\x00"),
        "signature-of-nothing": _relined(note, lambda blob: blob[:4]),
        "key-id-changed": _relined(note, lambda blob: flipped(blob, 0)),
        "size-plus-one": note.replace("\n12\n", "\n13\n"),
        "size-cut": note.replace("\n12\n", "\n1\n"),
        "root-of-another-size": note.replace(root, base64.b64encode(book.root(6)).decode()),
        "signature-of-another-size": seals.write_note(seals.Note(body, seals.read_note(book.seals[6]).signatures)),
        "another-origin": note.replace("aabbccddeeff\n12", "aabbccddee00\n12"),
        "another-name-on-the-line": note.replace("— counterfoil/0011", "— counterfoil/1100"),
        "another-key": seals.seal(ORIGIN, 12, book.root(12), public(_OTHER), _OTHER.sign),
        "another-key-under-the-true-id": seals.write_note(
            seals.Note(
                body, (seals.Signature(ORIGIN, seals.key_id(ORIGIN, public(key())), _OTHER.sign(body.encode())),)
            )
        ),
        "no-signature": body,
        "no-signature-line": body + "\n",
        "only-the-witness": seals.sign_note(body, "witness.example", public(_OTHER), _OTHER.sign),
        "a-false-line-after-the-true-one": note + _line(_relined(note, lambda blob: flipped(blob, -1))),
        "a-line-cut-short-after-the-true-one": note + "— witness.example AAAA\n",
        "no-last-line-feed": note[:-1],
        "two-last-line-feeds": note + "\n",
        "no-empty-line": note.replace("\n\n", "\n"),
        "two-empty-lines": note.replace("\n\n", "\n\n\n"),
        "empty-line-inside-the-text": note.replace("\n12\n", "\n\n12\n"),
        "carriage-returns": note.replace("\n", "\r\n"),
        "control-character": _resigned(body.replace("\n12", "\x01\n12")),
        "half-a-character": note.replace("\n12\n", "\n12\ud800\n"),
        "hyphen-for-the-dash": note.replace("— ", "- "),
        "no-space-after-the-dash": note.replace("— ", "—"),
        "name-with-a-plus": _resigned(body, "counterfoil+0011"),
        "no-name": _resigned(body, ""),
        "size-with-leading-zero": _resigned(body.replace("\n12\n", "\n012\n")),
        "size-below-zero": _resigned(body.replace("\n12\n", "\n-12\n")),
        "size-with-a-plus": _resigned(body.replace("\n12\n", "\n+12\n")),
        "size-with-a-space": _resigned(body.replace("\n12\n", "\n12 \n")),
        "size-in-other-digits": _resigned(body.replace("\n12\n", "\n١٢\n")),
        "size-zero": _resigned(f"{ORIGIN}\n0\n{base64.b64encode(tree.EMPTY_ROOT).decode()}\n"),
        "size-beyond-every-book": _resigned(body.replace("\n12\n", "\n9007199254740992\n")),
        "root-one-byte-short": _resigned(body.replace(root, base64.b64encode(book.root(12)[:-1]).decode())),
        "root-with-stray-bits": _resigned(body.replace(root, root[:-2] + chr(ord(root[-2]) + 1) + "=")),
        "root-without-padding": _resigned(body.replace(root, root.rstrip("="))),
        "root-in-the-url-alphabet": _resigned(body.replace(root, base64.urlsafe_b64encode(b"\xff" * 32).decode())),
        "no-root": _resigned(f"{ORIGIN}\n12\n"),
        "no-origin": _resigned(f"\n12\n{root}\n"),
        "sixty-five-signatures": note + 64 * _line(cosigned).split("\n")[1].join(["", "\n"]),
    }
    vkey = seals.vkey(ORIGIN, public(key()))
    happy = [note, book.seals[6], cosigned, _resigned(body + "an extension line\n")]
    return {
        "happy": [{"note": each, "vkey": vkey, "valid": True} for each in happy],
        **{name: [{"note": each, "vkey": vkey, "valid": False}] for name, each in lies.items()},
    }


def _proof(book: SmallBook, index: int, size: int, extra: bytes | None = None) -> str:
    return proof_files.write(index, tree.inclusion(index, size, book.node()), book.seals[size], extra)


def proof_file_lies() -> Lies:
    book = small_book()
    text = _proof(book, 3, 12)
    hashes = text.split("\n")[2:6]
    garbage = base64.b64encode(tree.leaf_hash(b"garbage")).decode()
    lies = {
        "index-plus-one": text.replace("index 3", "index 4"),
        "index-minus-one": text.replace("index 3", "index 2"),
        "index-is-size": text.replace("index 3", "index 12"),
        "index-with-leading-zero": text.replace("index 3", "index 03"),
        "index-below-zero": text.replace("index 3", "index -3"),
        "no-index": text.replace("index 3\n", ""),
        "truncated-proof": text.replace(hashes[-1] + "\n", ""),
        "trailing-garbage": text.replace(hashes[-1], f"{hashes[-1]}\n{garbage}"),
        "leading-garbage": text.replace(hashes[0], f"{garbage}\n{hashes[0]}"),
        "swapped-hashes": text.replace(hashes[0], "-").replace(hashes[1], hashes[0]).replace("-", hashes[1], 1),
        "hash-with-stray-bits": text.replace(hashes[0], hashes[0][:-2] + chr(ord(hashes[0][-2]) + 1) + "="),
        "hash-one-byte-short": text.replace(hashes[0], base64.b64encode(bytes(31)).decode()),
        "sixty-five-hashes": text.replace(hashes[0], "\n".join([hashes[0]] * 62)),
        "seal-of-another-size": text.replace(book.seals[12], book.seals[6]),
        "seal-of-another-key": text.replace(
            book.seals[12], seals.seal(ORIGIN, 12, book.root(12), public(_OTHER), _OTHER.sign)
        ),
        "no-seal": text.replace(book.seals[12], ""),
        "another-version": text.replace("@v1", "@v2"),
        "extra-after-index": text.replace("index 3\n", "index 3\nextra aGVsbG8=\n"),
        "extra-with-stray-bits": text.replace("index 3", "extra aGVsbG9=\nindex 3"),
        "extra-that-is-no-base64": text.replace("index 3", "extra hello\nindex 3"),
        "carriage-returns": text.replace("\n", "\r\n"),
        "something-before": "\n" + text,
    }
    vkey = seals.vkey(ORIGIN, public(key()))
    entry = book.data[3].decode()
    happy = [(text, 3), (_proof(book, 0, 6), 0), (_proof(book, 11, 12, b"hello"), 11), (_proof(book, 5, 6, b""), 5)]
    return {
        "happy": [{"text": each, "entry": book.data[n].decode(), "vkey": vkey, "valid": True} for each, n in happy],
        **{name: [{"text": each, "entry": entry, "vkey": vkey, "valid": False}] for name, each in lies.items()},
        "another-entry": [{"text": text, "entry": book.data[2].decode(), "vkey": vkey, "valid": False}],
        "entry-with-a-space": [{"text": text, "entry": entry + " ", "vkey": vkey, "valid": False}],
    }
