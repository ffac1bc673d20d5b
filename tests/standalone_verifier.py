"""A stranger's verifier: ledger/chain/FORMAT.md, section 8, written a second time from that page alone.

Standard library and `cryptography`, nothing of the program's own, so that both cannot be wrong in one place. It
opens a book's folder read-only, needs no pass-phrase, and prints one JSON document with every fault it finds:

    python tests/standalone_verifier.py FOLDER [--against FILE_OR_SHORT_FORM]          exit 0 or 3

Levels: chain (numbers, links, leaves, nodes, seals), forms (bytes, members, slip numbers, rule files), rows (an entry
with parts has locked rows), pictures (the encrypted files are there and unchanged), against (a seal from outside).
"""

import argparse
import base64
import json
import re
import sqlite3
import sys
import unicodedata
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

Fault = dict[str, Any]
MEMBERS = {"about", "book", "by", "kind", "parts", "prev", "program", "public", "recorded_at", "seq"}
ENDS = {"withdrawn/0": ("open", "withdrawn"), "purchase/0": ("open", "recorded"), "void/0": ("recorded", "voided")}


def fault(level: str, seq: int | None, what: str) -> Fault:
    return {"level": level, "seq": seq, "what": what}


# Section 1: canonical bytes


class Bad(Exception):
    """Bytes, a note or a key that the format does not allow; says why."""


def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
    if len({key for key, _ in found}) < len(found):
        raise Bad("a key stands twice in one object")
    if not all(key.isascii() for key, _ in found):
        raise Bad("a key is not ASCII")
    return dict(found)


def no_float(text: str) -> None:
    raise Bad(f"{text} is a float")


def whole(text: str) -> int:
    if len(text) > 17 or abs(int(text)) > 2**53 - 1:
        raise Bad(f"{text} is too large a number")
    return int(text)


def texts(value: Any, depth: int = 1) -> Iterator[str]:
    """Every text inside, keys too."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        if depth > 32:
            raise Bad("it is nested too deeply")
        yield from value if isinstance(value, dict) else ()
        for member in value.values() if isinstance(value, dict) else value:
            yield from texts(member, depth + 1)


def parse(data: bytes) -> dict[str, Any]:
    """The object in canonical bytes; Bad for any others."""
    if len(data) > 60_000:
        raise Bad("it has more than 60,000 bytes")
    try:
        text = data.decode()
        value = json.loads(
            text, object_pairs_hook=pairs, parse_float=no_float, parse_constant=no_float, parse_int=whole
        )
    except (ValueError, RecursionError):
        raise Bad("it is not JSON in UTF-8") from None
    if json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":")) != text:
        raise Bad("its bytes are not in canonical form")
    if not isinstance(value, dict):
        raise Bad("it is not an object")
    for each in texts(value):
        if not unicodedata.is_normalized("NFC", each):
            raise Bad("a text is not in normal form C")
        if any(unicodedata.category(letter) == "Cc" for letter in each):
            raise Bad("a control character stands in a text")
    return value


# Section 5: tree; section 6: seals


def leaf_hash(data: bytes) -> bytes:
    return sha256(b"\x00" + data).digest()


def levels_of(leaves: list[bytes]) -> list[list[bytes]]:
    levels = [leaves]
    while len(levels[-1]) > 1:
        row = levels[-1]
        levels.append([sha256(b"\x01" + row[i] + row[i + 1]).digest() for i in range(0, len(row) - 1, 2)])
    return levels


def root_of(levels: list[list[bytes]], size: int) -> bytes:
    """Root over the first entries, folded from the smallest complete subtree at the right."""
    value, end = b"", size
    for level in range(size.bit_length()):
        if size >> level & 1:
            end -= 1 << level
            left = levels[level][end >> level]
            value = sha256(b"\x01" + left + value).digest() if value else left
    return value


def read_key(vkey: Any, origin: str) -> bytes:
    found = re.fullmatch(r"([^\s+]+)\+([0-9a-f]{8})\+(\S+)", vkey) if isinstance(vkey, str) else None
    key = strict_base64(found[3]) if found else b""
    if not found or found[1] != origin or len(key) != 33 or key[0] != 1:
        raise Bad("the verification key is not an Ed25519 key in the book's name")
    if sha256(origin.encode() + b"\n" + key).hexdigest()[:8] != found[2]:
        raise Bad("the verification key does not have the id it says")
    return key[1:]


def strict_base64(text: str) -> bytes:
    try:
        data = base64.b64decode(text, validate=True)
    except ValueError:
        raise Bad("it is not base64") from None
    if base64.b64encode(data).decode() != text:
        raise Bad("it is not base64 as it is written")
    return data


def read_seal(note: str, keys: list[bytes], origin: str) -> tuple[int, bytes]:
    """Size and root of a seal that each of these keys has signed in the book's name."""
    text, gap, lines = note.rpartition("\n\n")
    body = text.split("\n")
    if not gap or len(body) < 3 or not re.fullmatch("[1-9][0-9]{0,15}", body[1]) or not lines.endswith("\n"):
        raise Bad("it is not a seal")
    if body[0] != origin:
        raise Bad("it seals another book")
    root = strict_base64(body[2])
    if len(root) != 32 or int(body[1]) > 2**53 - 1:
        raise Bad("its root is not 32 bytes long, or no book is so large")
    signatures = [re.fullmatch(r"— ([^\s+]+) (\S+)", line) for line in lines[:-1].split("\n")]
    signed = [(each[1], strict_base64(each[2])) for each in signatures if each]
    if len(signed) < len(signatures) or len(signed) > 64 or any(len(each) < 5 for _, each in signed):
        raise Bad("its signature lines cannot be read")
    if not keys:
        raise Bad("there is no key to check it by")
    for key in keys:
        key_id = sha256(origin.encode() + b"\n\x01" + key).digest()[:4]
        ours = [each[4:] for name, each in signed if name == origin and each[:4] == key_id]
        if not ours:
            raise Bad("it is not signed by the book's key")
        try:
            for each in ours:
                Ed25519PublicKey.from_public_bytes(key).verify(each, f"{text}\n".encode())
        except InvalidSignature:
            raise Bad("its signature is false") from None
    return int(body[1]), root


def stored(value: object) -> bytes:
    """The bytes of a column. Raises: TypeError for whatever else somebody put there."""
    if not isinstance(value, bytes):
        raise TypeError(f"{type(value).__name__} stands where bytes should")
    return value


class Book:
    """One book as it lies in its database, and what has been found wrong with it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults: list[Fault] = []
        path = (folder / "book.sqlite").resolve()
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as database:
            read = database.execute
            self.rows = read("SELECT book, seq, bytes, leaf, prev FROM entries ORDER BY seq, book").fetchall()
            self.nodes = read("SELECT book, level, idx, hash FROM nodes").fetchall()
            self.seals = read("SELECT book, size, note FROM seals ORDER BY size").fetchall()
            self.rule_files = read("SELECT book, digest, bytes FROM rule_files").fetchall()
            self.locked = Counter(seq for _, seq in read("SELECT book, seq FROM locked_rows"))
        books = Counter(row[0] for row in self.rows)
        self.origin: str = max(books, key=lambda book: books[book]) if books else ""
        self.leaves = [leaf_hash(stored(row[2])) for row in self.rows]
        self.levels = levels_of(self.leaves) if self.leaves else []
        self.entries: dict[int, dict[str, Any]] = {}
        self.keys: list[tuple[int, bytes]] = []
        self.leaf_of = {row[1]: leaf for row, leaf in zip(self.rows, self.leaves, strict=True)}

    def wrong(self, level: str, seq: int | None, what: str) -> None:
        self.faults.append(fault(level, seq, what))

    def verify(self, against: str | None) -> list[Fault]:
        if not self.rows:
            self.wrong("chain", None, "the book has no entries")
            return self.faults
        checks = (self.check_entries, self.check_nodes, self.check_seals, self.check_slips, self.check_rule_files)
        for check in (*checks, self.check_rows_and_pictures):
            try:
                check()
            except (TypeError, ValueError, KeyError, AttributeError) as why:
                self.wrong("forms", None, f"something has a type that it cannot have: {why}")
        if against is not None:
            try:
                self.check_against(against)
            except Bad as why:
                self.wrong("against", None, str(why))
        return self.faults

    def check_entries(self) -> None:
        before, moment, place = bytes(32), "", 0
        for (book, seq, data, leaf, prev), real in zip(self.rows, self.leaves, strict=True):
            if seq != place:
                self.wrong("chain", seq, f"it stands where entry {place} should stand")
            place = seq + 1
            if book != self.origin:
                self.wrong("chain", seq, "it stands under another book")
            if leaf != real:
                self.wrong("chain", seq, "its stored leaf hash is not that of its bytes")
            if prev != before:
                self.wrong("chain", seq, "its stored link is not the leaf hash of the entry before")
            try:
                value = parse(stored(data))
                self.check_members(value)
            except Bad as why:
                self.wrong("forms", seq, str(why))
            else:
                self.entries[seq] = value
                if value["book"] != self.origin or value["seq"] != seq:
                    self.wrong("chain", seq, "its bytes name another book or another number")
                if value["prev"] != before.hex():
                    self.wrong("chain", seq, "its bytes do not link to the entry before")
                if (value["recorded_at"] < moment) != ("clock" in value):
                    self.wrong("forms", seq, "its moment and the entry's before do not fit together")
                moment = value["recorded_at"]
            before = real

    def check_members(self, value: dict[str, Any]) -> None:
        if value.keys() - {"clock", "occurred_at"} != MEMBERS:
            raise Bad("it does not have the members of an entry")
        if not isinstance(value["about"], list) or not isinstance(value["parts"], list):
            raise Bad("a member has the wrong type")
        text = [value[name] for name in ("book", "by", "kind", "prev", "program", "recorded_at")]
        if not all(isinstance(each, str) for each in [*text, *value["about"], *value["parts"]]):
            raise Bad("a member has the wrong type")
        if not isinstance(value["public"], dict) or type(value["seq"]) is not int or value["seq"] < 0:
            raise Bad("a member has the wrong type")
        if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", value["recorded_at"], re.ASCII):
            raise Bad("its moment is not UTC with three decimals")
        if value["parts"] != sorted(set(value["parts"])):
            raise Bad("its parts are not sorted, or one stands twice")
        if (value["kind"] == "opened/0") != (value["seq"] == 0):
            raise Bad("a book is opened by entry 0 and no other")

    def check_nodes(self) -> None:
        ours = {(level, idx): each for level, row in enumerate(self.levels) for idx, each in enumerate(row)}
        stored = {(level, idx): each for book, level, idx, each in self.nodes if book == self.origin}
        if ours != stored or len(stored) != len(self.nodes):
            first = min(
                (place for place in ours.keys() | stored.keys() if ours.get(place) != stored.get(place)), default=""
            )
            self.wrong("chain", None, f"the stored tree is not the tree over the entries {first}".strip())

    def read_keys(self) -> list[tuple[int, bytes]]:
        """The book's keys in their order, each with the entry that announced it."""
        named = [(seq, value) for seq, value in self.entries.items() if value["kind"] in ("opened/0", "key-changed/0")]
        if not named or named[0][0]:
            raise Bad("the entry with the book's key cannot be read")
        return [(seq, read_key(value["public"].get("vkey"), self.origin)) for seq, value in named]

    def keys_at(self, size: int) -> list[bytes]:
        """The keys that a seal over `size` entries is signed by: at the change both, then the new one."""
        known = [(seq, key) for seq, key in self.keys if seq < max(size, 1)]
        at_the_change = len(known) > 1 and known[-1][0] == size - 1
        return [key for _, key in known[-2 if at_the_change else -1 :]]

    def check_seals(self) -> None:
        try:
            self.keys = self.read_keys()
        except Bad as why:
            self.wrong("chain", 0, str(why))
            return
        sealed, failed = set(), []
        for book, size, note in self.seals:
            try:
                if book != self.origin:
                    raise Bad("it stands under another book")
                sealed.add(size)
                self.check_seal(size, note)
            except Bad as why:
                failed.append((size, str(why)))
        if failed:  # an edited entry spoils every later seal: name the first
            size, why_first = failed[0]
            more = f"; {len(failed) - 1} later seals fail too" if failed[1:] else ""
            self.wrong("chain", size - 1, f"the seal over {size} entries: {why_first}{more}")
        for seq, value in self.entries.items():
            if value["kind"] == "purchase/0" and seq + 1 not in sealed:
                self.wrong("chain", seq, "this purchase does not have its own seal")
            if value["kind"] == "key-changed/0" and seq + 1 not in sealed:
                self.wrong("chain", seq, "no seal that both keys signed stands at this change of the key")

    def check_seal(self, stored_size: int | None, note: str) -> None:
        found = re.match(r"[^\n]*\n([1-9][0-9]{0,15})\n", note)
        size, root = read_seal(note, self.keys_at(int(found[1]) if found else 1), self.origin)
        if stored_size not in (None, size):
            raise Bad("its text tells another size")
        self.check_root(size, root)

    def check_root(self, size: int, root: bytes) -> None:
        if size > len(self.rows):
            raise Bad(f"it tells of {size} entries and the book has {len(self.rows)}: the end was cut")
        if root_of(self.levels, size) != root:
            raise Bad(f"the first {size} entries do not have the root it tells")

    def check_against(self, text: str) -> None:
        """A seal, a proof file or a short form that left the shop earlier."""
        short = re.fullmatch(r"([1-9][0-9]{0,15})-([A-Z2-7]{20})", re.sub(r"\s", "", text).upper())
        if not short:
            self.check_seal(None, text.partition("\n\n")[2] if text.startswith("c2sp.org/tlog-proof@v1\n") else text)
            return
        size = int(short[1])
        if size > len(self.rows):
            raise Bad(f"it tells of {size} entries and the book has {len(self.rows)}: the end was cut")
        if base64.b32encode(root_of(self.levels, size)).decode()[:20] != short[2]:
            raise Bad(f"the first {size} entries do not have the root it tells")

    def check_slips(self) -> None:
        states: dict[int, str] = {}
        presented: dict[int, str] = {}
        for seq, value in self.entries.items():
            kind, slip = value["kind"], value["public"].get("slip")
            if kind == "presented/0":
                if slip != len(states) + 1:
                    self.wrong("forms", seq, f"it presents slip {slip}; the next number is {len(states) + 1}")
                states[slip] = "open"
                presented[slip] = self.leaf_of[seq].hex()
            elif slip is not None and slip not in states:
                self.wrong("forms", seq, f"slip {slip} was never presented")
            elif kind in ENDS:
                was, becomes = ENDS[kind]
                if states.get(slip) != was:
                    self.wrong("forms", seq, f"slip {slip} is {states.get(slip)} and cannot become {becomes}")
                if kind == "purchase/0" and value["public"].get("presented") != presented.get(slip):
                    self.wrong("forms", seq, f"it does not name the entry that presented slip {slip}")
                states[slip] = becomes

    def check_rule_files(self) -> None:
        kept = {digest for _, digest, _ in self.rule_files}
        for book, digest, data in self.rule_files:
            if book != self.origin or sha256(stored(data)).hexdigest() != digest:
                self.wrong("forms", None, f"the rule file {digest} does not have this digest")
        adopted: set[str] = set()
        for seq, value in self.entries.items():
            if value["kind"] == "rules-adopted/0":
                adopted.add(value["public"]["digest"])
                if value["public"]["digest"] not in kept:
                    self.wrong("forms", seq, f"the rule file {value['public']['digest']} is missing")
            for digest in set(value["public"].get("rules", ())) - adopted:
                self.wrong("forms", seq, f"no entry before it adopted the rule file {digest}")
        for digest in kept - adopted:
            self.wrong("forms", None, f"no entry adopted the rule file {digest}")

    def check_rows_and_pictures(self) -> None:
        forgotten = {each for value in self.entries.values() for each in value["public"].get("digests", ())}
        for seq, value in self.entries.items():
            if value["parts"] and not self.locked[seq]:
                self.wrong("rows", seq, "it has parts and nothing is locked away for it")
            for picture in value["public"].get("pictures", ()):
                for name in (base64.urlsafe_b64decode(each + "=").hex() for each in picture.values()):
                    path = self.folder / "pictures" / name[:2] / name
                    if not path.is_file():
                        if not forgotten & set(value["parts"]):
                            self.wrong("pictures", seq, f"the picture {name} is missing")
                    elif sha256(path.read_bytes()).hexdigest() != name:
                        self.wrong("pictures", seq, f"the picture {name} was changed")
        for seq in self.locked:
            if (seq in self.entries and not self.entries[seq]["parts"]) or not 0 <= seq < len(self.rows):
                self.wrong("rows", seq, "something is locked away for an entry that has no parts")


def verify(folder: Path, against: str | None = None) -> list[Fault]:
    """Every fault of the book in this folder, [] for none. against: text of a seal or proof, or a short form."""
    try:
        return Book(folder).verify(against)
    except (sqlite3.Error, TypeError) as why:
        return [fault("chain", None, f"the book cannot be read as a book: {type(why).__name__}")]


def main() -> int:
    parser = argparse.ArgumentParser(description="Verify a book without the program that made it.")
    parser.add_argument("folder", type=Path, help="the book's folder")
    parser.add_argument("--against", help="a seal or proof in a file, or a seal's short form")
    given = parser.parse_args()
    against: str | None = given.against
    if against is not None and Path(against).is_file():
        against = Path(against).read_text(encoding="utf-8")
    faults = verify(given.folder, against)
    print(json.dumps({"ok": not faults, "faults": faults}, indent=1, ensure_ascii=False))
    return 3 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
