"""Puts papers into files: in the folder that --out names, else in `papers` beside the book's folder.

Decides: names and modes of the files, and that no other file is ever written over: a paper that differs from the one
that bears its name lies beside it under a number. Papers hold personal data, so they never lie in the book's folder
and only their owner can read them.
"""

import os
from pathlib import Path

import click

from ledger.book.pages import Book
from ledger.cli.options import Command
from ledger.errors import InputError, StorageError

_MOST_COPIES = 10_000


def out(command: Command) -> Command:
    """`--out DIR`, for commands that draw papers."""
    says = "Folder for the papers; else `papers` beside the book's folder."
    return click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help=says)(command)


def keep(book: Book, folder: Path | None, name: str, data: bytes) -> Path:
    """Where the paper now lies. Raises: InputError for a folder inside the book's, StorageError."""
    where = folder if folder is not None else book.folder.resolve().parent / "papers"
    if where.resolve().is_relative_to(book.folder.resolve()):
        wanted = "a folder outside the book's, since papers are not encrypted"
        raise InputError(field="--out", given=str(where), wanted=wanted)
    try:
        if not where.is_dir():
            where.mkdir(mode=0o700, parents=True)
        return _put(where, name, data)
    except OSError as fault:
        why = f"the paper {name} could not be written there ({fault.strerror}); give another folder with --out"
        raise StorageError(path=where, why=why) from fault


def _put(folder: Path, name: str, data: bytes) -> Path:
    stem, dot, extension = name.rpartition(".")
    for number in range(1, _MOST_COPIES):
        path = folder / (name if number == 1 else f"{stem}-{number}{dot}{extension}")
        try:
            made = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        except FileExistsError:
            if path.is_file() and path.read_bytes() == data:
                return path
            continue
        with os.fdopen(made, "wb") as file:
            file.write(data)
        return path
    raise OSError(0, "there are too many papers of this name")
