"""Orders of authorities as living things: what is told about them moves their end by the law of their rule.

The rule has the shape of Wash. Rev. Code 19.60.045 (read 2017 text): 120 days from the notice; a spoken order lapses
unless a written one follows within ten business days; the dealer owes a notice twenty days before the end, and where
it is not given the order runs on for 120 days. Moments were counted by hand on a calendar.
"""

from datetime import UTC, datetime
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import holding, leaving, ordered, reporting, tasking
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError
from tests import shops
from tests.check_book import check_book
from tests.law_samples import US_DAYS, recipient, rule
from tests.shops import ZONE, Shop

POLICE_HOLD = rule(
    "order",
    "police-hold",
    """
forms = ["written", "spoken"]
length = 120
unit = "days"
start = "order-notice"
adds = "alongside"
lapse = { unless = "written", within = { length = 10, unit = "working-days" } }
notice = { before = { length = 20, unit = "days" }, silence = { length = 120, unit = "days" } }
renewal = { length = 120, unit = "days" }
release = ["written", "court-order"]
forbids = ["sell", "hand-over", "melt", "move"]
""",
    source="Sample Act s. 45",
)
ASKED: dict[str, Any] = {
    "items": ["1/1"],
    "agency": "Canary Agency",
    "officer": "Canary Officer",
    "case": "CASE-CANARY-77",
    "power": "the section of the paper",
    "from": "2026-12-23T10:00:00-06:00[America/Chicago]",
    "form": "spoken",
}


def at(day: str, hour: int = 12) -> datetime:
    return datetime.fromisoformat(f"{day}T{hour:02}:00:00").replace(tzinfo=ZONE)


def go_to(shop: Shop, day: str, hour: int = 12) -> datetime:
    """The shop's moment, set to this hour of a day."""
    shop.now = at(day, hour).astimezone(UTC)
    return at(day, hour)


@pytest.fixture
def held(bare_shop: Shop) -> Shop:
    """A shop with a ring and a chain, on the day before Christmas Eve."""
    shops.adopt(bare_shop, US_DAYS, POLICE_HOLD)
    bare_shop.record()
    go_to(bare_shop, "2026-12-23")
    return bare_shop


def ordered_now(shop: Shop, **changes: Any) -> str:
    return holding.order(shop.book, holding.read_order({**ASKED, **changes}))[0]


def ends(shop: Shop) -> datetime | None:
    """When the ring may be sold, under the longest reading."""
    ring = holding.standing(shop.book)[0]
    assert (ring.slip, ring.line) == (1, 1)
    return ring.cautious


class TestAfterAnother:
    """An order may run from the end of an order before it; one whose rule is not for this shop is not offered."""

    FIRST = (
        'forms = ["written"]\nlength = 12\nunit = "days"\n'
        'when = [{ not = { fact = "shop.county", is = "Elsewhere" } }]\n'
    )
    FURTHER = 'forms = ["written"]\nlength = 45\nunit = "days"\nstart = "end:first"\nadds = "to-running"\n'
    OTHER = 'forms = ["written"]\nopen_ended = true\nwhen = [{ fact = "shop.county", is = "Elsewhere" }]\n'

    def test_the_second_runs_from_the_end_of_the_first(self, bare_shop: Shop) -> None:
        # The shape of Md. Code, Bus. Reg. 12-401(c): twelve days, then forty-five. By hand: 23 December, 4 January,
        # 18 February.
        shops.adopt(
            bare_shop,
            rule("order", "first", self.FIRST),
            rule("order", "further", self.FURTHER),
            rule("order", "other", self.OTHER),
        )
        bare_shop.record()
        go_to(bare_shop, "2026-12-23")
        with pytest.raises(InputError, match="/first, [a-z-]*/further; or 'none'"):
            ordered_now(bare_shop, form="written")
        ordered_now(bare_shop, form="written", rule="xx-sample/first")
        assert ends(bare_shop) == at("2027-01-05", 0)
        ordered_now(bare_shop, form="written", rule="xx-sample/further")
        assert ends(bare_shop) == at("2027-02-19", 0)
        go_to(bare_shop, "2027-02-18")
        with pytest.raises(ForbiddenByLaw, match="before 2027-02-19"):
            leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        check_book(bare_shop)


class TestSpoken:
    """A spoken order lapses by itself unless the writing comes in time."""

    def test_it_lapses_after_ten_business_days_without_christmas_and_new_year(self, held: Shop) -> None:
        # From Wednesday 23 December; 25 December and 1 January do not count: the tenth is Friday 8 January.
        name = ordered_now(held)
        (ring, chain) = holding.standing(held.book)
        (one,) = ring.on_orders
        assert one.state is not None
        assert (one.state.lapses_at, chain.on_orders) == (at("2027-01-09", 0), ())
        go_to(held, "2027-01-08")
        with pytest.raises(ForbiddenByLaw, match=f"The hold order {name} .Sample Act s. 45. forbids selling it"):
            leaving.out(held.book, 1, 1, "sold", at=held.local())
        go_to(held, "2027-01-09")
        assert ends(held) == at("2027-01-09", 0)
        leaving.out(held.book, 1, 1, "sold", at=held.local())
        check_book(held)

    def test_the_writing_in_time_makes_it_run_its_whole_length(self, held: Shop) -> None:
        name = ordered_now(held)
        go_to(held, "2027-01-08")
        entry = holding.note(held.book, name, "confirmed", at=held.local(), by="Canary Officer")
        assert (entry.kind, entry.about, entry.public) == ("hold-noted/0", (f"hold/{name}",), {})
        assert b"anary" not in entry.data
        # 120 days after 23 December end with Thursday 22 April.
        assert ends(held) == at("2027-04-23", 0)
        check_book(held)

    def test_a_written_order_needs_no_writing(self, held: Shop) -> None:
        name = ordered_now(held, form="written")
        with pytest.raises(InputError, match="wanted is an order that was spoken"):
            holding.note(held.book, name, "confirmed", at=held.local(), by="A")

    def test_what_is_noted_is_one_of_three_and_not_before_the_order(self, held: Shop) -> None:
        name = ordered_now(held)
        with pytest.raises(InputError, match="^event: 'lifted' was given; wanted is one of confirmed, notice, renewed"):
            holding.note(held.book, name, "lifted", at=held.local(), by="A")
        with pytest.raises(InputError, match=r"^at: .* when the order began"):
            holding.note(held.book, name, "confirmed", at=at("2026-12-22"), by="A")
        with pytest.raises(InputError, match="the id of an order that stands"):
            holding.note(held.book, "0" * 16, "confirmed", at=held.local(), by="A")


class TestNotice:
    """The shop's own notice before the end: reminded of, and if it is not given the order runs on."""

    def notified(self, shop: Shop) -> str:
        go_to(shop, "2027-02-01")
        return ordered_now(shop, form="written", **{"from": "2027-02-01T10:00:00-06:00[America/Chicago]"})

    def due(self, shop: Shop) -> list[tuple[str, datetime | None]]:
        return [(one.about, one.due) for one in tasking.open_tasks(shop.book, at=shop.local())]

    def test_it_is_due_twenty_days_before_the_end_and_needs_no_key_to_be_seen(self, held: Shop) -> None:
        # Notified on 1 February 2027: the last day is 1 June, the notice is due on Wednesday 12 May.
        name = self.notified(held)
        keys, held.book.keys = held.book.keys, None
        assert self.due(held) == [(f"order {name}", at("2027-05-13", 0))]
        held.book.keys = keys
        go_to(held, "2027-05-12")
        holding.note(held.book, name, "notice", at=held.local(), by="ada", said="registered letter")
        assert self.due(held) == []
        assert ends(held) == at("2027-06-02", 0)
        go_to(held, "2027-06-02")
        assert ends(held) == at("2027-06-02", 0)
        leaving.out(held.book, 1, 1, "sold", at=held.local())
        check_book(held)

    def test_silence_lengthens_the_order(self, held: Shop) -> None:
        # 120 days more end with Wednesday 29 September.
        self.notified(held)
        go_to(held, "2027-05-13")
        assert ends(held) == at("2027-09-30", 0)
        go_to(held, "2027-06-02")
        with pytest.raises(ForbiddenByLaw, match="before 2027-09-30 00:00"):
            leaving.out(held.book, 1, 1, "sold", at=held.local())

    def test_a_renewal_lengthens_it_and_moves_the_notice(self, held: Shop) -> None:
        name = self.notified(held)
        go_to(held, "2027-05-10")
        holding.note(held.book, name, "renewed", at=held.local(), by="Canary Officer")
        ((_, due),) = self.due(held)
        assert due == at("2027-09-10", 0), "twenty days before the end of 29 September"
        assert ends(held) == at("2027-09-30", 0)
        check_book(held)


class TestRules:
    """Which rule an order stands under, and in which form it ends."""

    def test_it_is_released_in_the_forms_that_its_rule_lets(self, held: Shop) -> None:
        name = ordered_now(held, form="written")
        with pytest.raises(InputError, match="^form: 'spoken' was given; wanted is 'written' or 'court-order'"):
            holding.lift(held.book, name, at=held.local(), by="A", form="spoken")
        holding.lift(held.book, name, at=held.local(), by="A", form="court-order")
        assert ends(held) is None
        assert tasking.open_tasks(held.book, at=held.local()) == []
        check_book(held)

    def test_where_there_are_several_the_document_names_one(self, held: Shop) -> None:
        other = POLICE_HOLD.replace('"police-hold"', '"court-hold"').replace('"written", "spoken"', '"written"')
        shops.adopt(held, US_DAYS, other, jurisdiction='"xx-other"', layer='"city"')
        with pytest.raises(InputError, match=r"^rule: nothing was given; .* one of xx-other/court-hold, xx-sample/pol"):
            ordered_now(held)
        with pytest.raises(InputError, match="^rule: 'xx-sample/x' was given"):
            ordered_now(held, rule="xx-sample/x")
        with pytest.raises(InputError, match="^form: 'spoken' was given; wanted is written"):
            ordered_now(held, rule="xx-other/court-hold")
        ordered_now(held, rule="none")
        ordered_now(held, rule="xx-sample/police-hold", form="written")
        states = [one.state and one.state.rule for one in holding.standing(held.book)[0].on_orders]
        assert states == [None, "police-hold"]

    def test_goods_of_a_slip_that_is_only_presented_are_held_too(self, held: Shop) -> None:
        held.present()
        ordered_now(held, form="written", items=["2/1"])
        with engines.reading(held.book.engine) as connection:
            (order,) = leaving.orders_of(connection, held.book, 2, 1, held.local())
        assert order.until == at("2027-04-23", 0)

    def test_a_later_end_of_its_own_words_is_obeyed(self, held: Shop) -> None:
        until = "2027-12-24T00:00:00-06:00[America/Chicago]"
        ordered_now(held, form="written", until=until)
        assert ends(held) == at("2027-12-24", 0)

    def test_one_added_to_a_hold_that_runs_ends_after_it(self, bare_shop: Shop) -> None:
        # The shape of 73 Pa. Stat. 1934: seven days added to the hold that waits for the report.
        added = POLICE_HOLD.replace("length = 120", "length = 7").replace('"order-notice"', '"end:five-days"')
        added = added.replace('"alongside"', '"to-running"').replace("notice =", "# notice =")
        shops.adopt(
            bare_shop,
            US_DAYS,
            recipient("desk"),
            rule("hold", "five-days", 'length = 5\nunit = "days"\nforbids = ["sell"]\nstart = "report-sent:desk"'),
            rule("report", "each", 'to = "desk"\nper = "purchase"\ntitle = "T"\ndue = { within = 48, unit = "hours" }'),
            added,
        )
        bare_shop.record()
        now = {"from": "2026-11-24T09:00:00-06:00[America/Chicago]", "form": "written"}
        ordered_now(bare_shop, **now)
        (ring, _) = holding.standing(bare_shop.book)
        assert (ring.cautious, ring.waiting_for) == (None, "report-sent:desk")
        reporting.make(bare_shop.book, "purchase-1.desk", "letter", at=bare_shop.local())
        reporting.sent(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="by hand")
        # Sent on 24 November: five days end with the 29th, seven more with 6 December.
        assert ends(bare_shop) == at("2026-12-07", 0)
        check_book(bare_shop)

    def test_nothing_of_what_was_noted_stands_in_clear(self, held: Shop) -> None:
        name = ordered_now(held)
        holding.note(held.book, name, "confirmed", at=held.local(), by="Canary Officer", said="canary words")
        with engines.reading(held.book.engine) as connection:
            found = [entry.data for entry in reading.all_entries(connection, held.book.origin)]
            found += [repr(connection.execute(sa.select(table)).all()).encode() for table in tables.PROJECTIONS]
            (given,) = ordered.standing(connection, held.book)
        assert not [text for text in found if b"canary" in text.lower()]
        assert given.noted[0]["said"] == "canary words"
