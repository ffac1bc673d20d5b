"""Where an item lies, and how it leaves; what forbids it is named with rule, section and moment."""

from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from ledger.acts import holding, leaving, reporting
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError
from ledger.law.rules import ACTS
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import rule
from tests.shops import ZONE, Shop

RING, CHAIN = 1, 3
"""Lines of the sample that were bought; line 2 was declined."""


def row_of(shop: Shop, line: int) -> sa.Row[tuple[object, ...]]:
    with engines.reading(shop.book.engine) as connection:
        return reading.item_row(connection, shop.book.origin, 1, line)


def receive(shop: Shop) -> None:
    """The sheriff's receipt of the purchase report, from which the county's hold runs."""
    reporting.make(shop.book, "purchase-1.county-sheriff", "letter", at=shop.local())
    reporting.received(shop.book, "purchase-1.county-sheriff", at=shop.local(), who="the desk")


class TestRefusedWays:
    """item out is refused with rule, section and the moment it may leave; exit 7."""

    def test_a_sale_in_the_hold_names_every_rule_with_its_section_and_moment(self, shop: Shop) -> None:
        shop.record()
        before = check_book(shop).entries
        with pytest.raises(ForbiddenByLaw) as refusal:
            leaving.out(shop.book, 1, RING, "sold", at=shop.local())
        assert refusal.value.exit_code == 7
        said = str(refusal.value)
        # All invented, counted by hand from the purchase of 24 November: ten days by the state, fifteen by the town,
        # and by the county seven from a receipt that has not come.
        for words in (
            "Item 1/1 may not leave that way: Tamsett County Ordinance 12-5 (invented) forbids selling it until a time"
            " that runs from the county sheriff's receipt of the report (rule hold-after-receipt of xx-norrowa-",
            "Pellwick Town Code 7-6 (invented) forbids selling it before 2026-12-10 00:00 America/Chicago (rule ",
            "Norrowa Precious Goods Act s. 9 (invented) forbids selling it before 2026-12-05 00:00 America/Chicago",
        ):
            assert words in said
        assert row_of(shop, RING).state == "in stock"
        check_book(shop, entries=before)

    def test_it_leaves_in_the_moment_in_which_the_last_hold_ends_and_not_before(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        receive(sqlite_shop)
        free = datetime(2026, 12, 10, tzinfo=ZONE)
        sqlite_shop.now = free.astimezone(UTC) - timedelta(seconds=5)
        with pytest.raises(ForbiddenByLaw, match="before 2026-12-10 00:00"):
            leaving.out(sqlite_shop.book, 1, RING, "sold", at=sqlite_shop.local())
        sqlite_shop.now = free.astimezone(UTC)
        leaving.out(sqlite_shop.book, 1, RING, "sold", at=sqlite_shop.local(), to="a buyer")
        assert row_of(sqlite_shop, RING).state == "sold"
        check_book(sqlite_shop)

    def test_a_hold_that_forbids_handing_over_forbids_a_sale_unless_it_speaks_of_selling(self, bare_shop: Shop) -> None:
        days = 'length = 30\nunit = "days"\n'
        lets = 'forbids = ["sell", "hand-over"]\nallows = [{ act = "sell", says = "To anybody." }]\n'
        shops.adopt(
            bare_shop,
            rule(
                "hold", "handing", days + 'forbids = ["hand-over"]\nwhen = [{ fact = "item.article", is = "ring" }]\n'
            ),
            rule("hold", "selling", days + lets),
        )
        bare_shop.record()
        with pytest.raises(ForbiddenByLaw, match="forbids handing it over before .* .rule handing of"):
            leaving.out(bare_shop.book, 1, RING, "sold", at=bare_shop.local())
        leaving.out(bare_shop.book, 1, CHAIN, "sold", at=bare_shop.local())

    def test_no_date_ahead_frees_an_item(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        later = sqlite_shop.local() + timedelta(days=60)
        ahead = r"^at: .* a moment not after the machine's clock \(2026-11-24T"
        with pytest.raises(InputError, match=ahead):
            leaving.out(sqlite_shop.book, 1, RING, "sold", at=later)
        with pytest.raises(InputError, match=ahead):
            leaving.move(sqlite_shop.book, 1, RING, "abroad", at=later, because="")

    def test_no_date_back_gets_round_an_order(self, bare_shop: Shop) -> None:
        bare_shop.record()
        before = bare_shop.local()
        bare_shop.wait(hours=1)
        asked = holding.OrderAsked(
            ((1, RING),), "Test Town Police", "an officer", "", "an invented power", bare_shop.local(), None, "spoken"
        )
        holding.order(bare_shop.book, asked)
        with pytest.raises(ForbiddenByLaw, match="an invented power"):
            leaving.out(bare_shop.book, 1, RING, "sold", at=before)

    def test_a_sale_that_was_made_in_the_hold_stays_forbidden_when_the_hold_is_over(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "five-days", 'length = 5\nunit = "days"\nforbids = ["sell"]'))
        bare_shop.record()
        too_early = bare_shop.wait(days=1)
        bare_shop.wait(days=30)
        with pytest.raises(ForbiddenByLaw, match="five-days"):
            leaving.out(bare_shop.book, 1, RING, "sold", at=too_early)


class TestPermittedWays:
    """What a hold allows all the same: places that count as kept, the goods back to their seller."""

    def test_the_town_lets_worn_goods_lie_in_a_bank_and_nowhere_else(self, shop: Shop) -> None:
        # Pellwick Town Code 7-6 (invented): on the premises; "A bank vault counts as the premises."
        shop.record()
        leaving.move(shop.book, 1, RING, "safe 2", at=shop.local(), because="night", to_place="premises")
        assert row_of(shop, RING).place == "safe 2"
        with pytest.raises(ForbiddenByLaw, match="forbids moving it there before 2026-12-10"):
            leaving.move(shop.book, 1, RING, "the other shop", at=shop.local(), because="", to_place="municipality")
        with pytest.raises(ForbiddenByLaw, match="forbids moving it there"):
            leaving.move(shop.book, 1, RING, "the house of a friend", at=shop.local(), because="")
        check_book(shop)

    def test_a_permit_of_one_layer_does_not_get_round_another(self, sqlite_shop: Shop) -> None:
        # The state keeps goods in the county and knows no bank vault; so the stricter of two answers wins.
        sqlite_shop.record()
        with pytest.raises(ForbiddenByLaw, match="hold-after-purchase") as refusal:
            leaving.move(
                sqlite_shop.book, 1, RING, "bank", at=sqlite_shop.local(), because="", to_place="secure-storage"
            )
        assert "hold-worn-goods" not in str(refusal.value)

    def test_a_word_of_the_law_may_be_the_place_itself(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        entry = leaving.move(sqlite_shop.book, 1, RING, "premises", at=sqlite_shop.local(), because="")
        with engines.reading(sqlite_shop.book.engine) as connection:
            moved = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("item/1/moved")
        assert moved == {"from": "shop", "to": "premises", "at": entry.occurred_at, "because": ""}
        assert entry.public == {}
        check_book(sqlite_shop)

    def test_the_seller_may_have_his_goods_and_an_authority_may_take_them(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        leaving.out(sqlite_shop.book, 1, RING, "returned-to-seller", at=sqlite_shop.local())
        leaving.out(sqlite_shop.book, 1, CHAIN, "seized", at=sqlite_shop.local(), to="the county sheriff")
        assert [row_of(sqlite_shop, line).state for line in (RING, CHAIN)] == ["returned to seller", "seized"]
        check_book(sqlite_shop)

    def test_a_loss_is_recorded_whatever_the_holds_say(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        leaving.out(sqlite_shop.book, 1, RING, "stolen-or-lost", at=sqlite_shop.local(), because="a break-in")
        assert row_of(sqlite_shop, RING).state == "stolen or lost"


class TestOutcomes:
    """After the hold an item may leave in every way that the book knows."""

    def test_each_outcome_after_the_hold(self, sqlite_shop: Shop) -> None:
        plain = [("items", slip_samples.document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00")]
        for _ in leaving.OUTCOMES:
            sqlite_shop.record(*plain)
        sqlite_shop.wait(days=1)
        reporting.make(sqlite_shop.book, "day-2026-11-24.county-sheriff", "letter", at=sqlite_shop.local())
        reporting.received(sqlite_shop.book, "day-2026-11-24.county-sheriff", at=sqlite_shop.local(), who="the desk")
        at = sqlite_shop.wait(days=20)
        for slip, outcome in enumerate(leaving.OUTCOMES, 1):
            entry = leaving.out(sqlite_shop.book, slip, 1, outcome, at=at, to="whoever has it", because="a reason")
            assert (entry.public, entry.about) == ({"state": outcome}, (f"item/{slip}/1",))
            with engines.reading(sqlite_shop.book.engine) as connection:
                said = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("item/1/outcome")
                state = reading.item_row(connection, sqlite_shop.book.origin, slip, 1).state
            assert said == {"at": entry.occurred_at, "to": "whoever has it", "because": "a reason"}
            assert state == outcome.replace("-", " ")
            if state not in leaving.OURS:
                with pytest.raises(InputError, match="wanted is an item in stock"):
                    leaving.out(sqlite_shop.book, slip, 1, "sold", at=at)
        with engines.reading(sqlite_shop.book.engine) as connection:
            kept = connection.execute(sa.select(tables.outcomes.c.state)).scalars().all()
        assert kept == [outcome.replace("-", " ") for outcome in leaving.OUTCOMES]
        check_book(sqlite_shop)

    def test_every_outcome_but_a_loss_is_an_act_that_the_law_knows(self) -> None:
        assert {act for act in leaving.OUTCOMES.values() if act} <= set(ACTS)
        assert [name for name, act in leaving.OUTCOMES.items() if not act] == ["stolen-or-lost"]

    def test_what_was_sent_out_can_come_back_and_be_sold(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(("channel", "counter"))
        reporting.make(sqlite_shop.book, "purchase-1.county-sheriff", "letter", at=sqlite_shop.local())
        reporting.received(sqlite_shop.book, "purchase-1.county-sheriff", at=sqlite_shop.local(), who="the desk")
        at = sqlite_shop.wait(days=30)
        leaving.out(sqlite_shop.book, 1, RING, "sent-out", at=at, to="the setter")
        assert next(one.line for one in holding.standing(sqlite_shop.book) if one.slip == 1) == RING
        leaving.move(sqlite_shop.book, 1, RING, "safe", at=sqlite_shop.local(), because="back", to_place="premises")
        with engines.reading(sqlite_shop.book.engine) as connection:
            assert reading.item_row(connection, sqlite_shop.book.origin, 1, RING).state == "in stock"
        leaving.out(sqlite_shop.book, 1, RING, "sold", at=sqlite_shop.local())
        check_book(sqlite_shop)

    def test_a_word_that_is_no_outcome_is_named(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="outcome: 'given away' was given; wanted is one of sold, melted"):
            leaving.out(sqlite_shop.book, 1, RING, "given away", at=sqlite_shop.local())

    @pytest.mark.parametrize("line", [2, 4])
    def test_what_was_not_bought_does_not_leave(self, sqlite_shop: Shop, line: int) -> None:
        sqlite_shop.record()
        wanted = "an item in stock" if line == 2 else "SLIP/LINE of an item in this book"
        with pytest.raises(InputError, match=wanted):
            leaving.move(sqlite_shop.book, 1, line, "safe 2", at=sqlite_shop.local(), because="")
