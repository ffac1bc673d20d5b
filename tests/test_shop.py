"""What the owner sets up: the dated facts of a shop, the people of a day."""

import pytest
import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.errors import BookUnsound, InputError
from ledger.shop import adopted, facts
from tests.conftest import MOMENT
from tests.shops import FACTS, Shop

MORE = b"""
[agencies]
local-police = "Pellwick Police (invented)"
[[licences]]
kind = "dealer"
from = 2026-01-01
until = 2026-06-30
[[licences]]
kind = "scales"
[calendar]
weekend = ["sunday"]
closed = [{ day = 2026-12-24, name = "Stocktaking" }]
from = 2026-01-01
until = 2026-12-31
[answers]
bond = { amount = "5000.00", currency = "USD" }
scale = { value = "1", unit = "g" }
since = 2020-01-01
rooms = ["front", "back"]
alarm = true
staff = 3
owner-trained = { not_known = "not asked yet" }
"""
CALENDAR = b"[calendar]\nfrom = 2026-01-01\nuntil = 2026-12-31\n"


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

    def test_rule_files_are_told_what_was_filled_in_and_no_more(self) -> None:
        read = facts.read(FACTS.replace(b'county = "Tamsett"', b'county = ""\ncounty_population = 120000') + MORE)
        assert facts.parse(read.record()) == read
        assert read.told("2026-06-30", ["off-site"]) == {
            "state": "Norrowa",
            "municipality": "Pellwick",
            "county_population": 120_000,
            "licences": ["dealer", "scales"],
            "agencies": {"local-police": "Pellwick Police (invented)"},
            "calendar": {
                "weekend": ["sunday"],
                "closed": [{"day": "2026-12-24", "name": "Stocktaking"}],
                "from": "2026-01-01",
                "until": "2026-12-31",
            },
            "answers": {
                "bond": {"currency": "USD", "minor": 500_000},
                "scale": 1_000,
                "since": "2020-01-01",
                "rooms": ["front", "back"],
                "alarm": True,
                "staff": 3,
                "owner-trained": {"not_known": "not asked yet"},
            },
            "permissions": ["off-site"],
        }
        assert read.told("2026-07-01", [])["licences"] == ["scales"], "a licence counts on its last day"
        assert "licences" not in facts.read(FACTS).told("2026-06-30", [])

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
            (b"[place]", b"colour = 1\n[place]", "^colour: 'colour' was given; wanted is one of address, agencies"),
            (b'address = ["3 Ferry Row", "Pellwick"]', b"address = []", "^address: "),
            (b'address = ["3 Ferry Row", "Pellwick"]', b"address = [3]", "^address: .* a list of lines of text"),
            (b'name = "The Test Counter"', b'name = " "', "^name: ' ' was given; wanted is text"),
            (b"America/Chicago", b"Atlantis/Centre", "^zone: 'Atlantis/Centre' .* a time zone, such as"),
            (b"America/Chicago", b"../etc", "^zone: "),
            (b'state = "Norrowa"', b"state = 3", r"^place\.state: 3 was given; wanted is text"),
            (b'state = "Norrowa"', b"county_population = -1", "^place.county_population: -1 .* whole number of people"),
            (b'state = "Norrowa"', b'city = "Norrowa"', "^place.city: 'city' was given; wanted is one of county, "),
            (b"[place]", b"place = 3\n[agencies]", "^place: 3 was given; wanted is a table"),
            (b"[place]", b"[recipients]\npolice = 3\n[place]", "^recipients: .* a table of texts"),
            (b"[place]", b"licences = 3\n[place]", "^licences: 3 .* each with its kind"),
            (b"[place]", b"licences = [3]\n[place]", r"^licences\[1\]: 3 was given; wanted is a table"),
            (b"[place]", b'[[licences]]\nnumber = "7"\n[place]', r"^licences\[1\]\.kind: None .* text"),
            (b"[place]", b'[[licences]]\nkind = "a"\nfee = 1\n[place]', r"^licences\[1\]\.fee: 'fee'"),
            (
                b"[place]",
                b'[[licences]]\nkind = "a"\nfrom = "soon"\n[place]',
                r"^licences\[1\]\.from: 'soon' .* a date",
            ),
            (b"[place]", b'[calendar]\nweekend = ["sun"]\n[place]', r"^calendar\.weekend: "),
            (b"[place]", b"[calendar]\nopen = 1\n[place]", r"^calendar\.open: "),
            (b"[place]", b"[calendar]\nfrom = 2026-01-01\n[place]", r"^calendar\.until: None .* a date"),
            (b"[place]", CALENDAR + b"closed = 3\n[place]", r"^calendar\.closed: 3 "),
            (b"[place]", CALENDAR + b'closed = [{ day = "2026-02-30" }]\n[place]', r"^calendar\.closed\[1\]\.day: "),
            (b"[place]", CALENDAR + b"closed = [{ day = 2027-02-03 }]\n[place]", "a day from 2026-01-01 to 2026-12-31"),
            (b"[place]", CALENDAR + b"closed = [{ day = 2026-02-03 }]\n[place]", r"^calendar\.closed\[1\]\.name: "),
            (b"[place]", b"[answers]\nbond = 1.5\n[place]", r"^answers\.bond: 1\.5 .* a whole number"),
            (b"[place]", b'[answers]\nbond = { amount = "x", currency = "USD" }\n[place]', r"^answers\.bond: 'x'"),
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
