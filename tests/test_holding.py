"""An authority's order that holds items, and its end; and the list of what may not leave yet."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import holding, leaving, listing, reporting
from ledger.book import engine as engines
from ledger.book import reading, tables, words_index
from ledger.errors import ForbiddenByLaw, InputError
from ledger.moments import local_text
from tests import shops
from tests.check_book import check_book
from tests.law_samples import rule
from tests.paper_tools import text_of
from tests.shops import ZONE, Shop

ORDER: dict[str, Any] = {
    "items": ["1/1", "1/3"],
    "agency": "Canary Agency",
    "officer": "Canary Officer",
    "case": "CASE-CANARY-77",
    "power": "Canary Code 9 (invented)",
    "from": "2026-11-24T09:00:00-06:00[America/Chicago]",
    "form": "written",
    "said": "canary words of the order",
}


def ordered(shop: Shop, **changes: Any) -> str:
    """The id of an order that stands now."""
    return holding.order(shop.book, holding.read_order({**ORDER, **changes}))[0]


class TestOrders:
    """The entry names only the order's own random id: who ordered what lies in the vault."""

    def test_an_order_holds_until_it_is_lifted(self, shop: Shop) -> None:
        shop.record()
        name, entry = holding.order(shop.book, holding.read_order(ORDER))
        assert (entry.about, entry.public, entry.occurred_at) == ((f"hold/{name}",), {}, None)
        with engines.reading(shop.book.engine) as connection:
            assert [order.id for order in leaving.orders_of(connection, shop.book, 1, 3, shop.local())] == [name]
            assert leaving.orders_of(connection, shop.book, 1, 2, shop.local()) == []
        lifted = holding.lift(shop.book, name, at=shop.local(), by="Canary Officer", form="spoken")
        assert (lifted.about, lifted.public) == ((f"hold/{name}",), {})
        with engines.reading(shop.book.engine) as connection:
            assert leaving.orders_of(connection, shop.book, 1, 3, shop.local()) == []
            said = reading.open_entry(connection, shop.book, lifted.seq).get("order")
        assert said == {"lifted_by": "Canary Officer", "form": "spoken", "at": lifted.occurred_at}
        check_book(shop)

    def test_nothing_of_it_stands_in_clear_in_entry_or_table(self, shop: Shop) -> None:
        shop.record()
        holding.lift(shop.book, ordered(shop), at=shop.local(), by="Canary Officer", form="spoken")
        with engines.reading(shop.book.engine) as connection:
            found = [entry.data for entry in reading.all_entries(connection, shop.book.origin)]
            found += [repr(connection.execute(sa.select(table)).all()).encode() for table in tables.PROJECTIONS]
            found.append(repr(words_index.rows(connection, shop.book.origin)).encode())
            kept = connection.execute(sa.select(tables.orders)).all()
        assert not [text for text in found if b"canary" in text.lower()]
        assert len(kept) == 1

    def test_an_order_forbids_even_what_a_hold_would_let(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = ordered(sqlite_shop)
        with pytest.raises(ForbiddenByLaw) as refusal:
            leaving.out(sqlite_shop.book, 1, 1, "returned-to-seller", at=sqlite_shop.local())
        until_lifted = f"The hold order {name} (Canary Code 9 (invented)) forbids giving it back until it is lifted."
        assert until_lifted in str(refusal.value)
        leaving.out(sqlite_shop.book, 1, 1, "surrendered", at=sqlite_shop.local(), to="the agency")

    def test_an_order_with_an_end_holds_until_then(self, bare_shop: Shop) -> None:
        bare_shop.record()
        until = bare_shop.local() + timedelta(days=2)
        ordered(bare_shop, until=local_text(until))
        with pytest.raises(ForbiddenByLaw, match="before 2026-11-26 09:15"):
            leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        (ring, _chain) = holding.standing(bare_shop.book)
        assert (ring.plain, ring.waiting_for, ring.free_at(bare_shop.local())) == (until, None, False)
        assert ring.free_at(until)
        bare_shop.wait(days=2)
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        check_book(bare_shop)

    def test_an_order_on_goods_that_have_left_says_which(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        assert holding.gone(bare_shop.book, holding.read_order(ORDER)) == {"1/1": "sold"}

    def test_what_does_not_stand_cannot_be_lifted(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = ordered(sqlite_shop)
        with pytest.raises(InputError, match=r"^at: .* a moment not after the machine's clock"):
            holding.lift(sqlite_shop.book, name, at=sqlite_shop.local() + timedelta(days=1), by="A", form="spoken")
        holding.lift(sqlite_shop.book, name, at=sqlite_shop.local(), by="A", form="spoken")
        for gone in (name, "0" * 16):
            with pytest.raises(InputError, match="the id of an order that stands; see `hold list`"):
                holding.lift(sqlite_shop.book, gone, at=sqlite_shop.local(), by="A", form="spoken")

    def test_an_item_that_the_book_does_not_have_cannot_be_held(self, sqlite_shop: Shop) -> None:
        before = check_book(sqlite_shop).entries
        with pytest.raises(InputError, match="item: '1/1' was given"):
            ordered(sqlite_shop)
        check_book(sqlite_shop, entries=before)


class TestReading:
    """An order from a document: what is missing is named, what it says is not repeated."""

    def test_an_order_is_read_and_written_back(self) -> None:
        read = holding.read_order({**ORDER, "until": "2026-12-24T09:00:00-06:00[America/Chicago]"})
        assert read.items == ((1, 1), (1, 3))
        assert (read.record()["items"], read.record()["until"]) == (
            [[1, 1], [1, 3]],
            "2026-12-24T09:00:00-06:00[America/Chicago]",
        )
        assert holding.read_order({**ORDER, "case": ""}).record()["until"] is None

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"court": "x"}, "^court: 'court' was given; wanted is one of agency, case, form, from, items"),
            ({"officer": " "}, "^officer: something else was given; wanted is text"),
            ({"agency": {"name": "Canary"}}, "^agency: something else was given; wanted is text"),
            ({"power": None}, "^power: something else was given"),
            ({"form": "sung"}, "^form: 'sung' was given; wanted is 'written' or 'spoken'"),
            ({"items": []}, r"^items: \[\] was given; wanted is a list of items, such as"),
            ({"items": "1/1"}, "^items: "),
            ({"items": ["1-1"]}, "^items: '1-1' was given; wanted is SLIP/LINE, such as 12/1"),
            ({"items": ["1/²"]}, "^items: "),
            ({"from": "today"}, "^from: 'today' was given"),
            ({"until": "2026-11-24T09:00:00-06:00[America/Chicago]"}, "^until: .* a moment after `from`"),
        ],
    )
    def test_what_is_wrong_is_named(self, changes: dict[str, Any], message: str) -> None:
        with pytest.raises(InputError, match=message) as fault:
            holding.read_order({**ORDER, **changes})
        assert "Canary" not in str(fault.value)


class TestStanding:
    """The list of what may not leave yet: every item in stock, oldest first."""

    def test_each_item_with_its_last_moment_and_what_it_waits_for(self, shop: Shop) -> None:
        shop.record()
        ring, chain = holding.standing(shop.book)
        assert [(one.slip, one.line, one.place) for one in (ring, chain)] == [(1, 1, "shop"), (1, 3, "shop")]
        assert (ring.plain, ring.waiting_for) == (None, "report-received:county-sheriff")
        assert not ring.free_at(datetime(2030, 1, 1, tzinfo=UTC))
        assert "xx-norrowa/hold-after-purchase: Norrowa Precious Goods Act s. 9 (invented)" in ring.sources
        reporting.make(shop.book, "purchase-1.county-sheriff", "letter", at=shop.local())
        reporting.received(shop.book, "purchase-1.county-sheriff", at=shop.local(), who="the desk")
        ring, chain = holding.standing(shop.book)
        # Pellwick Town Code 7-6 (invented): fifteen days after the day of purchase, counted by hand.
        assert ring.cautious == datetime(2026, 12, 10, tzinfo=ZONE)
        assert ring.free_at(datetime(2026, 12, 10, tzinfo=ZONE))
        leaving.out(shop.book, 1, 3, "returned-to-seller", at=shop.local())
        assert [one.line for one in holding.standing(shop.book)] == [1]

    def test_the_papers_say_an_order_holds_and_not_whose(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "five-days", 'length = 5\nunit = "days"\nforbids = ["sell"]'))
        bare_shop.record()
        ordered(bare_shop, items=["1/1"])
        at = bare_shop.wait(days=7)
        with engines.reading(bare_shop.book.engine) as connection:
            told = text_of(listing.hold_list_paper(connection, bare_shop.book, "letter", at=at))
            day = text_of(
                listing.day_sheet_paper(connection, bare_shop.book, datetime(2026, 11, 24).date(), "a4", at=at)
            )
        held, _, free = told.partition("No hold any more, still in the shop")
        assert (told.count("BY ORDER"), "1/1 " in held, "1/3 " in free) == (1, True, True)
        assert day.count("held by an") == 1
        assert "canary" not in (told + day).lower()

    def test_an_order_that_ended_holds_nothing_on_paper(self, bare_shop: Shop) -> None:
        bare_shop.record()
        ordered(bare_shop, items=["1/1"], until=local_text(bare_shop.local() + timedelta(hours=1)))
        at = bare_shop.wait(days=1)
        with engines.reading(bare_shop.book.engine) as connection:
            told = text_of(listing.hold_list_paper(connection, bare_shop.book, "letter", at=at))
        assert "BY ORDER" not in told
        assert "Items held 0" in told
        assert "24 Nov 2026 10:15" in told
