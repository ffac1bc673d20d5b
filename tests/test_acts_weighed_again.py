"""What follows from a correction, and what a person states about an act: the law is asked again.

Rules are written beside the tests; moments were counted by hand on a calendar.
"""

from datetime import datetime
from typing import Any

import pytest

from ledger.acts import correcting, leaving, owing, reporting, tasking
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import ForbiddenByLaw, InputError
from ledger.law.holds import Hold
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.shops import ZONE, Shop

PLAIN: tuple[tuple[str, Any], ...] = (
    ("items", slip_samples.document()["items"][:1]),
    ("tray.articles", 1),
    ("payout.amount", "180.00"),
)


def corrected(shop: Shop, part: str, **changes: Any) -> list[str]:
    """What a correction changes, in sentences."""
    entry = correcting.correct(shop.book, 1, part, changes, "read again")
    return correcting.changed_by(shop.book, entry)


def hold_of(shop: Shop) -> Hold:
    with engines.reading(shop.book.engine) as connection:
        (found,) = leaving.holds_of(connection, shop.book, 1, 1)
    return found


def day(text: str) -> datetime:
    return datetime.fromisoformat(f"{text}T00:00:00").replace(tzinfo=ZONE)


class TestCorrections:
    """A correction weighs the duties of its slip again: what is broken or owed since shows; nothing is free earlier."""

    def test_a_seller_who_turns_out_to_be_under_age_shows(self, shop: Shop) -> None:
        # Norrowa Precious Goods Act (invented): nothing may be bought from a person under eighteen.
        shop.record(*PLAIN)
        found = corrected(shop, "seller/birth_date", text="2010-02-28")
        assert len(found) == 1
        assert "eighteen" in found[0]
        assert corrected(shop, "seller/birth_date", text="2010-03-28") == [], "it was so before"
        assert corrected(shop, "seller/birth_date", text="1984-02-28") == []
        check_book(shop)

    def test_a_hold_that_turns_out_longer_is_longer_and_never_shorter_again(self, bare_shop: Shop) -> None:
        watches = 'length = 30\nunit = "days"\nforbids = ["sell"]\nwhen = [{ fact = "item.age_years", at_least = 30 }]'
        shops.adopt(bare_shop, rule("hold", "old-goods", watches))
        bare_shop.record(*PLAIN, ("items.0.age_years", 29))
        with engines.reading(bare_shop.book.engine) as connection:
            assert leaving.holds_of(connection, bare_shop.book, 1, 1) == []
        said = corrected(bare_shop, "item/1/description", age_years=31)
        assert said == ["Item 1/1 is held longer (Sample Act s. 1)."]
        # Bought on 24 November: thirty days end with 24 December.
        assert hold_of(bare_shop).cautious == day("2026-12-25")
        assert corrected(bare_shop, "item/1/description", age_years=29) == []
        assert hold_of(bare_shop).cautious == day("2026-12-25"), "nothing is free earlier"
        check_book(bare_shop)

    def test_a_hold_that_waited_and_began_is_not_put_back(self, bare_shop: Shop) -> None:
        wait = 'length = 5\nunit = "days"\nforbids = ["sell"]\nstart = "report-sent:desk"'
        each = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "T"'
        shops.adopt(bare_shop, recipient("desk"), rule("hold", "h", wait), rule("report", "each", each))
        bare_shop.record(*PLAIN)
        reporting.make(bare_shop.book, "purchase-1.desk", "letter", at=bare_shop.local())
        reporting.sent(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="post")
        assert corrected(bare_shop, "item/1/description", damage="a dent") == []
        assert hold_of(bare_shop).cautious == day("2026-11-30")
        check_book(bare_shop)

    def test_a_report_that_is_owed_to_another_since_is_owed(self, shop: Shop) -> None:
        # The shape of Mich. Comp. Laws 445.484(3): another agency for a seller who lives elsewhere.
        away = 'when = [{ fact = "seller.address.city", differs_from = "shop.municipality" }]\nfrom = 2020-01-01\n'
        each = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "T"\n'
        marked = rule(
            "task", "mark", f'about = "slip"\nwhat = "Mark it."\n{away}due = {{ next = "day" }}\nwho = "clerk"'
        )
        files = (recipient("desk"), rule("report", "away", each + away), marked)
        shops.adopt(shop, *files, jurisdiction='"xx-other"', layer='"city"')
        shop.record(*PLAIN, ("parties.0.address.city", "Pellwick"))
        assert "purchase-1.desk" not in [one.report for one in owing.every(shop.book, at=shop.local())]
        found = corrected(shop, "seller/address", city="Harrow Falls")
        assert "A report is owed to The desk now (Sample Act s. 1)." in found
        assert "A task is due now: Mark it. (Sample Act s. 1)." in found
        assert "purchase-1.desk" in [one.report for one in owing.owed(shop.book, at=shop.local())]
        assert [one.about for one in tasking.open_tasks(shop.book, at=shop.local())] == ["1"]
        check_book(shop)


class TestStated:
    """What a rule allows on a condition is allowed when that is stated; else the refusal says what to state."""

    RETURN = (
        'length = 20\nunit = "days"\nforbids = ["return", "sell"]\nallows = ['
        '{ act = "return", to = "original-seller", when = [{ fact = "act.identity_checked", is = true }],'
        ' says = "It may go back to the seller once his identity was checked" },'
        '{ act = "sell", when = [{ fact = "act.buyer_recorded", is = true }], after = { length = 5, unit = "days" },'
        ' says = "After five days it may be sold if the buyer is recorded" }]'
    )

    def refusal(self, shop: Shop, outcome: str, **stated: Any) -> str:
        with pytest.raises(ForbiddenByLaw) as fault:
            leaving.out(shop.book, 1, 1, outcome, at=shop.local(), stated=leaving.read_stated(stated))
        return str(fault.value)

    def test_only_to_the_seller_whose_identity_was_checked(self, shop: Shop) -> None:
        shops.adopt(shop, rule("hold", "h", self.RETURN), jurisdiction='"xx-other"', layer='"city"')
        shop.record(*PLAIN)
        said = self.refusal(shop, "returned-to-seller")
        assert "It may go back to the seller once his identity was checked, but it must be known first" in said
        assert "act.identity_checked" in said
        said = self.refusal(shop, "returned-to-seller", identity_checked=False)
        assert "only if" in said
        stated = leaving.read_stated({"identity_checked": True})
        entry = leaving.out(shop.book, 1, 1, "returned-to-seller", at=shop.local(), stated=stated)
        with engines.reading(shop.book.engine) as connection:
            kept = reading.open_entry(connection, shop.book, entry.seq).get("item/1/outcome")
        assert kept["stated"] == {"identity_checked": True}
        check_book(shop)

    def test_after_five_days_to_a_buyer_who_is_recorded(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "h", self.RETURN))
        bare_shop.record(*PLAIN)
        assert "from 2026-11-30 00:00" in self.refusal(bare_shop, "sold", buyer_recorded=True)
        bare_shop.wait(days=7)
        assert "act.buyer_recorded" in self.refusal(bare_shop, "sold")
        stated = leaving.read_stated({"buyer_recorded": True})
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local(), stated=stated)
        check_book(bare_shop)

    def test_what_was_bought_counts_as_it_reads_today(self, bare_shop: Shop) -> None:
        body = (
            'length = 20\nunit = "days"\nforbids = ["move"]\nkeep_in = "premises"\nallows = [{ act = "move",'
            ' when = [{ fact = "item.age_years", below = 30 }, { fact = "act.answers.insured", is = true }] }]'
        )
        asks = '\n[[question]]\nid = "insured"\nabout = "act"\ntype = "flag"\nasks = "Insured?"\nwho = "owner"\n'
        shops.adopt(bare_shop, asks, rule("hold", "h", body))
        bare_shop.record(*PLAIN, ("items.0.age_years", 31))
        stated = leaving.read_stated({"answers": {"insured": True}})
        bank = (bare_shop.book, 1, 1, "bank")
        with pytest.raises(ForbiddenByLaw, match="item.age_years"):
            leaving.move(*bank, at=bare_shop.local(), because="", to_place="state", stated=stated)
        corrected(bare_shop, "item/1/description", age_years=5)
        with pytest.raises(ForbiddenByLaw, match="act.answers.insured"):
            leaving.move(*bank, at=bare_shop.local(), because="", to_place="state")
        leaving.move(bare_shop.book, 1, 1, "bank", at=bare_shop.local(), because="", to_place="state", stated=stated)
        check_book(bare_shop)

    def test_the_place_may_be_told_as_seen_from_where_it_was_bought(self, bare_shop: Shop) -> None:
        body = 'length = 20\nunit = "days"\nforbids = ["move"]\nkeep_in = "county"\nkeep_of = "purchase"'
        shops.adopt(bare_shop, rule("hold", "h", body))
        bare_shop.record(*PLAIN, ("channel", "event"), ("place", "Hall 3"))
        with pytest.raises(ForbiddenByLaw):
            leaving.move(bare_shop.book, 1, 1, "shop 2", at=bare_shop.local(), because="", to_place="premises")
        seen = leaving.read_stated({"to_of_purchase": "county"})
        leaving.move(bare_shop.book, 1, 1, "shop 2", at=bare_shop.local(), because="", to_place="state", stated=seen)

    @pytest.mark.parametrize(
        ("document", "message"),
        [
            ({"who": "x"}, "^who: 'who' was given; wanted is one of taker, identity_checked"),
            ({"identity_checked": "yes"}, "^identity_checked: something else was given; wanted is true or false"),
            ({"taker": "a friend"}, "^taker: something else .* one of buyer, carrier"),
            ({"to_of_receipt": "there"}, "^to_of_receipt: .* one of premises, "),
            ({"permit": True}, "^permit: True was given; wanted is text"),
            ({"state": " "}, "^state: something else was given; wanted is text"),
            ({"answers": {"x": 1.5}}, r"^answers\.x: 1\.5 "),
        ],
    )
    def test_what_is_wrong_is_named(self, document: dict[str, Any], message: str) -> None:
        with pytest.raises(InputError, match=message):
            leaving.read_stated(document)

    def test_what_was_stated_is_told_as_rules_read_it(self) -> None:
        stated = leaving.read_stated(
            {"taker": "refiner", "permit": "P 7", "answers": {"fee": {"amount": "5.00", "currency": "USD"}}}
        )
        assert stated.told() == {
            "taker": "refiner",
            "permit": "P 7",
            "answers": {"fee": {"currency": "USD", "minor": 500}},
        }
        assert stated.record()["answers"] == {"fee": {"amount": "5.00", "currency": "USD"}}
