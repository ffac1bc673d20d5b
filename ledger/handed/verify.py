"""Checks an extract of a book without the program that made it.

It lies in every extract, so it uses Python's standard library and the package `cryptography`, and nothing else:

    python verify.py EXTRACT.zip [FINGERPRINT]

FINGERPRINT is the 64 digits of the book's key, from something that left the shop earlier: a stub, a report. Without it
the extract can only be found to agree with itself. Prints one sentence for each fault; ends with 0 when there is none,
with 3 when there is one, with 2 when the file is no extract at all. What the files are is told in HOW-TO-VERIFY.txt.
"""

import base64
import hashlib
import io
import json
import re
import sys
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

MOST_BYTES = 2_000_000_000
MOST_FILES = 20_000
NEEDED = (
    "HOW-TO-VERIFY.txt", "book.vkey", "entries.jsonl", "manifest.json", "manifest.note", "parts.jsonl", "seal.txt",
    "verify.html", "verify.py",
)  # fmt: skip
_OTHERS = re.compile(
    r"proofs/(?:0|[1-9][0-9]{0,15})\.tlog-proof|pictures/[0-9a-f]{64}\.[a-z0-9]{1,5}|rules/[0-9a-f]{64}\.toml"
    r"|papers/[A-Za-z0-9][A-Za-z0-9._-]{0,120}\.(?:pdf|json)|keys/(?:0|[1-9][0-9]{0,15})\.tlog-proof"
    r"|outside/(?:0|[1-9][0-9]{0,15})(?:\.txt|\.tsr|-(?:0|[1-9][0-9]{0,15})\.tlog-proof)"
)
_HEX = re.compile(r"[0-9a-f]{64}")
_SIGNATURE = re.compile(r"\u2014 [^\s+]+ [A-Za-z0-9+/]+={0,2}")


_Keys = list[tuple[int, Ed25519PublicKey]]
"""keys in their order, each with the entry that changed it; -1 for the one that signs now"""


class Fault(Exception):
    """What is wrong, in one sentence."""


@dataclass
class Found:
    """What the check came to."""

    faults: list[str] = field(default_factory=list)
    says: list[str] = field(default_factory=list)
    entries: int = 0
    parts: int = 0
    pictures: int = 0
    book: str = ""
    seal: str = ""
    fingerprint: str = ""
    vouched: bool = False

    @property
    def ok(self) -> bool:
        """Whether nothing was found to be wrong."""
        return not self.faults


def check(data: bytes, fingerprint: str | None = None) -> Found:
    """Everything that can be checked of an extract.

    data: the bytes of the zip. fingerprint: of the book's key, from outside; spaces, colons and capitals do not count.
    """
    found = Found()
    try:
        files = _files(data)
        key, origin = _key(files, found)
        asked = _asked(fingerprint)
        _manifest(files, key, origin, found)
        if not found.faults:
            keys = [*_former(files, key, origin), (-1, key)]
            _vouch(keys, asked, found)
            _contents(files, keys, origin, found)
    except Fault as fault:
        found.faults.append(str(fault))
    return found


def _files(data: bytes) -> dict[str, bytes]:
    """The files of the zip by name; nothing is written to disk."""
    if b"PK\5\6" in data and (data[-22:-18] != b"PK\5\6" or data[-2:] != b"\0\0"):
        raise Fault("Something stands in the zip after its last file, so that two readers may see two files.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as opened:
            members = opened.infolist()
            if len(members) > MOST_FILES or sum(one.file_size for one in members) > MOST_BYTES:
                raise Fault("The file unpacks to more than an extract may hold.")
            if min((one.header_offset for one in members), default=0) != 0:
                raise Fault("Something stands in the zip before its first file, so that two readers may see two files.")
            files: dict[str, bytes] = {}
            for one in members:
                if one.flag_bits & 1:
                    raise Fault(f'The file "{one.filename}" is locked with a password, which an extract never has.')
                if one.filename in files:
                    raise Fault(
                        f'The name "{one.filename}" stands twice in the zip, so that two readers may see two files.'
                    )
                if one.filename not in NEEDED and not _OTHERS.fullmatch(one.filename):
                    raise Fault(f'The file "{one.filename}" does not belong into an extract.')
                files[one.filename] = opened.read(one)
    except Fault:
        raise
    except Exception as wrong:
        # A stranger's bytes: whatever the unpacker stumbles over, the file is at fault and not this program.
        raise Fault(f"This is not a zip that can be read ({wrong}).") from None
    for name in NEEDED:
        if name not in files:
            raise Fault(f"The file {name} is missing.")
    return files


def _text(files: Mapping[str, bytes], name: str) -> str:
    try:
        return files[name].decode("utf-8")
    except UnicodeDecodeError:
        raise Fault(f"{name} is not text in UTF-8.") from None


# Keys and signatures: C2SP signed-note


def _base64(text: str, what: str) -> bytes:
    try:
        found = base64.b64decode(text, validate=True)
    except ValueError:
        found = b""
    if not found or base64.b64encode(found).decode() != text:
        raise Fault(f"{what} is not base64.")
    return found


def _key(files: Mapping[str, bytes], found: Found) -> tuple[Ed25519PublicKey, str]:
    key, origin = _vkey(_text(files, "book.vkey").strip(), "The key in book.vkey")
    found.book, found.fingerprint = origin, _fingerprint(key)
    return key, origin


def _vkey(line: str, what: str) -> tuple[Ed25519PublicKey, str]:
    name, first, rest = [*line.split("+", 2), "", ""][:3]
    key = _base64(rest, what)
    if len(key) != 33 or key[0] != 1:
        raise Fault(f"{what} is not an Ed25519 key.")
    if hashlib.sha256(name.encode() + b"\n" + key).digest()[:4].hex() != first:
        raise Fault(f"{what} does not have the id that stands beside it.")
    return Ed25519PublicKey.from_public_bytes(key[1:]), name


def _fingerprint(key: Ed25519PublicKey) -> str:
    return hashlib.sha256(b"\x01" + key.public_bytes_raw()).hexdigest()


def _asked(fingerprint: str | None) -> str:
    asked = re.sub(r"[\s:]", "", fingerprint or "").lower()
    if fingerprint is not None and not _HEX.fullmatch(asked):
        raise Fault("The fingerprint given has not 64 digits; take all of them from a stub or a report.")
    return asked


def _vouch(keys: _Keys, asked: str, found: Found) -> None:
    """Whether the fingerprint from outside is that of the book's key, or of one that it was changed from."""
    changed = next((changed for changed, key in keys if _fingerprint(key) == asked), None)
    if asked and changed is None:
        raise Fault("The extract is signed by another key than the one whose fingerprint was given.")
    found.vouched = changed is not None
    if changed is not None and changed >= 0:
        found.says.append(
            f"The fingerprint is that of an earlier key of this book; entry {changed} changed it, and both keys signed"
            " that."
        )


def _former(files: Mapping[str, bytes], key: Ed25519PublicKey, origin: str) -> _Keys:
    """The keys before this one, oldest first, each with the entry that changed it; each change signed by both."""
    former: _Keys = []
    changed = sorted((int(name[5:-11]) for name in files if name.startswith("keys/")), reverse=True)
    lines = dict(_entries(files, origin, Found())) if changed else {}
    for seq in changed:
        what = f"The change of the key in entry {seq}"
        data, entry = lines.get(seq, (b"", {}))
        public = entry.get("public", {})
        old, new = (str(public.get(name)) for name in ("old", "vkey"))
        if not str(entry.get("kind")).startswith("key-changed/") or _vkey(new, what) != (key, origin):
            raise Fault(f"{what} is not announced by that entry.")
        before, name = _vkey(old, what)
        proof = _text(files, f"keys/{seq}.tlog-proof")
        note = proof.partition("\n\n")[2]
        for one in (before, key):
            size, root = _checkpoint(_signed(note, one, origin, what), origin)
        path = _path(proof, seq, note)
        leaf = hashlib.sha256(b"\0" + data).digest()
        if name != origin or path is None or size != seq + 1 or _root(leaf, seq, size, path) != root:
            raise Fault(f"{what} does not stand under a seal that both keys signed.")
        former.insert(0, (seq, before))
        key = before
    return former


def _key_at(keys: _Keys, size: int) -> Ed25519PublicKey:
    """The key that signs a seal over so many entries."""
    return next((key for changed, key in keys if size <= changed), keys[-1][1])


def _signed(note: str, key: Ed25519PublicKey, origin: str, what: str) -> str:
    """The text of a note that the book's key has signed."""
    text, gap, lines = note.rpartition("\n\n")
    if not gap or not lines.endswith("\n"):
        raise Fault(f"{what} is not a signed note.")
    if not all(_SIGNATURE.fullmatch(line) for line in lines[:-1].split("\n")):
        raise Fault(f"{what} has a line below its text that is no signature.")
    ours = [line for line in lines[:-1].split("\n") if line.startswith(f"\u2014 {origin} ")]
    if not ours:
        raise Fault(f"{what} is not signed by the book's key.")
    signatures = [_base64(line.rsplit(" ", 1)[1], f"The signature of {what}") for line in ours]
    own = hashlib.sha256(origin.encode() + b"\n\x01" + key.public_bytes_raw()).digest()[:4]
    if not any(one[:4] == own for one in signatures):
        raise Fault(f"{what} is signed by another key than the book's.")
    try:
        for one in signatures:
            if one[:4] == own:
                key.verify(one[4:], (text + "\n").encode())
    except InvalidSignature:
        raise Fault(f"{what} has a false signature: the text was changed, or another key signed it.") from None
    return text + "\n"


# The manifest: every file, by name and hash


def _manifest(files: Mapping[str, bytes], key: Ed25519PublicKey, origin: str, found: Found) -> None:
    data = files["manifest.json"]
    told = _json(data.decode("utf-8", "replace"), "manifest.json")
    listed = told.get("files") if isinstance(told, dict) and told.keys() == {"files"} else None
    if not isinstance(listed, dict) or _canonical(told) != data:
        raise Fault("manifest.json does not have the form of a manifest.")
    text = _signed(_text(files, "manifest.note"), key, origin, "The manifest")
    if text != f"counterfoil extract\n{hashlib.sha256(data).hexdigest()}\n":
        raise Fault("The signature is not that of this manifest: manifest.json was changed.")
    held = files.keys() - {"manifest.json", "manifest.note"}
    found.faults += [f"The file {name} is in the zip and not in the manifest." for name in sorted(held - listed.keys())]
    found.faults += [f"The file {name} is in the manifest and not in the zip." for name in sorted(listed.keys() - held)]
    for name in sorted(held & listed.keys()):
        if hashlib.sha256(files[name]).hexdigest() != listed[name]:
            found.faults.append(f"The file {name} is not the one that was handed out: its bytes were changed.")


# Seal, entries, proofs, parts


_VOUCHED = (
    "Nothing in this extract was changed: it is signed by the book's key, and the fingerprint that was given is that of"
    " its key."
)
_NOBODY = (
    "Internally sound, signed by a key nobody has vouched for: compare the fingerprint with a stub or report that left"
    " the shop earlier."
)


def _contents(files: Mapping[str, bytes], keys: _Keys, origin: str, found: Found) -> None:
    seal = _text(files, "seal.txt")
    size, root = _checkpoint(_signed(seal, keys[-1][1], origin, "The seal"), origin)
    found.seal = f"{size}-{base64.b32encode(root).decode().rstrip('=')[:20]}"
    entries = dict(_entries(files, origin, found))
    found.entries = len(entries)
    _proofs(files, entries, seal, size, root, found)
    shown = set(_parts(files, entries, found))
    _pictures(files, shown, found)
    _rules(files, entries, found)
    taken = [*_outside(files, entries, keys, origin, found)]
    if found.ok:
        found.says.append(_VOUCHED if found.vouched else _NOBODY)
        found.says.append(
            f"{found.entries} entries stand in the book {origin} under its seal {found.seal}; {found.parts} parts and"
            f" {found.pictures} pictures are those that the entries fixed when they were written."
        )
        found.says += taken


def _outside(
    files: Mapping[str, bytes],
    entries: Mapping[int, tuple[bytes, dict[str, Any]]],
    keys: _Keys,
    origin: str,
    found: Found,
) -> Iterator[str]:
    """Checks the seals that somebody outside has signed or dated too; gives a sentence for each."""
    names = sorted((name for name in files if name.startswith("outside/")), key=lambda name: (len(name), name))
    for name in names:
        if not name.endswith(".txt") and f"{re.split('[.-]', name)[0]}.txt" not in files:
            found.faults.append(f"{name} has no seal beside it.")
    for name in (one for one in names if one.endswith(".txt")):
        note, stem = _text(files, name), name[:-4]
        told = note.split("\n")
        size = int(told[1]) if len(told) > 1 and re.fullmatch(r"[1-9][0-9]{0,15}", told[1]) else 1
        size, root = _checkpoint(_signed(note, _key_at(keys, size), origin, f"The seal in {name}"), origin)
        count = 0
        for proof in (one for one in names if one.startswith(f"{stem}-")):
            seq = int(proof[len(stem) + 1 : -11])
            path = _path(_text(files, proof), seq, note)
            if seq not in entries or path is None:
                found.faults.append(f"{proof} is not a proof for an entry that is here and this seal.")
            elif _root(hashlib.sha256(b"\0" + entries[seq][0]).digest(), seq, size, path) != root:
                found.faults.append(f"Entry {seq} is not the one that stands under the seal in {name}.")
            count += 1
        others = [line.split(" ")[1] for line in note.rpartition("\n\n")[2].split("\n")[:-1]]
        signed = ", ".join(one for one in others if one != origin) or "nobody else"
        dated = f"; {stem}.tsr dates it" if f"{stem}.tsr" in files else ""
        yield (
            f"{count} of these entries stand under the earlier seal in {name}, over {size} entries. Beside the shop it"
            f" is signed by: {signed}{dated}. Whoever signed or dated it is asked outside; HOW-TO-VERIFY.txt says how."
        )


def _checkpoint(text: str, origin: str) -> tuple[int, bytes]:
    lines = text.split("\n")
    if len(lines) < 4 or lines[0] != origin or not re.fullmatch(r"[1-9][0-9]{0,15}", lines[1]):
        raise Fault("The seal is not that of this book, or names no size.")
    root = _base64(lines[2], "The root in the seal")
    if len(root) != 32:
        raise Fault("The root in the seal is not 32 bytes long.")
    return int(lines[1]), root


def _entries(
    files: Mapping[str, bytes], origin: str, found: Found
) -> Iterator[tuple[int, tuple[bytes, dict[str, Any]]]]:
    last = -1
    for line in files["entries.jsonl"].split(b"\n")[:-1]:
        what = f"The entry after {last}" if last >= 0 else "The first entry"
        entry = _json(line.decode("utf-8", "replace"), what)
        if not isinstance(entry, dict) or _canonical(entry) != line:
            raise Fault(f"{what} does not have the exact bytes of an entry.")
        seq = entry.get("seq")
        if type(seq) is not int or seq <= last:
            raise Fault(f"{what} has no number, or one that stands twice or out of order.")
        if entry.get("book") != origin:
            found.faults.append(f"Entry {seq} is of another book.")
        last = seq
        yield seq, (line, entry)
    if not files["entries.jsonl"].endswith(b"\n"):
        raise Fault("entries.jsonl ends within a line.")


def _proofs(
    files: Mapping[str, bytes],
    entries: Mapping[int, tuple[bytes, dict[str, Any]]],
    seal: str,
    size: int,
    root: bytes,
    found: Found,
) -> None:
    proofs = {int(name[7:-11]): name for name in files if name.startswith("proofs/")}
    found.faults += [
        f"{proofs[seq]} proves an entry that is not here." for seq in sorted(proofs.keys() - entries.keys())
    ]
    for seq, (data, _) in entries.items():
        if seq not in proofs:
            found.faults.append(f"Entry {seq} has no proof that it stands in the book.")
            continue
        path = _path(_text(files, proofs[seq]), seq, seal)
        if path is None:
            found.faults.append(f"The proof of entry {seq} is not one for this entry and this seal.")
        elif _root(hashlib.sha256(b"\0" + data).digest(), seq, size, path) != root:
            found.faults.append(f"Entry {seq} is not the one that stands in the book under this seal: it was changed.")


def _path(text: str, seq: int, seal: str) -> list[bytes] | None:
    head, gap, note = text.partition("\n\n")
    lines = head.split("\n")
    if not gap or note != seal or lines[0] != "c2sp.org/tlog-proof@v1":
        return None
    lines = [line for line in lines[1:] if not line.startswith("extra ")]
    if not lines or lines[0] != f"index {seq}":
        return None
    try:
        path = [_base64(line, "A hash of a proof") for line in lines[1:]]
    except Fault:
        return None
    return path if all(len(one) == 32 for one in path) and len(path) <= 64 else None


def _root(leaf: bytes, index: int, size: int, path: list[bytes]) -> bytes | None:
    """The root that a path leads to: RFC 9162, section 2.1.3.2."""
    if index >= size:
        return None
    number, last, found = index, size - 1, leaf
    for one in path:
        if last == 0:
            return None
        if number & 1 or number == last:
            found = hashlib.sha256(b"\x01" + one + found).digest()
            while not number & 1 and number:
                number >>= 1
                last >>= 1
        else:
            found = hashlib.sha256(b"\x01" + found + one).digest()
        number >>= 1
        last >>= 1
    return found if last == 0 else None


def _parts(
    files: Mapping[str, bytes], entries: Mapping[int, tuple[bytes, dict[str, Any]]], found: Found
) -> Iterator[tuple[str, str]]:
    """Checks each disclosed part; gives (name, hash of the shown copy) of each picture."""
    seen: set[tuple[int, str]] = set()
    for number, line in enumerate(files["parts.jsonl"].split(b"\n")[:-1], 1):
        told = _json(line.decode("utf-8", "replace"), f"Line {number} of parts.jsonl")
        if not isinstance(told, dict) or told.keys() != {"disclosure", "seq"} or told["seq"] not in entries:
            raise Fault(f"Line {number} of parts.jsonl is no part of an entry that is here.")
        seq, disclosure = told["seq"], told["disclosure"]
        digest = _url64(hashlib.sha256(str(disclosure).encode()).digest())
        if digest not in entries[seq][1].get("parts", ()) or (seq, digest) in seen:
            found.faults.append(f"A part shown for entry {seq} is not one that the entry fixed, or stands twice.")
            continue
        seen.add((seq, digest))
        found.parts += 1
        name, value = _disclosed(disclosure, seq)
        if isinstance(value, dict) and isinstance(value.get("shown"), str):
            yield name, value["shown"]


def _disclosed(disclosure: str, seq: int) -> tuple[str, Any]:
    try:
        told = json.loads(base64.urlsafe_b64decode(disclosure + "=" * (-len(disclosure) % 4)))
        salt, name, value = told
    except (ValueError, TypeError):
        raise Fault(f"A part of entry {seq} is no disclosure.") from None
    if not isinstance(salt, str) or len(salt) != 22 or not isinstance(name, str):
        raise Fault(f"A part of entry {seq} has no salt of 16 bytes, so that its digest could be guessed.")
    return name, value


def _pictures(files: Mapping[str, bytes], shown: set[tuple[str, str]], found: Found) -> None:
    hashes = {one for _, one in shown}
    for name in sorted(files):
        if name.startswith("pictures/"):
            digest = hashlib.sha256(files[name]).hexdigest()
            if digest != name[9:73]:
                found.faults.append(f"{name} is not the picture of its name: it was changed.")
            elif digest not in hashes:
                found.faults.append(f"{name} belongs to no part that is shown.")
            else:
                found.pictures += 1


def _rules(files: Mapping[str, bytes], entries: Mapping[int, tuple[bytes, dict[str, Any]]], found: Found) -> None:
    named: set[str] = set()
    for _, entry in entries.values():
        public = entry.get("public", {})
        named |= {*public.get("rules", ()), public.get("digest", "")}
    for name in sorted(files):
        if name.startswith("rules/"):
            digest = hashlib.sha256(files[name]).hexdigest()
            if digest != name[6:70]:
                found.faults.append(f"{name} is not the rule file of its name: it was changed.")
            elif digest not in named:
                found.faults.append(f"{name} is a rule file that no entry names.")


# Canonical JSON: RFC 8785 as far as a book uses it


def _json(text: str, what: str) -> Any:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        if len({key for key, _ in pairs}) < len(pairs):
            raise Fault(f"{what} has a key twice.")
        return dict(pairs)

    def refuse(number: str) -> Any:
        raise Fault(f"{what} holds the number {number}, which no entry may.")

    try:
        return json.loads(text, object_pairs_hook=once, parse_float=refuse, parse_constant=refuse)
    except (ValueError, RecursionError):
        raise Fault(f"{what} is not JSON.") from None


def _canonical(value: Any) -> bytes:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    try:
        return text.encode() if unicodedata.is_normalized("NFC", text) else b""
    except UnicodeEncodeError:
        return b""


def _url64(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def main(words: list[str]) -> int:
    """The check as a command. Result: 0 sound, 3 a fault, 2 wrong use."""
    if len(words) not in (1, 2):
        print("python verify.py EXTRACT.zip [FINGERPRINT]", file=sys.stderr)
        return 2
    try:
        with open(words[0], "rb") as file:
            data = file.read()
    except OSError as wrong:
        print(f"{words[0]} cannot be read ({wrong.strerror}).", file=sys.stderr)
        return 2
    found = check(data, words[1] if len(words) == 2 else None)
    for sentence in (*found.faults, *found.says):
        print(sentence)
    print("SOUND" if found.ok else "NOT SOUND: do not rely on this extract")
    if found.ok:
        print("Fingerprint of the key:", " ".join(found.fingerprint[at : at + 4] for at in range(0, 64, 4)))
    return 0 if found.ok else 3


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
