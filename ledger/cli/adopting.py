"""The command that puts a rule file into force in a book.

Decides: on which day the file counts as compared with the law when nobody says. Leaves the rest to
`ledger.acts.setting_up`. Stands apart from the other commands on rule files, which need no book and start fast.
"""

import click

from ledger.acts import setting_up
from ledger.cli import given, opened
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import told
from ledger.law import files


@click.command()
@click.argument("path", metavar="FILE")
@click.option(
    "--compared-on", metavar="DAY", help="Day on which it was compared with the law; else the file's own read_on."
)
@for_a_book
@click.pass_obj
def adopt(asked: Asked, path: str, compared_on: str | None) -> None:
    """Put a rule file into force in a book.

    The book keeps its exact bytes for ever, with who compared it with the law and when: the one who acts here, or
    whom --as names.
    """
    book = opened.a_book(asked, unlocked=True)
    data = given.data(asked, path, "rule file")
    if compared_on is None:  # nobody said more than the file does
        day = files.read(data, path).read_on
    else:
        day = given.day(compared_on, opened.zone(book), opened.clock(), "--compared-on")
    entry = setting_up.adopt(book, data, path, compared_on=day, by=book.by)
    digest, jurisdiction = entry.public["digest"], entry.public["jurisdiction"]
    told(asked, entry, f"{path} governs {jurisdiction} from now on", jurisdiction=jurisdiction, digest=digest)
