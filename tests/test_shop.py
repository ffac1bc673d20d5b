"""What the owner sets up: the settings of a book, the dated facts of a shop, the people of a day."""

import pytest
import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.errors import BookUnsound, InputError
from ledger.measures import Milligrams, Money
from ledger.shop import adopted, facts, settings
from tests.conftest import MOMENT
from tests.shops import FACTS, Shop


class TestSettings:
    """Decides what may stand in settings.toml; the first wrong member is named."""

    def test_an_empty_file_is_what_a_careful_owner_starts_with(self) -> None:
        usual = settings.read(b"")
        assert (usual.sheet, usual.idle_minutes, usual.database_url) == ("letter", 30, "")
        assert usual.density_from == Milligrams(3_000)
        assert (usual.rate_ppm("gold"), usual.limit("USD")) == (None, None)

    def test_what_the_owner_wrote_is_read(self) -> None:
        read = settings.read(
            b'[papers]\nsheet = "a4"\n[payout_rates]\ngold = "0.805"\nsilver = "1"\n[assay]\ndensity_from_g = "2.5"\n'
            b'nothing_above = "150.00"\n[vault]\nidle_minutes = 720\n[database]\nurl = "postgresql://h/shop"\n'
        )
        assert (read.sheet, read.idle_minutes, read.database_url) == ("a4", 720, "postgresql://h/shop")
        assert (read.rate_ppm("gold"), read.rate_ppm("silver")) == (805_000, 1_000_000)
        assert read.density_from == Milligrams(2_500)
        assert read.limit("USD") == Money("USD", 15_000)

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            (b"\xff", "^settings.toml: "),
            (b"[papers", "^settings.toml: .*TOML text in UTF-8"),
            (b"[paper]\n", r"^paper: 'paper' was given; wanted is one of the tables papers, payout_rates"),
            (b"papers = 3\n", "^papers: "),
            (b"[vault]\nminutes = 3\n", r"^vault\.minutes: 'minutes' was given; wanted is one of idle_minutes"),
            (b"[papers]\nsheet = 4\n", r"^papers\.sheet: 4 was given; wanted is text in quotes"),
            (b'[papers]\nsheet = "legal"\n', r"^papers\.sheet: 'legal' was given; wanted is 'letter' or 'a4'"),
            (b"[payout_rates]\ngold = 0.8\n", r"^payout_rates\.gold: 0\.8 was given; wanted is text in quotes"),
            (b'[payout_rates]\ngold = "1.01"\n', r"^payout_rates\.gold: '1\.01' .* at most"),
            (b'[payout_rates]\ngold = "-0.1"\n', r"^payout_rates\.gold: "),
            (b'[assay]\ndensity_from_g = "a lot"\n', r"^assay\.density_from_g\.value: 'a lot' "),
            (b'[assay]\nnothing_above = "1.234"\n', r"^assay\.nothing_above: "),
            (b"[vault]\nidle_minutes = 0\n", r"^vault\.idle_minutes: 0 .* 1 to 720"),
            (b"[vault]\nidle_minutes = true\n", r"^vault\.idle_minutes: True"),
            (b'[vault]\nidle_minutes = "5"\n', r"^vault\.idle_minutes: '5'"),
        ],
    )
    def test_what_cannot_be_used_is_named(self, text: bytes, message: str) -> None:
        with pytest.raises(InputError, match=message):
            settings.read(text)


class TestFacts:
    """Dated facts about the shop: those of a slip's day are the newest not after it."""

    def test_what_was_read_is_what_a_record_gives_back(self) -> None:
        read = facts.read(FACTS + b'[recipients]\npolice = "the desk"\n')
        assert facts.parse(read.record()) == read
        assert read.zoneinfo().key == "America/Chicago"
        assert read.place["county"] == "Tamsett"

    def test_the_facts_of_a_day_are_the_newest_not_after_it_and_the_later_entry_wins(self) -> None:
        first = facts.read(FACTS).record()
        later = {**first, "from": "2026-06-01", "name": "Later"}
        mended = {**later, "name": "Mended"}
        records = [later, first, mended]
        days = ("2020-01-01", "2026-05-31", "2026-06-01", "2030-01-01")
        assert [facts.on(records, day).name for day in days] == ["The Test Counter"] * 2 + ["Mended"] * 2

    def test_the_forms_own_words_are_known_again(self) -> None:
        blank = facts.read(facts.form())
        assert facts.unfilled(blank) == ["name", "address", "licence"]
        assert facts.unfilled(facts.read(FACTS)) == []

    def test_without_facts_there_is_no_paper(self) -> None:
        with pytest.raises(InputError, match="run `counterfoil shop facts`"):
            facts.on([], "2026-01-01")

    @pytest.mark.parametrize(
        ("old", "new", "message"),
        [
            (b"from = 2026-01-01", b'from = "soon"', "^from: 'soon' was given; wanted is a date"),
            (b"from = 2026-01-01", b"from = 2026-01-01T10:00:00", "^from: "),
            (b"[place]", b"[", "^shop facts: "),
            (b"[place]", b"colour = 1\n[place]", "^colour: 'colour' was given; wanted is one of address, from"),
            (b'address = ["3 Ferry Row", "Pellwick"]', b"address = []", "^address: "),
            (b'address = ["3 Ferry Row", "Pellwick"]', b"address = [3]", "^address: .* a list of lines of text"),
            (b'name = "The Test Counter"', b'name = " "', "^name: ' ' was given; wanted is text"),
            (b"America/Chicago", b"Atlantis/Centre", "^zone: 'Atlantis/Centre' .* a time zone, such as"),
            (b"America/Chicago", b"../etc", "^zone: "),
            (b'state = "Norrowa"', b"state = 3", "^place: .* a table of texts"),
        ],
    )
    def test_what_cannot_be_used_is_named(self, old: bytes, new: bytes, message: str) -> None:
        assert old in FACTS
        with pytest.raises(InputError, match=message):
            facts.read(FACTS.replace(old, new))


class TestAdopted:
    """The rule files that a book has adopted, the shop's facts and the people, as they stood on a day."""

    def test_the_shops_day_is_that_of_its_zone(self, sqlite_shop: Shop) -> None:
        midnight_utc = MOMENT.replace(hour=2)  # 20:00 of the day before in Chicago
        with engines.reading(sqlite_shop.book.engine) as connection:
            assert adopted.local_day(connection, sqlite_shop.book.origin, midnight_utc).isoformat() == "2026-11-23"

    def test_a_file_whose_bytes_are_gone_makes_the_book_unsound(self, sqlite_shop: Shop) -> None:
        with (
            engines.reading(sqlite_shop.book.engine) as connection,
            pytest.raises(BookUnsound, match=f"The bytes of rule file {'0' * 64} are missing"),
        ):
            adopted.rule_file(connection, sqlite_shop.book.origin, "0" * 64)

    def test_nobody_works_in_a_book_of_another_origin(self, sqlite_shop: Shop) -> None:
        with engines.reading(sqlite_shop.book.engine) as connection:
            assert connection.execute(sa.select(tables.staff.c.staff)).scalar() == "ada"
            with pytest.raises(InputError, match="work here on 2026-01-01: no one"):
                adopted.must_be_staff(connection, "counterfoil/" + "0" * 32, "ada", "2026-01-01")
