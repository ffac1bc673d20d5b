"""Commands on a book as a whole: init, unlock, lock; book verify, seal, rebuild."""

import re
from pathlib import Path

import click

from ledger.acts import closing, opening
from ledger.book import engine as engines
from ledger.book import faults, reading, rebuilding, verifying
from ledger.chain import seals
from ledger.cli import given, opened, places, said
from ledger.cli.opened import has_keeper
from ledger.cli.options import Asked, as_json, for_a_book, unlocking
from ledger.errors import InputError, StorageError
from ledger.handed import verify as checker
from ledger.shop import facts as shop_facts
from ledger.vault import keeper, keys_file

NOT_SOUND = 3
_SHORT_FORM = re.compile(r"\d+-[A-Za-z2-7]{8,}")


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--facts", metavar="FILE", help="Facts about the shop, TOML; else a form to fill in is put into DIR.")
@click.option("--settings", metavar="FILE", help="The owner's settings, TOML; else the shipped ones.")
@unlocking
@as_json
@click.pass_obj
def init(asked: Asked, folder: Path, facts: str | None, settings: str | None) -> None:
    """Make a new book in DIR.

    The owner's pass-phrase is asked for, or comes from --unlock-with; --as names the owner (else `owner`). The paper
    key is shown once. If every owner's pass-phrase and the paper key are lost, everything personal in the book is
    lost.
    """
    trouble = places.trouble(folder)
    if trouble is not None:
        raise StorageError(path=folder, why=trouble)
    owner = asked.staff or "owner"
    shop = given.data(asked, facts, "--facts") if facts else shop_facts.form()
    known = shop_facts.read(shop)
    own = given.data(asked, settings, "--settings") if settings else None
    phrase = given.pass_phrase(asked) if asked.unlock_with else given.new_pass_phrase(owner, None)
    book, paper_key = opening.create(
        folder, owner=owner, pass_phrase=phrase, facts=known, clock=opened.clock, chance=opened.chance, settings=own
    )
    with engines.reading(book.engine) as connection:
        note = reading.newest_seal(connection, book.origin)
    book.engine.dispose()
    (folder / "shop.toml").write_bytes(shop)
    fingerprint = seals.fingerprint(book.opened().public)
    document = {
        "book": book.origin,
        "folder": str(folder),
        "owner": owner,
        "fingerprint": fingerprint,
        "seal": closing.short(str(note)),
        "paper_key": paper_key,
    }
    lines = [
        f"A new book lies in {folder}: {book.origin}",
        f"Fingerprint of its key: {seals.fingerprint_groups(fingerprint)}",
        "",
        "The paper key, shown this once; print it and lock it away:",
        "",
        paper_key,
        "",
        "If every owner's pass-phrase and this paper key are lost, everything personal in the book is lost.",
        *([] if facts else [f"Next: fill in {folder / 'shop.toml'} and run `counterfoil shop facts` with it."]),
    ]
    said.answer(asked, document, lines)


@click.command()
@click.option(
    "--minutes", type=click.IntRange(1, 720), help="Close again after so long without use; else the settings say."
)
@for_a_book
@click.pass_obj
def unlock(asked: Asked, minutes: int | None) -> None:
    """Open the vault for the day.

    A key keeper holds the opened keys for this user until `lock`, or until nobody has used them for a while. Windows
    has none: there, give --unlock-with to each command.
    """
    book = opening.at(opened.folder(asked), clock=opened.clock, chance=opened.chance)
    socket = opened.socket(book)
    if not has_keeper():
        why = "this system has no key keeper; give --unlock-with FILE to each command instead"
        raise StorageError(path=book.folder, why=why)
    if not asked.unlock_with:
        asked.pass_phrase, asked.unlock_with = given.typed_pass_phrase(), "-"
    opened.unlock(book, asked)
    minutes = minutes or opening.settings_of(book.folder).idle_minutes
    keeper.start(book.opened(), socket, minutes * 60)
    document = {"book": book.origin, "staff": book.opened().staff, "idle_minutes": minutes}
    who = book.opened().staff
    who = "whoever holds the paper key" if who == keys_file.PAPER else who
    text = f"The vault is open for {who} until `counterfoil lock`, or {minutes} minutes without use."
    said.answer(asked, document, text)


@click.command()
@for_a_book
@click.pass_obj
def lock(asked: Asked) -> None:
    """Close the vault."""
    book = opening.at(opened.folder(asked), clock=opened.clock, chance=opened.chance)
    was_open = keeper.dismiss(opened.socket(book))
    said.answer(asked, {"was_open": was_open}, "The vault is closed." if was_open else "The vault was not open.")


@click.command()
@click.option(
    "--level", "levels", multiple=True, type=click.Choice(faults.LEVELS), help="Only this level; may be given again."
)
@click.option(
    "--against",
    metavar="SEAL",
    help="What somebody outside has kept: a file with a seal, a proof or a stub's code (- is standard input), or the "
    "short form itself.",
)
@click.option("--key", metavar="FINGERPRINT", help="Fingerprint of the book's key, from outside: all 64 digits.")
@for_a_book
@click.pass_context
def verify(ctx: click.Context, levels: tuple[str, ...], against: str | None, key: str | None) -> None:
    """Check that nothing in the book has changed.

    Levels: chain (order, links, tree, seals), forms (exact bytes and members, every slip number accounted for),
    tables (search tables equal a rebuild), parts (every digest has its part), pictures. Without --level, all that can
    be opened. Ends with 3 when a fault was found, with 5 when a named level cannot be opened.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    kept = None if against is None else _against(asked, against)
    with said.waiting("Checking the book"):
        findings = verifying.audit(book, levels=levels, against=kept, key=key)
    lines = [
        *(f"Fault: {fault}" for fault in findings.faults),
        *(f"Not opened: {level}: {why}" for level, why in findings.not_opened),
        *findings.notes,
        f"{findings.entries} entries, root {findings.root or 'not worked out'}",
        f"{'Sound' if findings.ok else 'NOT SOUND'} at: {', '.join(findings.levels)}",
    ]
    said.answer(asked, findings.record(), lines)
    ctx.exit(0 if findings.ok else NOT_SOUND)


def _against(asked: Asked, told: str) -> str:
    if _SHORT_FORM.fullmatch(told) and not Path(told).exists():
        return told
    try:
        return given.data(asked, told, "--against").decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as fault:
        wanted = f"text in UTF-8 (byte {fault.start} is not)"
        raise InputError(field="--against", given=told, wanted=wanted) from None


@click.command()
@for_a_book
@click.pass_obj
def seal(asked: Asked) -> None:
    """Print the signed seal over the book as it stands."""
    book = opened.a_book(asked, unlocked=True)
    note = closing.seal(book)
    sealed = seals.read_seal(note)
    document = {
        "book": book.origin,
        "size": sealed.size,
        "root": sealed.root.hex(),
        "seal": closing.short(note),
        "seal_note": note,
        "fingerprint": seals.fingerprint(book.opened().public),
    }
    said.answer(asked, document, note.rstrip("\n"))


@click.command()
@for_a_book
@click.pass_obj
def rebuild(asked: Asked) -> None:
    """Make the derived tables anew from entries and vault.

    For a book whose level tables is at fault while chain, forms and parts are sound. Entries are not touched.
    """
    book = opened.a_book(asked, unlocked=True)
    with said.waiting("Making the tables anew"):
        entries = rebuilding.rebuild(book)
    said.answer(
        asked, {"entries": entries}, f"The tables are made anew from {said.count(entries, 'entry', 'entries')}."
    )


@click.command()
@click.argument("path", metavar="ZIP", type=click.Path(path_type=Path))
@click.option("--key", metavar="FINGERPRINT", help="Fingerprint of the book's key, from outside: all 64 digits.")
@as_json
@click.pass_context
def verify_extract(ctx: click.Context, path: Path, key: str | None) -> None:
    """Check an extract; no book is needed.

    The same check lies in every extract as verify.py and verify.html. Without the fingerprint, from a stub or report
    that left the shop earlier, an extract can only be found to agree with itself. Ends with 3 when a fault was found.
    """
    try:
        with path.open("rb") as file:
            data = file.read(checker.MOST_BYTES + 1)
    except OSError as fault:
        raise InputError(field="ZIP", given=str(path), wanted=f"a file that can be read ({fault.strerror})") from None
    found = checker.check(data, key)
    document = {
        "ok": found.ok,
        "book": found.book,
        "seal": found.seal,
        "fingerprint": found.fingerprint,
        "vouched": found.vouched,
        "entries": found.entries,
        "parts": found.parts,
        "pictures": found.pictures,
        "faults": found.faults,
        "says": found.says,
    }
    verdict = "Sound" if found.ok else "NOT SOUND: do not rely on this extract"
    said.answer(ctx.obj, document, [*(f"Fault: {one}" for one in found.faults), *found.says, verdict])
    ctx.exit(0 if found.ok else NOT_SOUND)
