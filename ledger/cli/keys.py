"""Commands on what opens the book: staff passphrase, reset, paper-key.

Decides: who may be given what, and that the key keeper, which holds keys from before, is dismissed. A new paper key
is printed before anything else can fail. Leaves to others: how pass-phrases are asked for (`given`), what changes in
the keys file (vault).
"""

import click

from ledger.acts import staffing
from ledger.cli import given, opened, said
from ledger.cli.options import Asked, for_a_book
from ledger.errors import InputError
from ledger.vault import keys_file
from ledger.vault.keys_file import PAPER

PAPER_KEY_SHOWN = "The new paper key, shown this once; print it and lock it away:\n\n{}\n"


@click.command()
@click.option("--pass-phrase", metavar="FILE", help="File with the new one, mode 0600; asked for without it.")
@for_a_book
@click.pass_obj
def passphrase(asked: Asked, pass_phrase: str | None) -> None:
    """Change your own pass-phrase.

    Yours is the one that opened the vault. An owner who holds only the paper key runs `staff reset` instead.
    """
    book = opened.a_book(asked, unlocked=True)
    keys = book.opened()
    if keys.staff == PAPER:
        wanted = "a person's pass-phrase; the paper key has none, so run `counterfoil staff reset STAFF` with it"
        raise InputError(field="staff", given=PAPER, wanted=wanted)
    if book.by != keys.staff:
        raise InputError(field="--as", given=str(book.by), wanted=f"{keys.staff}, whose pass-phrase opened the vault")
    new = given.new_pass_phrase(keys.staff, pass_phrase)
    keys_file.change_pass_phrase(book.folder / "keys.json", keys, new, book.chance)
    said.answer(asked, {"staff": keys.staff}, f"{keys.staff} has a new pass-phrase; the old one opens nothing.")
    opened.close(book, asked)


@click.command()
@click.argument("staff_id", metavar="STAFF")
@click.option("--pass-phrase", metavar="FILE", help="File with the new one, mode 0600; asked for without it.")
@for_a_book
@click.pass_obj
def reset(asked: Asked, staff_id: str, pass_phrase: str | None) -> None:
    """Give a person a new pass-phrase and a new key.

    For whoever forgot hers, and for those whose keys a former owner could know, as `doctor` names them. Only an owner
    can do this: for anyone, herself included, with her own pass-phrase or with the paper key.
    """
    book = opened.a_book(asked, unlocked=True)
    owner = opened.owners_keys(book)
    staffing.must_open(book, staff_id)
    staffing.reset(book, owner, staff_id, given.new_pass_phrase(staff_id, pass_phrase))
    said.answer(asked, {"staff": staff_id}, f"{staff_id} has a new pass-phrase; the old one opens nothing.")
    opened.close(book, asked)


@click.command()
@for_a_book
@click.pass_obj
def paper_key(asked: Asked) -> None:
    """Make a new paper key.

    It is shown once; the old paper opens nothing any more. Only an owner can do this.
    """
    book = opened.a_book(asked, unlocked=True)
    text = keys_file.new_paper_key(book.folder / "keys.json", opened.owners_keys(book), book.chance)
    said.answer(asked, {"paper_key": text}, [PAPER_KEY_SHOWN.format(text), "The old paper opens nothing any more."])
    opened.close(book, asked)
