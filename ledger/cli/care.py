"""The command `doctor`: how a book is kept on this machine, and what to mend."""

import os
import shutil
import sqlite3
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import click

from ledger import moments, shipped
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book
from ledger.chain import entries
from ledger.cli import opened, places, said
from ledger.cli.opened import has_keeper
from ledger.cli.options import Asked, for_a_book
from ledger.shop import adopted
from ledger.shop import facts as shop_facts
from ledger.vault import keeper, keys_file, pictures

REFUSED, TO_MEND = 6, 8
_LEAST_FREE_BYTES = 1_000_000_000
_FONTS = ("fontpkg-arimo", "fontpkg-noto-sans-arabic", "noto-cjk-sans-otc")


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at."""

    what: str
    state: str
    """well, mend or refused"""
    says: str


@click.command()
@for_a_book
@click.pass_context
def doctor(ctx: click.Context) -> None:
    """Say how the book is kept on this machine, and what to mend.

    Needs no key. Ends with 6 where a book must not lie, on a network drive or in a mirrored folder, and with 8 when
    something is to be mended.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    findings = list(_findings(book))
    states = {finding.state for finding in findings}
    code = REFUSED if "refused" in states else TO_MEND if "mend" in states else 0
    document = {"ok": code == 0, "findings": [vars(finding) for finding in findings]}
    rows = [(finding.what, finding.state, finding.says) for finding in findings]
    said.answer(asked, document, said.table(("what", "state", "says"), rows))
    ctx.exit(code)


def _findings(book: Book) -> Iterator[Finding]:
    yield _folder(book.folder)
    yield _space(book.folder)
    yield _database(book)
    yield _layout(book)
    yield _keys_file(book.folder / "keys.json")
    yield _former_owners(book.folder / "keys.json")
    yield _keeper(book)
    yield _facts(book)
    yield from _rule_files(book)
    yield _pictures(book)
    yield _zones()
    yield _fonts()


def _folder(folder: Path) -> Finding:
    trouble = places.trouble(folder)
    return Finding("folder", "refused" if trouble else "well", f"{folder}: {trouble or 'on a disk of this machine'}")


def _space(folder: Path) -> Finding:
    free = shutil.disk_usage(folder).free
    enough = free >= _LEAST_FREE_BYTES
    advice = "" if enough else "; make room before the next purchase"
    return Finding("disk", "well" if enough else "mend", f"{free / 1e9:.1f} GB free{advice}")


def _database(book: Book) -> Finding:
    if book.engine.dialect.name != "sqlite":
        with engines.reading(book.engine) as connection:
            found = connection.exec_driver_sql("SHOW server_version").scalar()
        return Finding("database", "well", f"PostgreSQL {found}, read committed, one writer at a time by advisory lock")
    mode, sync = engines.journal_for(sqlite3.sqlite_version_info)
    why = "it has" if mode == "WAL" else "it lacks"
    mended = f"{why} the mended WAL reset of 3.51.3, 3.50.7 and 3.44.6"
    return Finding("database", "well", f"SQLite {sqlite3.sqlite_version}, journal {mode}, synchronous {sync}: {mended}")


def _layout(book: Book) -> Finding:
    from alembic.script import ScriptDirectory  # 0.2 s to import

    found = engines.layout(book.engine)
    newest = ScriptDirectory(str(shipped.folder("migrations"))).get_current_head()
    if found == newest:
        return Finding("layout", "well", f"{found}, the newest this program knows")
    says = f"{found}; this program writes {newest}: use the program that made the book, or bring the book up to date"
    return Finding("layout", "mend", says)


def _keys_file(path: Path) -> Finding:
    mode = stat.S_IMODE(path.stat().st_mode)
    if os.name == "posix" and mode & 0o077:
        return Finding("keys file", "mend", f"{path} has mode {mode:04o}; run `chmod 600 {path}`")
    people = ", ".join(f"{staff} ({role})" for staff, role in keys_file.people(path))
    return Finding("keys file", "well", f"closed to others; opened by {people}")


def _former_owners(path: Path) -> Finding:
    known = keys_file.known_to_former_owners(path)
    if known:
        says = f"an owner who left could know the keys of {', '.join(known)}: run `counterfoil staff reset` for each"
        return Finding("former owners", "mend", says)
    return Finding("former owners", "well", "none knows a key that is still in use")


def _keeper(book: Book) -> Finding:
    if not has_keeper():
        return Finding("key keeper", "well", "this system has none; give --unlock-with FILE to each command")
    runs = keeper.fetch(opened.socket(book)) is not None
    return Finding("key keeper", "well", "runs: the vault is open" if runs else "does not run: the vault is closed")


def _facts(book: Book) -> Finding:
    known = opened.shop(book)
    blank = shop_facts.unfilled(known)
    if blank:
        says = f"{' and '.join(blank)} as in the form: fill in shop.toml and run `counterfoil shop facts` with it"
        return Finding("shop facts", "mend", says)
    return Finding("shop facts", "well", f"{known.name}, since {known.from_day}")


def _rule_files(book: Book) -> Iterator[Finding]:
    today = opened.today(book)
    with engines.reading(book.engine) as connection:
        files = adopted.in_force(connection, book.origin)
    if not files:
        yield Finding("rule files", "mend", "none adopted: the program knows no law; run `counterfoil law adopt`")
    for file in files:
        old = file.stale_on(today)
        until = f"{file.name}: compared with the law on {file.read_on}, good until {file.checked_until}"
        yield Finding("rule file", "mend" if old else "well", f"{old}: compare it with the law again" if old else until)


def _pictures(book: Book) -> Finding:
    with engines.reading(book.engine) as connection:
        named = {
            digest
            for entry in reading.all_entries(connection, book.origin)
            for pair in entries.picture_files(entry)
            for digest in pair
        }
    spare = len(pictures.stored(book.folder) - named)
    return Finding(
        "pictures", "well", f"{len(named)} named by entries; {spare} that no entry names (slips not recorded)"
    )


def _zones() -> Finding:
    """Which time zone tables the program reads: those of the package, never the system's."""
    return Finding("time zones", "well", f"tables of the package {moments.TABLES}")


def _fonts() -> Finding:
    missing = [name for name in _FONTS if not _installed(name)]
    if missing:
        return Finding("fonts", "mend", f"missing: {', '.join(missing)}; install counterfoil again")
    return Finding("fonts", "well", ", ".join(f"{name} {version(name)}" for name in _FONTS))


def _installed(name: str) -> bool:
    try:
        version(name)
    except PackageNotFoundError:
        return False
    return True
