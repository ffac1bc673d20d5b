"""What the owner enters: rule files, facts of the shop, people."""

import hashlib
from dataclasses import replace
from datetime import date

import pytest
import sqlalchemy as sa

from ledger.acts import gathering, setting_up
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import InputError, LockedError, RuleFileWrong
from ledger.shop import adopted, facts
from tests import shops
from tests.check_book import check_book
from tests.law_samples import recipient, rule, text_of
from tests.shops import FACTS, OWNER, Shop

DAY = date(2026, 11, 20)
HOLD = 'length = 5\nunit = "days"\nforbids = ["sell"]'


class TestAdopting:
    """The file's exact bytes are kept for ever, with who compared it with the law and when."""

    def test_the_exact_bytes_and_who_compared_them_when_stand_in_the_book(self, shop: Shop) -> None:
        data = text_of(rule("hold", "five-days", HOLD)) + b"# a comment counts too\n"
        entry = setting_up.adopt(shop.book, data, "sample.toml", compared_on=DAY, by=OWNER)
        digest = hashlib.sha256(data).hexdigest()
        assert entry.public == {"digest": digest, "jurisdiction": "xx-sample", "compared_on": "2026-11-20"}
        assert (entry.by, entry.about) == (OWNER, (f"rules/{digest}",))
        with engines.reading(shop.book.engine) as connection:
            assert reading.rule_file(connection, shop.book.origin, digest) == data
        check_book(shop)

    def test_the_newest_file_of_a_place_governs_and_slips_keep_theirs(self, bare_shop: Shop) -> None:
        first = shops.adopt(bare_shop, rule("hold", "five-days", HOLD))
        before = bare_shop.record().slip
        second = shops.adopt(bare_shop, rule("hold", "six-days", HOLD.replace("5", "6")))
        after = bare_shop.record().slip
        with engines.reading(bare_shop.book.engine) as connection:
            governed = [gathering.whole(connection, bare_shop.book, slip).duties.digests for slip in (before, after)]
        assert governed == [(first.public["digest"],), (second.public["digest"],)]
        check_book(bare_shop)

    def test_a_file_in_force_is_not_adopted_again(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop)
        entries = check_book(bare_shop).entries
        with pytest.raises(InputError, match="a file that is not in force already"):
            shops.adopt(bare_shop)
        check_book(bare_shop, entries=entries)

    def test_an_older_file_can_come_back_and_its_bytes_are_kept_once(self, bare_shop: Shop) -> None:
        first = shops.adopt(bare_shop)
        shops.adopt(bare_shop, rule("hold", "five-days", HOLD))
        again = shops.adopt(bare_shop)
        assert again.public["digest"] == first.public["digest"]
        with engines.reading(bare_shop.book.engine) as connection:
            (file,) = adopted.in_force(connection, bare_shop.book.origin)
            kept = connection.execute(sa.select(sa.func.count()).select_from(tables.rule_files)).scalar()
        assert (file.digest, kept) == (first.public["digest"], 2)
        check_book(bare_shop)

    def test_files_that_do_not_fit_together_are_refused(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, recipient("police"))
        other = recipient("police").replace("The police", "Another police")
        with pytest.raises(InputError, match=r"files that fit together: .* 'The police'"):
            shops.adopt(bare_shop, other, jurisdiction='"xx-other"', layer='"county"')

    @pytest.mark.parametrize(
        ("change", "message"),
        [
            ({"compared_on": date(2026, 11, 25)}, "compared on: '2026-11-25' .* a day not after today, 2026-11-24"),
            ({"by": "nobody"}, "compared by: 'nobody' .* one of those who work here on 2026-11-20: ada"),
        ],
    )
    def test_who_and_when_must_be_possible(self, bare_shop: Shop, change: dict[str, object], message: str) -> None:
        said: dict[str, object] = {"compared_on": DAY, "by": OWNER, **change}
        with pytest.raises(InputError, match=message):
            setting_up.adopt(bare_shop.book, text_of(), "sample.toml", **said)  # type: ignore[arg-type]

    def test_a_file_at_fault_is_not_adopted(self, bare_shop: Shop) -> None:
        entries = check_book(bare_shop).entries
        with pytest.raises(RuleFileWrong, match=r"^sample\.toml cannot be used"):
            shops.adopt(bare_shop, "[[hold]]\n")
        check_book(bare_shop, entries=entries)


class TestFacts:
    """Shop facts are dated entries; papers print those of the slip's day."""

    def test_a_new_name_holds_from_its_day_on(self, shop: Shop) -> None:
        renamed = FACTS.replace(b"from = 2026-01-01", b"from = 2026-11-25").replace(b"The Test Counter", b"The New One")
        entry = setting_up.set_facts(shop.book, facts.read(renamed))
        assert entry.public["from"] == "2026-11-25"
        with engines.reading(shop.book.engine) as connection:
            names = [adopted.shop_on(connection, shop.book.origin, day).name for day in ("2026-11-24", "2026-11-25")]
        assert names == ["The Test Counter", "The New One"]
        check_book(shop)


class TestPeople:
    """Who works here and until when; names lie in the vault."""

    def test_a_name_lies_in_the_vault_only(self, shop: Shop) -> None:
        entry = setting_up.add_person(shop.book, "ines", "clerk", "Ines Canary")
        assert entry.public == {"staff": "ines", "role": "clerk"}
        with engines.reading(shop.book.engine) as connection:
            assert reading.open_entry(connection, shop.book, entry.seq).get("staff") == {"name": "Ines Canary"}
            assert all("Canary" not in repr(connection.execute(sa.select(table)).all()) for table in tables.PROJECTIONS)
        check_book(shop)

    def test_someone_who_left_serves_nobody_after_her_last_day(self, sqlite_shop: Shop) -> None:
        setting_up.add_person(sqlite_shop.book, "ines", "clerk", "Ines")
        setting_up.person_left(sqlite_shop.book, "ines", date(2026, 11, 24))
        assert sqlite_shop.record(("staff", "ines")).slip == 1
        sqlite_shop.wait(days=1)
        with pytest.raises(InputError, match=r"staff: 'ines' was given; .* work here on 2026-11-25: ada\.$"):
            sqlite_shop.record(("staff", "ines"))
        check_book(sqlite_shop)

    def test_a_stranger_cannot_leave(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="staff: 'nobody' was given; wanted is one of ada"):
            setting_up.person_left(sqlite_shop.book, "nobody", date(2026, 11, 24))


class TestWhoMaySay:
    """What holds for the whole shop is for an owner to say."""

    def test_a_clerk_neither_adopts_rules_nor_sets_facts(self, sqlite_shop: Shop) -> None:
        book = sqlite_shop.book
        before = check_book(sqlite_shop).entries
        owner = book.opened()
        book.keys = replace(owner, role="clerk", secrets=replace(owner.secrets, owner=None))
        with pytest.raises(LockedError, match="is a clerk; an owner must do this"):
            setting_up.set_facts(book, facts.read(FACTS))
        path = shops.rule_files()[0]
        with pytest.raises(LockedError, match="is a clerk; an owner must do this"):
            setting_up.adopt(book, path.read_bytes() + b"\n", path.name, compared_on=date(2026, 11, 1), by=OWNER)
        check_book(sqlite_shop, entries=before)
