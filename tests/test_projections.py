"""The derived tables say what the entries say, and a rebuild says the same."""

from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import inquiring
from ledger.book import engine as engines
from ledger.book import projections, reading, rebuilding, tables, verifying, words_index
from ledger.book.pages import Book
from ledger.errors import BookError, BookUnsound, LockedError
from ledger.identity import names
from tests import make_books, shops
from tests.check_book import check_book
from tests.conftest import MOMENT
from tests.law_samples import rule
from tests.shops import Shop
from tests.story import story
from tests.tampering import tampering

Rows = dict[str, Counter[tuple[Any, ...]]]


def bare(folder: Path, database: str) -> Shop:
    """A shop in which no rule file is in force yet, and whose chance is that of the kept books."""
    chance = make_books.fixed_chance()
    return shops.open_shop(folder, moment=MOMENT, chance=chance, database=database, adopt=False)


def all_rows(book: Book) -> Rows:
    """Every derived row of a book."""
    with engines.reading(book.engine) as connection:
        return projections.dump(connection, book.origin)


def ask(shop: Shop, *columns: sa.Column[Any]) -> list[tuple[Any, ...]]:
    """These columns of every row of their table, in the order of its key."""
    with engines.reading(shop.book.engine) as connection:
        return [tuple(row) for row in connection.execute(sa.select(*columns).order_by(*columns[0].table.primary_key))]


class TestRebuild:
    """Projections are written in the same transaction and can be rebuilt from entries and vault by one command."""

    def test_every_step_leaves_the_tables_as_a_rebuild_would(self, database: str, told: Path, tmp_path: Path) -> None:
        shop = bare(tmp_path / "book", database)
        before: Rows = {}
        for step in story(shop):
            now = all_rows(shop.book)
            assert now != before, step
            before = now
        assert rebuilding.rebuild(shop.book) == check_book(shop).entries
        assert all_rows(shop.book) == before
        assert [name for name, rows in before.items() if not rows] == []
        shop.book.engine.dispose()
        other = make_books.reopened(told)
        assert all_rows(other.book) == before, "both kinds of database hold the same rows"
        other.book.engine.dispose()

    def test_every_kind_that_has_a_function_was_told_of(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            kinds = {entry.kind.partition("/")[0] for entry in reading.all_entries(connection, after.book.origin)}
        assert set(projections._KINDS) <= kinds

    def test_whatever_was_lost_or_added_is_named_and_made_good(self, after: Shop) -> None:
        before = all_rows(after.book)
        with tampering(after.book.folder) as raw:
            for table in tables.PROJECTIONS:
                raw.execute(f"DELETE FROM {table.name} WHERE rowid = (SELECT min(rowid) FROM {table.name})")
                raw.execute(
                    f"INSERT INTO {table.name} VALUES ({', '.join('?' * len(table.columns))})",
                    [after.book.origin, *range(1_000, 999 + len(table.columns))],
                )
            raw.execute(f"DELETE FROM {tables.WORDS} WHERE rowid = 1001")
            raw.execute(
                f"INSERT INTO {tables.WORDS} (rowid, words, book, slip, line) VALUES (9, 'ring', ?, 0, 9)",
                (after.book.origin,),
            )
        named = {fault.what for fault in verifying.audit(after.book, levels=("tables",)).faults}
        says = ("a row is missing or was changed", "a row stands there that no entry gives")
        assert named == {f"{table}: {what}" for table in before for what in says}
        rebuilding.rebuild(after.book)
        assert all_rows(after.book) == before
        check_book(after)

    def test_a_locked_book_is_not_rebuilt(self, after: Shop) -> None:
        after.book.keys = None
        with pytest.raises(LockedError):
            rebuilding.rebuild(after.book)

    @pytest.mark.parametrize("damage", ["UPDATE locked_rows SET bytes = zeroblob(40)", "DELETE FROM locked_rows"])
    def test_a_rebuild_from_what_is_not_sound_changes_nothing(self, after: Shop, damage: str) -> None:
        before = all_rows(after.book)
        with tampering(after.book.folder) as raw:
            raw.execute(f"{damage} WHERE class = 'item'")
        with pytest.raises((BookError, LockedError)):
            rebuilding.rebuild(after.book)
        assert all_rows(after.book) == before

    def test_an_entry_whose_parts_were_lost_is_named(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            seq = reading.slip_row(connection, after.book.origin, 1).presented_seq
        with tampering(after.book.folder) as raw:
            raw.execute("DELETE FROM locked_rows WHERE seq = ?", (seq,))
        with pytest.raises(BookUnsound, match=f"Entry {seq} cannot be brought into the tables"):
            rebuilding.rebuild(after.book)


class TestRows:
    """What each kind of entry leaves in the tables, told here once more from the story."""

    def test_slips(self, after: Shop) -> None:
        slip = tables.slips.c
        assert ask(after, slip.slip, slip.state, slip["items"], slip.total_minor) == [
            (1, "recorded", 1, 14_000),
            (2, "recorded", 1, 13_500),
            (3, "withdrawn", 1, 14_000),
            (4, "recorded", 1, None),
            (5, "voided", 3, 21_850),
        ]
        seqs = ask(after, slip.presented_seq, slip.recorded_seq, slip.closed_seq)
        with engines.reading(after.book.engine) as connection:
            kinds = [
                tuple(None if seq is None else reading.entry_at(connection, after.book.origin, seq).kind for seq in row)
                for row in seqs
            ]
        assert kinds == [
            ("presented/0", "purchase/0", None),
            ("presented/0", "purchase/0", None),
            ("presented/0", None, "withdrawn/0"),
            ("presented/0", "purchase/0", None),
            ("presented/0", "purchase/0", "void/0"),
        ]

    def test_items(self, after: Shop) -> None:
        item = tables.items.c
        assert ask(after, item.slip, item.line, item.state, item.place, item.gross_mg, item.offer_minor) == [
            (1, 1, "sold", "safe", 4_200, 14_000),
            (2, 1, "in stock", "shop", 4_200, 13_500),
            (3, 1, "withdrawn", "shop", 4_200, 14_000),
            (4, 1, "declined", "shop", 4_200, 14_000),
            (5, 1, "returned to seller", "shop", 4_200, 18_000),
            (5, 2, "declined", "shop", 6_298, 1_200),  # 4.05 dwt of 1,555.17384 mg (NIST Handbook 44, appendix C)
            (5, 3, "returned to seller", "shop", 61_400, 3_850),
        ]

    def test_what_a_correction_says_is_what_the_list_and_the_search_say(self, after: Shop) -> None:
        assert '"damage":"a deep dent"' in ask(after, tables.items.c.description)[0][0]
        assert '"text":"R to A 6.12.58"' in ask(after, tables.items.c.description)[0][0]
        with engines.reading(after.book.engine) as connection:
            find = [
                words_index.find(connection, after.book.origin, [word], most=9) for word in ("dent", "scratched", "fr")
            ]
        assert find == [[(1, 1)], [(5, 1), (4, 1), (3, 1)], [(5, 1), (4, 1), (3, 1), (2, 1)]]
        correction = tables.corrections.c
        assert ask(after, correction.slip, correction.line, correction.what) == [
            (1, 1, "item"),
            (1, 1, "item"),
            (1, 0, "slip"),
            *3 * ((2, 0, "slip"),),
            (2, 1, "item"),
            (2, 0, "slip"),
            *2 * ((2, 1, "item"),),
        ]

    def test_holds_wait_for_their_event_and_then_have_a_moment(self, after: Shop) -> None:
        hold = tables.holds.c
        state = {(slip, line, rule): (plain, waiting) for slip, line, rule, plain, waiting in
                 ask(after, hold.slip, hold.line, hold.rule, hold.plain, hold.waiting_for)}  # fmt: skip
        assert set(state) == {(slip, line, rule) for slip, line in ((1, 1), (2, 1), (5, 1), (5, 3))
                              for rule in ("five-days", "seen", "watched")}  # fmt: skip
        # Five days after 24 November end with the 29th; two after the receipt of the 25th end with the 27th.
        assert state[1, 1, "five-days"] == ("2026-11-30T00:00:00-06:00[America/Chicago]", None)
        assert state[1, 1, "seen"] == ("2026-11-28T00:00:00-06:00[America/Chicago]", None)
        assert state[2, 1, "seen"] == (None, "report-received:police")
        # Ninety days end with 22 February; three, where the authority lets it, with 27 November.
        assert state[2, 1, "watched"] == ("2027-02-23T00:00:00-06:00[America/Chicago]", None)
        assert state[1, 1, "watched"] == ("2026-11-28T00:00:00-06:00[America/Chicago]", None)

    def test_a_hold_that_depends_on_the_seller_tells_nothing_of_her(self, bare_shop: Shop) -> None:
        known = 'when = [{ fact = "seller.workplace", is = "Canary Works" }]'
        doubtful = 'when = [{ fact = "seller.address.county", is = "Tamsett" }]'
        for name, when in (("known", known), ("doubtful", doubtful)):
            body = f'length = 5\nunit = "days"\nforbids = ["sell"]\n{when}'
            shops.adopt(bare_shop, rule("hold", name, body), jurisdiction=f'"xx-{name}"')
        nowhere = {"not_known": "canary: she sleeps at the mill"}
        changes = [("parties.0.workplace", "Canary Works"), ("parties.0.address", nowhere)]
        bare_shop.record(*changes, answers={"xx-doubtful/doubtful": "held all the same"})
        hold = tables.holds.c
        told = ask(bare_shop, hold.rule, hold.record)
        assert {name for name, _ in told} == {"known", "doubtful"}
        assert "canary" not in repr(told).lower()
        assert any("a fact that the rule asks for is not known" in record for _, record in told)
        check_book(bare_shop)

    def test_payouts_reports_orders_outcomes_and_days(self, after: Shop) -> None:
        payout, report = tables.payouts.c, tables.reports.c
        assert ask(after, payout.slip, payout.state, payout.instrument, payout.minor) == [
            (1, "reissued", "transfer", 14_000),
            (2, "owed", "cheque", 13_500),
            (5, "recovered", "cheque", 21_850),
        ]
        asked = next(name for (name,) in ask(after, report.report) if name.startswith("request-"))
        assert ask(after, report.report, report.state, report.slips) == [
            ("purchase-1.police", "received", "[1]"),
            ("purchase-2.police", "made", "[2]"),
            ("purchase-4.police", "made", "[4]"),
            ("purchase-5.police", "made", "[5]"),
            (asked, "delivered", "[1,2,4,5]"),
            ("week-2026-11-23.police", "made", "[1,2,4,5]"),
            ("week-2026-11-30.police", "made", "[]"),
        ]
        assert sorted(ask(after, tables.orders.c.state)) == [("lifted",), ("standing",)]
        outcome = tables.outcomes.c
        assert ask(after, outcome.slip, outcome.line, outcome.state) == [(1, 1, "sold")]
        assert ask(after, tables.days.c.day) == [("2026-11-24",), ("2026-11-25",), ("2026-11-26",)]

    def test_tasks_happenings_and_permissions(self, after: Shop) -> None:
        task, happening, permission = tables.tasks.c, tables.happenings.c, tables.permissions.c
        assert ask(after, task.slip, task.about, task.rule, task.state) == [
            (1, "item/1", "tag", "met"),
            (2, "item/1", "tag", "open"),
            (5, "item/1", "tag", "open"),
            (5, "item/3", "tag", "open"),
        ]
        assert ask(after, happening.event, happening.about) == [("tagged", "item/1/1"), ("registered", "book")]
        assert ask(after, permission.permission, permission.subject, permission.until) == [
            ("vault", "shop", "2027-12-31"),
            ("sooner", "1/1", "2027-12-31"),
        ]

    def test_shop_people_and_rules(self, after: Shop) -> None:
        staff = tables.staff.c
        assert ask(after, staff.staff, staff.role, staff.until) == [
            ("ada", "owner", None),
            ("ben", "clerk", "2027-01-08"),
        ]
        assert ask(after, tables.adoptions.c.jurisdiction, tables.adoptions.c.by) == [("xx-sample", "ada")]
        assert len(ask(after, tables.shop_facts.c.facts)) == 2

    def test_a_returning_seller_is_found_by_what_was_written_and_by_what_was_corrected(self, after: Shop) -> None:
        book = after.book
        assert inquiring.returning(book, "document", names.number_key("a417 2290 11")) == [5, 3, 2, 1]
        wrote, corrected = (names.person_key("Jonah Averill", day) for day in (date(1984, 2, 29), date(1984, 2, 28)))
        assert inquiring.returning(book, "person", wrote) == [5, 4, 3, 2, 1]
        assert inquiring.returning(book, "person", corrected) == [1]
        assert inquiring.returning(book, "person", names.person_key("Jonas Averill", date(1984, 2, 29))) == [2]

    def test_what_an_entry_is_about_is_mentioned(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            about = {
                (name, entry.seq)
                for entry in reading.all_entries(connection, after.book.origin)
                for name in entry.about
            }
        assert set(ask(after, tables.mentions.c.name, tables.mentions.c.seq)) == about
