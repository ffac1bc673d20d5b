"""The command `demo`: an invented shop with six weeks of purchases."""

from pathlib import Path

import click

from ledger.cli import places, said
from ledger.cli.options import Asked, as_json
from ledger.errors import InputError, StorageError


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@as_json
@click.pass_obj
def demo(asked: Asked, folder: Path) -> None:
    """Build the demonstration shop in DIR and show what it holds.

    The book lies in DIR/book, the papers in DIR/papers, the invented owner's pass-phrase in DIR/demo-passphrase.txt.
    Town, law, people and goods are invented.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(field="DIR", given=str(folder), wanted="a folder that is empty or does not exist yet")
    trouble = places.trouble(folder)
    if trouble is not None:
        raise StorageError(path=folder, why=trouble)
    from ledger.demo import build

    told: list[str] = []
    build(folder, told.append if asked.json else click.echo)
    if asked.json:
        files = sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())
        said.answer(asked, {"folder": str(folder), "files": files, "tour": told}, "")
