"""One check that proves everything, and everything calls it: `audit`.

Levels: chain and forms need no key; tables, parts and the inside of pictures need the vault; pictures as ciphertext
needs none. A level that cannot be opened is said, with the reason, never passed over.
"""

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import sqlalchemy as sa

from ledger.book import chain_audit, forms_audit, projections, reading, signing_keys, tables
from ledger.book import engine as engines
from ledger.book.faults import LEVELS, Fault, Findings, number, shown
from ledger.book.pages import Book, find_key
from ledger.chain import entries, parts, proof_files, seals, tree
from ledger.errors import InputError, LedgerError, LockedError, Said
from ledger.vault import pictures

_MOST = 100


@dataclass
class _Opened:
    """What walking all entries with the vault open has found."""

    lines: list[projections.Line] = field(default_factory=list)
    parts: list[Fault] = field(default_factory=list)
    pictures: list[Fault] = field(default_factory=list)


def audit(book: Book, *, levels: Sequence[str] = (), against: str | None = None, key: str | None = None) -> Findings:
    """What is wrong with a book, level by level; without levels, all that can be opened.

    against: a seal, a proof, a stub's QR text, or the short form printed on a paper.
    key: fingerprint of the key from outside; the book's key, or one that it was changed from, must be it.
    Raises: LockedError when a level was named and the vault is locked; InputError; StorageError.
    """
    wanted = tuple(levels) or LEVELS
    for level in wanted:
        if level not in LEVELS:
            raise InputError(field="level", given=level, wanted="one of " + ", ".join(LEVELS))
    findings = Findings()
    afresh = replace(book, _head=None, _data_keys={})  # what this process remembers is no evidence
    with engines.reading(book.engine) as connection, engines.any_text(connection):
        _chain_and_forms(connection, afresh, wanted, against, key, findings)
        _inside(connection, afresh, wanted, bool(levels), findings)
    return findings


def _chain_and_forms(
    connection: sa.Connection, book: Book, wanted: Sequence[str], against: str | None, key: str | None, result: Findings
) -> None:
    if "chain" in wanted or against is not None or key is not None:
        walked = chain_audit.links(connection, book.origin)
        levels = tree.all_levels(walked.leaves)
        faults = walked.faults + chain_audit.nodes(connection, book.origin, levels)
        keys, key_faults = signing_keys.find(connection, book.origin, walked.changes, key)
        faults += key_faults
        faults += _strangers(connection, book.origin, "chain", (tables.entries, tables.nodes, tables.seals))
        if keys is not None:
            faults += chain_audit.kept_seals(connection, book.origin, levels, keys, walked.purchases)
        if against is not None:
            faults += _against(against, levels, keys, book.origin)
        result.faults += faults
        result.entries = len(walked.leaves)
        result.root = chain_audit.root_at(levels, len(walked.leaves)).hex()
        result.levels.append("chain")
    else:
        entry = tables.entries.c
        counted = sa.select(sa.func.count(entry.seq)).where(entry.book == book.origin)
        result.entries = connection.execute(counted).scalar_one()
    if "forms" in wanted:
        result.faults += forms_audit.forms(connection, book.origin)
        result.faults += _strangers(connection, book.origin, "forms", (tables.rule_files,))
        result.levels.append("forms")


def _strangers(connection: sa.Connection, book: str, level: str, among: Sequence[sa.Table]) -> list[Fault]:
    """Rows that belong to another book: a SQLite file holds one, a PostgreSQL database may hold several."""
    if connection.dialect.name != "sqlite":
        return []
    faults = []
    for table in among:
        other = sa.or_(table.c.book < book, table.c.book > book)  # by the index; a plain "is not" reads the table
        count = connection.execute(sa.select(sa.func.count()).select_from(table).where(other)).scalar_one()
        if count:
            faults.append(Fault(level, None, f"{table.name}: rows of another book stand there", "none", str(count)))
    return faults


def _against(text: str, levels: Sequence[Sequence[bytes]], keys: signing_keys.Keys | None, book: str) -> list[Fault]:
    """Hold the book against what somebody outside has kept."""
    kept = text.strip("\r\n") + "\n"
    if "\n" not in text.strip():
        return chain_audit.short_form_faults(text.strip(), levels)
    try:
        proof = proof_files.read(kept) if kept.startswith(proof_files.HEAD) else None
        sealed = seals.read_seal(proof.note if proof else kept)
    except seals.SealWrong as fault:
        wanted = "a seal, a proof, or a seal in short form, as it left the shop"
        raise InputError(field="against", given=Said(f"something else ({fault.why})"), wanted=wanted) from None
    if proof is None:
        return _seal_against("the seal from outside", kept, levels, keys, book)
    faults = _seal_against("the proof from outside", proof.note, levels, keys, book)
    if not faults:
        leaf = levels[0][proof.index] if proof.index < sealed.size else b""
        if not tree.verify_inclusion(leaf, proof.index, sealed.size, proof.path, sealed.root):
            what = "the entry is not the one that the proof from outside was made for"
            faults.append(Fault("chain", proof.index, what))
    return faults


def _seal_against(
    what: str, note: str, levels: Sequence[Sequence[bytes]], keys: signing_keys.Keys | None, book: str
) -> list[Fault]:
    if keys is None:
        return [Fault("chain", 0, f"{what} cannot be checked: the opening entry names no key")]
    return chain_audit.seal_faults(what, note, levels, keys, book)


def _inside(connection: sa.Connection, book: Book, wanted: Sequence[str], named: bool, result: Findings) -> None:
    """Levels tables, parts and pictures."""
    inner = [level for level in ("tables", "parts") if level in wanted]
    if book.keys is None and inner:
        why = "the vault is locked; give --unlock-with FILE"
        if named:
            raise LockedError(what=f"Level {inner[0]}", why=why)
        result.not_opened += [(level, why) for level in inner]
        inner = []
    opened = _Opened()
    if book.keys is not None and (inner or "pictures" in wanted):
        opened = _walk(connection, book)
    if "tables" in inner:
        result.faults += _tables(connection, book, opened)
        result.faults += _strangers(connection, book.origin, "tables", tables.PROJECTIONS)
        result.levels.append("tables")
    if "parts" in inner:
        result.faults += opened.parts[:_MOST] + _stray_rows(connection, book) + _key_faults(connection, book)
        result.faults += _strangers(connection, book.origin, "parts", (tables.locked_rows, tables.data_keys))
        result.levels.append("parts")
    if "pictures" in wanted:
        _pictures(connection, book, opened, result)


def _walk(connection: sa.Connection, book: Book) -> _Opened:
    """Open every entry's parts once, for tables, parts and pictures."""
    result = _Opened()
    forgotten: set[str] = set()
    unproved: list[tuple[int, set[str]]] = []
    blind = book.opened().blind
    for entry in _readable(connection, book.origin):
        if entry.kind.startswith("forgotten/"):
            forgotten |= set(entry.public["digests"])
        opened = _open(connection, book, entry, result)
        result.lines.append(projections.Line(entry, opened.parts, blind))
        lost = set(entry.parts) - {parts.digest_of(disclosure) for disclosure in opened.disclosures}
        if lost:
            unproved.append((entry.seq, lost))
        elif opened.closed:
            what = f"a locked row of class {shown(opened.closed[0])} has no key and holds none of its parts"
            result.parts.append(Fault("parts", entry.seq, what))
        result.pictures += _picture_faults(connection, book, opened)
    for seq, lost in unproved:
        if lost - forgotten:
            what = f"{len(lost - forgotten)} of its digests have no part in the vault, and none was forgotten"
            result.parts.append(Fault("parts", seq, what, min(lost - forgotten), "no part"))
    return result


def _readable(connection: sa.Connection, book: str, *, bearing: bytes = b"") -> Iterator[entries.Entry]:
    """Every entry that can be read and whose bytes bear some others; level forms names those that cannot."""
    for batch in chain_audit.stored(connection, book):
        for _seq, data, _leaf, _prev in batch:
            kept = tables.as_bytes(data)
            if bearing in kept:
                with suppress(LedgerError):
                    yield entries.read(kept)


def _open(connection: sa.Connection, book: Book, entry: entries.Entry, result: _Opened) -> reading.Opened:
    def wrong(fault: LedgerError) -> None:
        what = f"a locked row of it does not open as it was locked ({shown(fault)})"
        result.parts.append(Fault("parts", entry.seq, what))

    return reading.open_parts(connection, book, entry, on_fault=wrong)


@cache
def _scratch() -> sa.Engine:
    """Databases in memory, a new and empty one for each transaction."""
    return sa.create_engine("sqlite://", poolclass=sa.NullPool, hide_parameters=True)


def _tables(connection: sa.Connection, book: Book, opened: _Opened) -> list[Fault]:
    """Rebuild the derived tables beside the book and compare row by row."""
    with _scratch().begin() as beside:
        projections.create(beside)
        for line in opened.lines:
            try:
                projections.apply(beside, line)
            except projections.NOT_AS_ACTS_WRITE as fault:
                what = f"it cannot be brought into the tables again ({type(fault).__name__})"
                return [Fault("tables", line.entry.seq, what)]
        should = projections.dump(beside, book.origin)
    try:
        found = projections.dump(connection, book.origin)
    except sa.exc.DBAPIError as fault:
        return [Fault("tables", None, "the tables cannot be read", "rows", shown(fault.orig))]
    faults = _file_faults(connection)
    for table, rows in should.items():
        for row in sorted((rows - found[table]).elements(), key=repr):
            faults.append(_row_fault(book.origin, table, row, "a row is missing or was changed", True))
        for row in sorted((found[table] - rows).elements(), key=repr):
            faults.append(_row_fault(book.origin, table, row, "a row stands there that no entry gives", False))
    return faults[:_MOST]


def _file_faults(connection: sa.Connection) -> list[Fault]:
    """What SQLite itself finds wrong in the file: rows that an index does not have, pages that belong to nothing."""
    if connection.dialect.name != "sqlite":
        return []
    found = connection.exec_driver_sql(f"PRAGMA integrity_check({_MOST})").scalars()
    return [Fault("tables", None, "the database file is damaged", "ok", shown(text)) for text in found if text != "ok"]


def _row_fault(book: str, table: str, row: tuple[Any, ...], what: str, missing: bool) -> Fault:
    """Personal data stands in no derived table, so a row may be shown."""
    columns = [column.name for column in tables.metadata.tables[table].columns] if table != tables.WORDS else []
    seq = next((row[columns.index(name)] for name in ("seq", "changed_seq", "presented_seq") if name in columns), None)
    told = shown(", ".join(str(value) for value in row if value is not None and value != book))
    return Fault("tables", number(seq), f"{table}: {what}", told if missing else "", "" if missing else told)


def _stray_rows(connection: sa.Connection, book: Book) -> list[Fault]:
    """Locked rows that belong to no entry."""
    row, entry = tables.locked_rows.c, tables.entries.c
    known = sa.select(entry.seq).where(entry.book == book.origin)
    stray = sa.select(row.seq, row["class"]).where(row.book == book.origin, row.seq.not_in(known))
    return [
        Fault("parts", number(seq), f"a locked row of class {shown(cls)} belongs to no entry")
        for seq, cls in connection.execute(stray.limit(_MOST))
    ]


def _key_faults(connection: sa.Connection, book: Book) -> list[Fault]:
    """Data keys that do not open, whether or not anything is locked under them."""
    key = tables.data_keys.c
    faults = []
    for subject, cls in connection.execute(sa.select(key.subject, key["class"]).where(key.book == book.origin)).all():
        try:
            find_key(connection, book, subject, cls)
        except LedgerError as fault:
            faults.append(Fault("parts", None, f"a data key does not open ({shown(fault)})"))
    return faults[:_MOST]


def _pictures(connection: sa.Connection, book: Book, opened: _Opened, result: Findings) -> None:
    named: set[str] = set()
    for entry in _readable(connection, book.origin, bearing=b'"pictures":[{'):
        for pair in entries.picture_files(entry):
            for digest in pair:
                if digest in named:
                    continue
                named.add(digest)
                fault = pictures.check_file(book.folder, digest)
                if fault is not None:
                    what = f"a picture file that it names {fault}"
                    result.faults.append(Fault("pictures", entry.seq, what, digest, "not that"))
    if book.keys is None:
        result.not_opened.append(("pictures", "only their encrypted files were compared: the vault is locked"))
    else:
        result.faults += opened.pictures[:_MOST]
    result.levels.append("pictures")
    spare = len(pictures.stored(book.folder) - named)
    if spare:
        result.notes.append(f"{spare} locked pictures lie in the folder that no entry names (a slip not recorded).")


def _picture_faults(connection: sa.Connection, book: Book, opened: reading.Opened) -> list[Fault]:
    """Whether the pictures inside are those that the parts describe."""
    entry = opened.entry
    subject = next((about[6:] for about in entry.about if about.startswith("draft/")), "")
    faults = []
    for name, value in opened.parts:
        if isinstance(value, dict) and "file_received" in value:
            try:
                reasons = list(_picture_reasons(connection, book, entry, subject, name, value))
            except (KeyError, TypeError, AttributeError):
                reasons = [(f"the part {name} describes no picture", "", "")]
            faults += [Fault("pictures", entry.seq, *reason) for reason in reasons]
    return faults


def _picture_reasons(
    connection: sa.Connection, book: Book, entry: entries.Entry, subject: str, name: str, value: dict[str, Any]
) -> Iterator[tuple[str, str, str]]:
    """What is wrong with one picture, as (what, expected, found)."""
    if (value["file_received"], value["file_shown"]) not in entries.picture_files(entry):
        yield f"the files of {name} are not named by its entry", "", ""
    try:
        key = find_key(connection, book, subject, value["class"])
        if key is None:
            return  # forgotten, or level parts names it
        for copy in ("received", "shown"):
            inside = pictures.open_picture(
                book.folder,
                key,
                value[f"file_{copy}"],
                book=book.origin,
                subject=subject,
                cls=value["class"],
                picture_id=f"{value['id']}/{copy}",
            )
            found = hashlib.sha256(inside).hexdigest()
            if found != value[copy]:
                yield f"the {copy} copy of {name} is another picture", shown(value[copy]), found
    except LedgerError as fault:
        yield f"a picture does not open as it was locked ({shown(fault)})", "", ""
