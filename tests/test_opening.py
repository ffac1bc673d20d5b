"""Opens a new book, and books that exist."""

import os
import stat
import tomllib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from ledger import shipped
from ledger.acts import opening
from ledger.book import engine as engines
from ledger.book import reading, tables, verifying
from ledger.book.pages import Book
from ledger.chain import seals
from ledger.errors import InputError, StorageError
from ledger.shop import facts
from ledger.vault import keys_file
from tests.shops import FACTS, OWNER, PASS_PHRASE

Chance = Callable[[int], bytes]


@pytest.fixture
def create(chance: Chance, moment: datetime) -> Callable[..., Book]:
    """Makes a book in a folder."""

    def made(folder: Path, **changes: Any) -> Book:
        usual: dict[str, Any] = {"owner": OWNER, "pass_phrase": PASS_PHRASE, "facts": facts.read(FACTS)}
        cost = keys_file.Cost(64, 1, 1)
        return opening.create(folder, clock=lambda: moment, chance=chance, cost=cost, **{**usual, **changes})[0]

    return made


def sound(book: Book) -> bool:
    return verifying.audit(book).ok


class TestCreating:
    """A new book is built beside its place and moved there whole: a power cut leaves a book or none."""

    def test_its_first_entries_name_key_zone_owner_and_shop(self, tmp_path: Path, create: Callable[..., Book]) -> None:
        book = create(tmp_path / "book")
        with engines.reading(book.engine) as connection:
            first, person, shop = reading.all_entries(connection, book.origin)
            note = reading.newest_seal(connection, book.origin)
        assert book.keys is not None
        assert first.public["format"] == "counterfoil-book/0"
        assert first.public["zone"] == "America/Chicago"
        assert seals.read_vkey(first.public["vkey"]).public == book.keys.public
        assert (person.public, shop.public["facts"]["name"]) == ({"staff": "ada", "role": "owner"}, "The Test Counter")
        assert note is not None
        assert seals.read_seal(note).size == 3
        assert sound(book)

    def test_its_folder_holds_what_the_format_says_and_no_more(
        self, tmp_path: Path, create: Callable[..., Book]
    ) -> None:
        book = create(tmp_path / "new" / "book")
        named = {path.name for path in book.folder.iterdir()} - {"book.sqlite-journal"}  # SQLite's own, empty
        assert named == {"book.sqlite", "keys.json", "settings.toml", "pictures"}
        assert [path.name for path in (tmp_path / "new").iterdir()] == ["book"]
        sample = (shipped.folder("sample_config") / "settings.toml").read_bytes()
        assert (book.folder / "settings.toml").read_bytes() == sample
        for path in (book.folder, *book.folder.iterdir()):
            assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0, f"{path.name} is closed to others"

    @pytest.mark.parametrize("name", ["with a space", "100% gold", "año ¿?", "a#b&c=d", "-rf"])
    def test_odd_names_of_folders_do_no_harm(self, tmp_path: Path, name: str, create: Callable[..., Book]) -> None:
        book = create(tmp_path / name)
        assert book.folder == tmp_path / name
        assert sound(book)
        again = opening.at(tmp_path / name, clock=book.clock, chance=book.chance)
        again.keys = keys_file.open_file(tmp_path / name / "keys.json", PASS_PHRASE)
        assert (again.origin, sound(again)) == (book.origin, True)

    def test_the_folder_one_stands_in_is_taken_when_it_is_empty(
        self, tmp_path: Path, create: Callable[..., Book], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "here").mkdir()
        monkeypatch.chdir(tmp_path / "here")
        book = create(Path())
        assert book.folder == tmp_path / "here"
        assert sound(book)

    def test_a_folder_that_holds_something_is_left_alone(self, tmp_path: Path, create: Callable[..., Book]) -> None:
        (tmp_path / "book").mkdir()
        (tmp_path / "book" / "letter.txt").write_text("dear")
        for taken in (tmp_path / "book", tmp_path / "book" / "letter.txt"):
            with pytest.raises(InputError, match="wanted is a folder that is empty or does not exist yet"):
                create(taken)
        assert [path.name for path in tmp_path.rglob("*")] == ["book", "letter.txt"]

    def test_settings_at_fault_make_no_book(self, tmp_path: Path, create: Callable[..., Book]) -> None:
        with pytest.raises(InputError, match=r"^papers\.sheet"):
            create(tmp_path / "book", settings=b'[papers]\nsheet = "legal"\n')
        assert list(tmp_path.iterdir()) == []

    def test_a_disk_that_fails_leaves_nothing_behind(
        self, tmp_path: Path, create: Callable[..., Book], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def full(*_: object, **__: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "replace", full)
        with pytest.raises(StorageError, match="No space left on device"):
            create(tmp_path / "book")
        assert list(tmp_path.iterdir()) == []
        with monkeypatch.context() as broken:
            broken.setattr(Path, "mkdir", full)
            with pytest.raises(StorageError, match=r"the new book could not be made there: No space left"):
                create(tmp_path / "book")

    def test_what_a_killed_init_left_does_not_stand_in_the_way(
        self, tmp_path: Path, create: Callable[..., Book]
    ) -> None:
        half = tmp_path / ".book.00112233"
        half.mkdir()
        (half / "keys.json").write_text("{")
        assert sound(create(tmp_path / "book"))


class TestElsewhere:
    """PostgreSQL by URL: one database may hold several shops; keys, settings and pictures stay in each folder."""

    def test_two_shops_in_one_database_do_not_see_each_other(
        self, database: str, tmp_path: Path, create: Callable[..., Book]
    ) -> None:
        settings = f'[database]\nurl = "{database}"\n'.encode() if database.startswith("postgresql") else b""
        first, second = (create(tmp_path / name, settings=settings) for name in ("one", "two"))
        for book in (first, second):
            assert sound(book)
            with engines.reading(book.engine) as connection:
                assert reading.size(connection, book.origin) == 3
        if settings:
            assert not (first.folder / "book.sqlite").exists()
            with engines.reading(first.engine) as connection:
                assert connection.execute(sa.select(sa.func.count()).select_from(tables.entries)).scalar() == 6
        first.engine.dispose()
        second.engine.dispose()


class TestOpening:
    """The book in a folder, locked."""

    def test_a_book_is_opened_locked_and_by_nobody(self, tmp_path: Path, create: Callable[..., Book]) -> None:
        made = create(tmp_path / "book")
        book = opening.at(tmp_path / "book", clock=made.clock, chance=made.chance)
        assert (book.origin, book.keys, book.by) == (made.origin, None, "program")

    def test_where_there_is_none_the_sentence_says_how_to_make_one(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="make one with `counterfoil init DIR`"):
            opening.at(tmp_path, clock=datetime.now, chance=os.urandom)

    def test_lost_settings_are_named(self, tmp_path: Path, create: Callable[..., Book]) -> None:
        book = create(tmp_path / "book")
        (book.folder / "settings.toml").unlink()
        with pytest.raises(StorageError, match=r"settings\.toml: the settings cannot be read: No such file"):
            opening.at(book.folder, clock=book.clock, chance=book.chance)


def test_entries_name_the_version_that_is_installed() -> None:
    """`program` in every entry is the package's own version: pyproject.toml and the constant say the same."""
    written = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text())["project"]["version"]
    assert written == opening.PROGRAM
