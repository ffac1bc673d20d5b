"""Hands out part of the book with all that a stranger needs to check it: the extract.

Only what the request names is in it: exact entries, and of what they hold back only the parts asked for; everything
else stays behind salted digests. An extract that leaves the shop is an entry that fixes its manifest.
"""

import fnmatch
import hashlib
import io
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

import ledger
from ledger.acts import closing, holding, requests, telling, vouching
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book, find_key
from ledger.chain import canonical, seals
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.moments import local_text
from ledger.vault import pictures

MOST_ENTRIES = 2_000
_CHECKERS = ("HOW-TO-VERIFY.txt", "verify.html", "verify.py")
_UNTOLD = ("look", "inquiry", "process", "hold-order", "hold-noted", "hold-lifted", "extract", "inspection")
"""kinds that tell of somebody's question; none is about an item by name, and none is handed out beside one"""
_PARTIES = ("seller/*", "party/*", "declaration/*", "payout/payee", "payout/reference")
_MEMBERS = {"items", "entries", "parts", "recipient", "basis", "parties", "papers", "process"}


@dataclass(frozen=True)
class Wanted:
    """What an extract shall hold, for whom and on what basis."""

    recipient: str
    basis: str
    items: tuple[tuple[int, int], ...] = ()
    entries: tuple[int, ...] = ()
    parts: tuple[str, ...] = ()
    """names of parts, * for any letters; without them everything of the items but prices' and people's data"""
    parties: bool = False
    papers: bool = True
    process: str = ""
    """id of the request on which it is handed out: for persons' data the second act, beside the basis in words"""

    def record(self) -> dict[str, Any]:
        """As the part `look` of the extract's entry holds it."""
        return {
            "recipient": self.recipient,
            "basis": self.basis,
            "items": [f"{slip}/{line}" for slip, line in self.items],
            "entries": list(self.entries),
            "parts": list(self.parts),
            "parties": self.parties,
            **telling.on_what(self.parties, self.process),
        }


def read_wanted(document: Mapping[str, Any]) -> Wanted:
    """What a document asks for. Raises: InputError naming the member that is wrong."""
    unknown = sorted(set(document) - _MEMBERS)
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(sorted(_MEMBERS)))
    texts = [document.get(name) for name in ("recipient", "basis")]
    for name, text in zip(("recipient", "basis"), texts, strict=True):
        if not isinstance(text, str) or not text.strip():
            raise InputError(field=name, given=text, wanted="text")
    names = _texts(document, "parts")
    # A dossier tells more than a few parts: beside named parts it is handed out only where it is asked for.
    flags = {"parties": document.get("parties", False), "papers": document.get("papers", not names)}
    for name, flag in flags.items():
        if not isinstance(flag, bool):
            raise InputError(field=name, given=flag, wanted="true or false")
    numbers = document.get("entries", [])
    if not isinstance(numbers, list) or not all(type(one) is int and one >= 0 for one in numbers):
        raise InputError(field="entries", given=numbers, wanted="a list of entry numbers")
    items = tuple(holding.item_named(one, "items") for one in _texts(document, "items"))
    if not items and not numbers:
        raise InputError(field="items", given="nothing", wanted='a list of items such as ["12/1"], or of entries')
    process = document.get("process", "")
    if not isinstance(process, str):
        raise InputError(field="process", given=process, wanted="the id of a request; see `process list`")
    return Wanted(str(texts[0]), str(texts[1]), items, tuple(sorted(set(numbers))), names, **flags, process=process)


def _texts(document: Mapping[str, Any], name: str) -> tuple[str, ...]:
    found = document.get(name, [])
    if not isinstance(found, list) or not all(isinstance(one, str) and one for one in found):
        raise InputError(field=name, given=found, wanted="a list of texts")
    return tuple(found)


def extract(
    book: Book, wanted: Wanted, sheet: str, *, at: datetime, papers: Mapping[str, bytes] | None = None
) -> tuple[Entry, bytes]:
    """The entry that something was handed out, and the zip.

    papers: further papers by file name, beside the dossiers of the items.
    Raises: InputError for an item or entry the book has not, or a request that does not reach what is asked for;
    LockedError, StorageError.
    """
    if wanted.process:
        with engines.reading(book.engine) as connection:
            telling.must_rest_on(connection, book, wanted.process, wanted.items, parties=wanted.parties)
    drawn = {f"papers/{name}": data for name, data in (papers or {}).items()}
    for slip, line in wanted.items if wanted.papers else ():
        drawn[f"papers/dossier-{slip}-{line}.pdf"] = _dossier(book, slip, line, wanted, sheet, at)
    note = closing.seal(book)
    with engines.reading(book.engine) as connection:
        files = dict(_files(connection, book, wanted, note, at)) | drawn
    files |= {name: _checker(name) for name in _CHECKERS}
    manifest = canonical.encode({"files": {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}})
    digest = hashlib.sha256(manifest).hexdigest()
    keys = book.opened()
    signed = seals.sign_note(f"counterfoil extract\n{digest}\n", book.origin, keys.public, keys.sign)
    name = book.chance(8).hex()
    with book.writing() as page:
        held = [book.hold("look", {**wanted.record(), "at": local_text(at)}, name)]
        entry = page.append("extract/0", about=[f"extract/{name}"], public={"manifest": digest}, held=held)
        if wanted.process:
            requests.hand_over(page, wanted.process, entry, parties=wanted.parties)
        page.seal()
    # From here on it stands in the book that exactly these bytes were handed out, to whom and why.
    return entry, _zipped({**files, "manifest.json": manifest, "manifest.note": signed.encode()})


def _dossier(book: Book, slip: int, line: int, wanted: Wanted, sheet: str, at: datetime) -> bytes:
    request = telling.Request(wanted.recipient, wanted.basis, wanted.parties, process=wanted.process)
    return telling.tell(book, slip, line, request, sheet, at=at)[1]


def _files(
    connection: sa.Connection, book: Book, wanted: Wanted, note: str, at: datetime
) -> Iterator[tuple[str, bytes]]:
    entries, disclosures, rules = [], [], set()
    seqs = sorted({*_seqs(connection, book, wanted), *vouching.changes(connection, book)})
    yield from vouching.files(connection, book, seqs)
    for seq in seqs:
        opened = reading.open_entry(connection, book, seq)
        entries.append(opened.entry.data)
        rules |= {*opened.entry.public.get("rules", ()), *_adopted(opened.entry)}
        yield f"proofs/{seq}.tlog-proof", reading.proof(connection, book, seq, note).encode()
        for (name, value), disclosure in zip(opened.parts, opened.disclosures, strict=True):
            seen = _may_see(name, wanted, opened.entry)
            if seen and not _secret(connection, book, opened.entry, name, value, wanted, at):
                disclosures.append(canonical.encode({"disclosure": disclosure, "seq": seq}))
                yield from _picture(connection, book, opened.entry, value)
    yield from (
        (f"rules/{digest}.toml", reading.rule_file(connection, book.origin, digest)) for digest in sorted(rules)
    )
    keys = book.opened()
    yield "book.vkey", (seals.vkey(book.origin, keys.public) + "\n").encode()
    yield "seal.txt", note.encode()
    yield "entries.jsonl", b"".join(data + b"\n" for data in entries)
    yield "parts.jsonl", b"".join(data + b"\n" for data in disclosures)


def _adopted(entry: Entry) -> list[str]:
    return [str(entry.public["digest"])] if entry.kind.startswith("rules-adopted/") else []


def _seqs(connection: sa.Connection, book: Book, wanted: Wanted) -> list[int]:
    """The entries that are handed out, in order."""
    found = set(wanted.entries)
    for slip, line in wanted.items:
        reading.item_row(connection, book.origin, slip, line)
        for seq in reading.seqs_about(connection, book.origin, f"slip/{slip}", f"item/{slip}/{line}"):
            kind = reading.entry_at(connection, book.origin, seq).kind.partition("/")[0]
            if kind not in _UNTOLD:
                found.add(seq)
    if len(found) > MOST_ENTRIES:
        raise InputError(field="entries", given=f"{len(found):,}", wanted=f"at most {MOST_ENTRIES:,} in one extract")
    return sorted(found)


def _may_see(name: str, wanted: Wanted, entry: Entry) -> bool:
    """Whether the recipient of this extract may see a part."""
    if not wanted.parties and any(fnmatch.fnmatchcase(name, one) for one in _PARTIES):
        return False
    if wanted.parts:
        return any(fnmatch.fnmatchcase(name, one) for one in wanted.parts)
    if any(fnmatch.fnmatchcase(name, one) for one in _PARTIES):
        return True
    if fnmatch.fnmatchcase(name, "item/*/price"):
        return False
    slips = {int(one.split("/")[1]) for one in entry.about if one.startswith(("slip/", "item/"))}
    return any(slip in slips and name.startswith(f"item/{line}/") for slip, line in wanted.items)


def _secret(
    connection: sa.Connection, book: Book, entry: Entry, name: str, value: Any, wanted: Wanted, at: datetime
) -> bool:
    """Whether a part tells of a request that is secret, to somebody who did not make it."""
    of = entry.about[0].removeprefix("process/") if name == "process" else ""
    of = value.get("process", "") if name == "look" else of
    return of not in ("", wanted.process) and requests.one(connection, book, of).secret_at(at)


def _picture(connection: sa.Connection, book: Book, entry: Entry, value: Any) -> Iterator[tuple[str, bytes]]:
    """The shown copy of the picture that a part describes, if it describes one."""
    if not isinstance(value, dict) or "file_shown" not in value:
        return
    subject = next((about[6:] for about in entry.about if about.startswith("draft/")), "")
    key = find_key(connection, book, subject, value["class"])
    if key is None:
        return
    data = pictures.open_picture(
        book.folder,
        key,
        value["file_shown"],
        book=book.origin,
        subject=subject,
        cls=value["class"],
        picture_id=f"{value['id']}/shown",
        seq=entry.seq,
    )
    ending = "png" if data.startswith(b"\x89PNG") else "jpg"
    yield f"pictures/{hashlib.sha256(data).hexdigest()}.{ending}", data


def _checker(name: str) -> bytes:
    return (Path(ledger.__file__).parent / "handed" / name).read_bytes()


def _zipped(files: Mapping[str, bytes]) -> bytes:
    """The files as a zip: the same bytes for the same files."""
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_STORED) as made:
        for name in sorted(files):
            made.writestr(zipfile.ZipInfo(name, (2000, 1, 1, 0, 0, 0)), files[name])
    return kept.getvalue()
