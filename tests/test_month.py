"""A month in sums, and how well its reports were kept.

Every sum is counted again here by hand over the entries of a book in which everything of tests/story.py has happened:
what was presented, recorded, undone and corrected, straight from the parts, without a derived table. Reports are
counted again by the two rules of that story, written out here.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from ledger.acts import correcting, month, rates, reporting, undoing
from ledger.acts.rates import Rate
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError, LockedError
from tests import shops
from tests.law_samples import recipient, rule
from tests.shops import ZONE, Shop

PURCHASE = "purchase-1.county-sheriff"


@dataclass
class Visit:
    """One slip as its entries tell it."""

    parts: dict[str, Any] = field(default_factory=dict)
    items: int = 0
    standing: str = "presented"

    @property
    def day(self) -> str:
        return str(self.parts["visit"]["occurred_at"][:10])

    @property
    def bought(self) -> Iterator[int]:
        """Lines of items whose offer was taken."""
        for line in range(1, self.items + 1):
            if self.parts.get(f"item/{line}/price", {}).get("answer") == "taken":
                yield line


def visits(shop: Shop) -> dict[int, Visit]:
    """Every slip of a book, walked entry by entry."""
    found: dict[int, Visit] = {}
    with engines.reading(shop.book.engine) as connection:
        for entry in reading.all_entries(connection, shop.book.origin):
            kind = entry.kind.partition("/")[0]
            parts = dict(reading.open_parts(connection, shop.book, entry).parts)
            if kind == "presented":
                found[entry.public["slip"]] = Visit(parts, entry.public["items"])
            elif kind == "purchase":
                found[entry.public["slip"]].parts |= parts
                found[entry.public["slip"]].standing = "recorded"
            elif kind in ("withdrawn", "void"):
                found[entry.public["slip"]].standing = kind
            elif kind == "correction":
                said = parts["correction"]
                found[entry.public["slip"]].parts[said["part"]] = said["is"]
    return found


def of(shop: Shop, name: str) -> list[Visit]:
    """Those of a month that were recorded and not undone."""
    return [one for one in visits(shop).values() if one.standing == "recorded" and one.day.startswith(name)]


def months(shop: Shop) -> list[str]:
    return sorted({one.day[:7] for one in visits(shop).values()})


class TestRecount:
    """Every sum of a month is that of a walk over the entries themselves."""

    def test_the_story_fills_more_than_one_month_and_undoes_some_of_it(self, after: Shop) -> None:
        standing = Counter(one.standing for one in visits(after).values())
        assert standing["recorded"] >= 2
        assert standing["void"] >= 1

    def test_money_out_is_what_the_recorded_slips_paid_day_by_day(self, after: Shop) -> None:
        for name in months(after):
            counted: Counter[tuple[str, str]] = Counter()
            slips: Counter[tuple[str, str]] = Counter()
            for one in of(after, name):
                amount = one.parts.get("payout/amount")
                if amount is None:
                    continue  # traded for other goods
                counted[one.day, amount["currency"]] += amount["minor"]
                slips[one.day, amount["currency"]] += 1
            found = month.month(after.book, name).paid
            assert {(one.day, one.currency): (one.minor, one.slips) for one in found} == {
                key: (minor, slips[key]) for key, minor in counted.items()
            }

    def test_fine_weight_is_that_of_the_items_taken_by_their_metal(self, after: Shop) -> None:
        for name in months(after):
            counted: Counter[tuple[str, str]] = Counter()
            for one in of(after, name):
                for line in one.bought:
                    fine = one.parts[f"item/{line}/price"].get("value", {}).get("fine_paid_mg")
                    metal = one.parts.get(f"item/{line}/assessment", {}).get("metal") or "metal not shown"
                    if fine is not None:
                        counted[one.day, metal] += fine
            found = month.month(after.book, name)
            assert {(one.day, one.metal): one.fine_mg for one in found.fine} == dict(counted)
            assert found.items == sum(len(list(one.bought)) for one in of(after, name))

    def test_the_spread_is_what_was_offered_beside_what_the_metal_was_worth(self, after: Shop) -> None:
        for name in months(after):
            paid: Counter[tuple[str, str]] = Counter()
            worth: Counter[tuple[str, str]] = Counter()
            unknown = 0
            for one in of(after, name):
                for line in one.bought:
                    price = one.parts[f"item/{line}/price"]
                    melt = price.get("value", {}).get("melt_value")
                    if melt is None:
                        unknown += 1
                        continue
                    key = one.parts[f"item/{line}/assessment"]["metal"], melt["currency"]
                    paid[key] += price["offer"]["minor"]
                    worth[key] += melt["minor"]
            found = month.month(after.book, name)
            assert {(one.metal, one.currency): (one.paid_minor, one.melt_minor) for one in found.spread} == {
                key: (paid[key], worth[key]) for key in worth
            }
            assert found.not_valued == unknown

    def test_items_whose_evidence_disagreed_are_those_with_a_conflict_a_standing_against_or_another_conclusion(
        self, after: Shop
    ) -> None:
        for name in months(after):
            counted = set()
            for number, one in visits(after).items():
                if one.standing == "recorded" and one.day.startswith(name):
                    for line in one.bought:
                        assessed = one.parts.get(f"item/{line}/assessment", {})
                        against = assessed.get("standing") in ("below", "contrary") or assessed.get("conflicts")
                        if against or one.parts.get(f"item/{line}/conclusion", {}).get("agrees") is False:
                            counted.add((number, line))
            assert {(one.slip, one.line) for one in month.month(after.book, name).disagreed} == counted


class TestMonth:
    """What counts as bought, on which day, in which week."""

    def test_a_slip_that_was_undone_or_only_presented_adds_nothing(self, shop: Shop) -> None:
        shop.record()
        undoing.void(shop.book, 1, "a lawful return", at=shop.local())
        shop.present()
        found = month.month(shop.book, "2026-11")
        assert (found.paid, found.fine, found.spread, found.items) == ((), (), (), 0)

    def test_a_day_belongs_to_the_week_of_its_monday_and_a_week_to_the_days_it_has_in_the_month(self) -> None:
        days = [month.Paid(f"2026-11-{day:02}", "USD", 100 * day, 1) for day in (1, 2, 8, 9, 30)]
        fine = [month.Fine(one.day, "gold", one.minor, 1) for one in days]
        made = month.Month(date(2026, 11, 1), tuple(days), tuple(fine), (), 0, (), (), 5)
        # By a calendar: 1 November 2026 is a Sunday, 30 November a Monday.
        weeks = [("2026-11-01", 100, 1), ("2026-11-02", 1000, 2), ("2026-11-09", 900, 1), ("2026-11-30", 3000, 1)]
        assert [(one.day, one.minor, one.slips) for one in made.paid_by_week()] == weeks
        assert [(one.day, one.fine_mg, one.items) for one in made.fine_by_week()] == weeks
        assert made.last == date(2026, 11, 30)

    def test_a_share_of_the_melt_value_is_rounded_down_and_nothing_is_divided_by_nought(self) -> None:
        assert month.Spread("gold", "USD", 1, 2, 3).paid_ppm == 666_666
        assert month.Spread("gold", "USD", 1, 2, 3).kept_minor == 1
        assert month.Spread("gold", "USD", 1, 2, 0).paid_ppm == 0

    def test_holds_of_a_day_tell_the_first_and_the_last_moment_and_what_waits(self, shop: Shop) -> None:
        shop.record()
        (before,) = month.month(shop.book, "2026-11").held
        assert (before.day, before.items, before.waiting, before.first) == ("2026-11-24", 2, 2, None)
        reporting.make(shop.book, PURCHASE, "letter", at=shop.local())
        reporting.sent(shop.book, PURCHASE, at=shop.local(), how="by hand")
        reporting.received(shop.book, PURCHASE, at=shop.local(), who="Desk")
        (held,) = month.month(shop.book, "2026-11").held
        assert (held.waiting, held.free) == (0, 0)
        # The county's fifteen clear days after its receipt on the 24th: the 10th of December at nought hours.
        assert held.last == datetime(2026, 12, 10, tzinfo=ZONE)

    def test_goods_that_no_rule_holds_are_free(self, bare_shop: Shop) -> None:
        bare_shop.record()
        (held,) = month.month(bare_shop.book, "2026-11").held
        assert (held.items, held.free, held.waiting, held.first) == (2, 2, 0, None)

    def test_what_is_no_month_is_refused_and_a_locked_book_tells_nothing(self, sqlite_shop: Shop) -> None:
        for name in ("2026-13", "2026-1", "November", "2026-11-01"):
            with pytest.raises(InputError, match="such as 2026-10"):
                month.month(sqlite_shop.book, name)
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            month.month(sqlite_shop.book, "2026-11")


def only_rate(shop: Shop) -> Rate:
    (found,) = rates.rates(shop.book, at=shop.local())
    return found


def sent(shop: Shop, report: str = PURCHASE) -> None:
    reporting.make(shop.book, report, "letter", at=shop.local())
    reporting.sent(shop.book, report, at=shop.local(), how="by hand")


TOLD_IN_TWO_DAYS = 'to = "county-sheriff"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"\n'


@pytest.fixture
def bought(bare_shop: Shop) -> Shop:
    """One purchase under one rule: a report of each purchase, due in two days."""
    shops.adopt(
        bare_shop,
        recipient("county-sheriff"),
        rule("report", "tell", TOLD_IN_TWO_DAYS),
    )
    bare_shop.record()
    return bare_shop


class TestRates:
    """Late: sent after due, or unsent after due. Wrong: changed by a corrected report, or named by the authority."""

    def test_a_report_that_is_not_due_yet_and_not_sent_counts_in_no_month(self, bought: Shop) -> None:
        assert rates.rates(bought.book, at=bought.local()) == []

    def test_one_sent_in_time_is_neither_late_nor_wrong(self, bought: Shop) -> None:
        sent(bought)
        assert only_rate(bought) == Rate("2026-11", due=1, late=0, out=1, wrong=0, named=0)

    def test_one_unsent_after_due_is_late_and_stays_late_when_it_is_sent(self, bought: Shop) -> None:
        bought.wait(days=3)
        assert only_rate(bought) == Rate("2026-11", due=1, late=1, out=0, wrong=0, named=0)
        sent(bought)
        assert only_rate(bought) == Rate("2026-11", due=1, late=1, out=1, wrong=0, named=0)

    def test_one_that_is_corrected_after_it_left_is_wrong_before_and_after_it_is_made_again(self, bought: Shop) -> None:
        sent(bought)
        correcting.correct(bought.book, 1, "item/1/description", {"damage": "a dent"}, "seen again")
        assert only_rate(bought).wrong == 1
        sent(bought)
        assert only_rate(bought) == Rate("2026-11", due=1, late=0, out=1, wrong=1, named=0)

    def test_one_that_was_corrected_before_it_left_was_never_wrong(self, bought: Shop) -> None:
        reporting.make(bought.book, PURCHASE, "letter", at=bought.local())
        correcting.correct(bought.book, 1, "item/1/description", {"damage": "a dent"}, "seen again")
        sent(bought)
        assert only_rate(bought).wrong == 0

    def test_fields_that_the_authority_names_make_it_wrong_while_the_vault_is_open(self, bought: Shop) -> None:
        sent(bought)
        reporting.received(bought.book, PURCHASE, at=bought.local(), who="Desk", wrong=["seller.birth_date"])
        assert only_rate(bought) == Rate("2026-11", due=1, late=0, out=1, wrong=1, named=1)
        bought.book.keys = None
        assert only_rate(bought) == Rate("2026-11", due=1, late=0, out=1, wrong=0, named=None)

    def test_reports_that_were_due_before_a_day_can_be_left_out(self, bought: Shop) -> None:
        sent(bought)
        for since, months in ((date(2026, 11, 26), ["2026-11"]), (date(2026, 11, 27), [])):
            assert [one.month for one in rates.rates(bought.book, at=bought.local(), since=since)] == months

    def test_since_the_first_day_they_are_the_same(self, after: Shop) -> None:
        now = after.wait(days=60)
        assert rates.rates(after.book, at=now, since=date(2026, 1, 1)) == rates.rates(after.book, at=now)

    def test_rates_are_whole_tenths_of_a_per_cent_and_none_of_nothing(self) -> None:
        assert (Rate("2026-11", 3, 1, 0, 0, 0).late_tenths, Rate("2026-11", 3, 1, 0, 0, 0).wrong_tenths) == (333, None)
        assert Rate("2026-11", 0, 0, 3, 2, 0).record()["wrong_tenths"] == 666

    def test_a_walk_over_the_entries_finds_the_same_rates_month_by_month(self, after: Shop) -> None:
        now = after.local()
        found = recounted(after, now)
        assert rates.rates(after.book, at=now) == [
            Rate(
                month,
                due=len(told),
                late=sum(late for late, _, _ in told),
                out=sum(out for _, out, _ in told),
                wrong=sum(wrong for _, _, wrong in told),
                named=0,
            )
            for month, told in sorted(found.items())
        ]

    def test_what_the_story_leaves_late_and_wrong_is_counted_on_fingers(self, after: Shop) -> None:
        """By hand over tests/story.py: purchases 1, 2, 4 and 5 on 24 November are told in 48 hours, weeks on Mondays.

        November: 1 and 2 went out in time, 2 was corrected after; 4, 5 and the week of the 23rd never went out.
        December: four Mondays, and the list that the police asked for, which they never said that they have.
        January: the 4th, the 11th and the 18th are over by the 19th.
        """
        assert after.local().date() == date(2027, 1, 19)
        assert rates.rates(after.book, at=after.local()) == [
            Rate("2026-11", due=5, late=3, out=2, wrong=1, named=0),
            Rate("2026-12", due=5, late=5, out=1, wrong=0, named=0),
            Rate("2027-01", due=3, late=3, out=0, wrong=0, named=0),
        ]


@dataclass
class Told:
    """One report as the entries tell it: when it was due, what meets it, which slips, and what was done when."""

    due: datetime
    met_by: str
    slips: list[int]
    steps: dict[str, datetime] = field(default_factory=dict)
    wrong: bool = False


OUT = ("sent", "delivered", "received")


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text.partition("[")[0]).astimezone(ZONE)


def recounted(shop: Shop, now: datetime) -> dict[str, list[tuple[bool, bool, bool]]]:
    """(late, out, wrong) of every report due by now, by month; by the rules of tests/story.py and the entries alone.

    Each purchase is told within 48 hours, each week by Monday noon, whether or not anything was bought.
    """
    known = {}
    monday = datetime(2026, 11, 30, 12, tzinfo=ZONE)
    while monday <= now:
        known[f"week-{(monday - timedelta(days=7)).date()}.police"] = Told(monday, "sent", [])
        monday += timedelta(days=7)
    with engines.reading(shop.book.engine) as connection:
        for entry in reading.all_entries(connection, shop.book.origin):
            kind, public = entry.kind.partition("/")[0], entry.public
            parts = dict(reading.open_parts(connection, shop.book, entry).parts)
            if kind == "purchase":
                bought = moment(parts["duties"]["at"])
                known[f"purchase-{public['slip']}.police"] = Told(
                    bought + timedelta(hours=48), "sent", [public["slip"]]
                )
            elif kind == "report-asked":
                known[public["report"]] = Told(moment(parts["report"]["duty"]["due"]), "received", [])
            elif kind == "report-extended":
                known[public["report"]].due = moment(parts["report"]["due"])
            elif kind == "report-made":
                known[public["report"]].slips = public["slips"]
            elif kind.startswith("report-"):
                known[public["report"]].steps.setdefault(kind.removeprefix("report-"), moment(entry.occurred_at or ""))
            elif kind == "correction":
                for one in known.values():
                    one.wrong |= public["slip"] in one.slips and bool(one.steps)
    found: dict[str, list[tuple[bool, bool, bool]]] = {}
    for one in known.values():
        met = [one.steps[step] for step in OUT[OUT.index(one.met_by) :] if step in one.steps]
        row = (min(met, default=now) > one.due, bool(one.steps), one.wrong)
        found.setdefault(f"{one.due:%Y-%m}", []).append(row)
    return found
