"""Totals and counts over earlier slips: rolling windows and calendar periods, by seller and for the shop."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ledger.errors import InputError, RuleFileWrong
from ledger.law import files
from ledger.law.declared import Tally, Window
from ledger.law.duties import weigh
from ledger.law.tallies import reckon
from ledger.measures import Money
from tests.law_samples import facts, file_of, local, rule, text_of

ZONE = ZoneInfo("America/New_York")
AT = local("2026-11-24T10:15")


def usd(minor: int) -> dict[str, Any]:
    return {"currency": "USD", "minor": minor}


def past(at: str, minor: int = 100, **more: Any) -> dict[str, Any]:
    moment = local(at)
    text = f"{moment.isoformat(timespec='seconds')}[America/New_York]"
    return {"occurred": text, "same_seller": True, "total": usd(minor), "instrument": "cash", "items": 2, **more}


THIS: dict[str, Any] = {"channel": "counter", "instrument": "cash", "total": usd(1000), "items": 3, "articles": 7}


def value(tally: Tally, *slips: dict[str, Any], this: dict[str, Any] = THIS, at: datetime = AT) -> Any:
    return reckon(tally, {"slip": this, "past": list(slips)}, at, ZONE).value


class TestWindows:
    """A rolling window ends with this slip: 1 day is today alone; a calendar period holds every slip of it."""

    @pytest.mark.parametrize(
        ("window", "inside", "outside"),
        [
            (Window(1, "days"), "2026-11-24T00:00", "2026-11-23T23:59"),
            (Window(2, "days"), "2026-11-23T00:00", "2026-11-22T23:59"),
            (Window(24, "hours"), "2026-11-23T10:16", "2026-11-23T10:15"),
            (Window(1, "months"), "2026-10-25T00:00", "2026-10-24T23:59"),
            (Window(1, "years"), "2025-11-25T00:00", "2025-11-24T23:59"),
            (Window(period="day"), "2026-11-24T00:00", "2026-11-23T23:59"),
            (Window(period="week"), "2026-11-23T00:00", "2026-11-22T23:59"),
            (Window(period="month"), "2026-11-01T00:00", "2026-10-31T23:59"),
            (Window(period="year"), "2026-01-01T00:00", "2025-12-31T23:59"),
            (Window(period="day"), "2026-11-24T23:59", "2026-11-25T00:00"),
            (Window(1, "days"), "2026-11-24T10:15", "2026-11-24T10:16"),
            (Window(1, "hours"), "2026-11-24T10:15", "2026-11-24T10:16"),
        ],
    )
    def test_the_edges(self, window: Window, inside: str, outside: str) -> None:
        tally = Tally("n", "slips", "shop", window)
        assert value(tally, past(inside)) == 2
        assert value(tally, past(outside)) == 1

    def test_days_are_those_of_the_place(self) -> None:
        late = {**past("2026-11-24T00:30"), "occurred": "2026-11-24T00:30:00+00:00[UTC]"}
        assert value(Tally("n", "slips", "shop", Window(1, "days")), late) == 1


class TestWhatIsCounted:
    """Money or numbers, of this seller or the whole shop, with this slip or without."""

    @pytest.mark.parametrize(
        ("of", "expected"),
        [
            ("total", Money("USD", 1100)),
            ("cash", Money("USD", 1100)),
            ("slips", 2),
            ("items", 5),
        ],
    )
    def test_each(self, of: str, expected: Any) -> None:
        assert value(Tally("n", of, "seller", Window(1, "days")), past("2026-11-24T09:00")) == expected

    def test_another_seller_counts_for_the_shop_alone(self) -> None:
        other = past("2026-11-24T09:00", same_seller=False)
        assert value(Tally("n", "slips", "seller", Window(1, "days")), other) == 1
        assert value(Tally("n", "slips", "shop", Window(1, "days")), other) == 2

    def test_without_this_slip(self) -> None:
        tally = Tally("n", "total", "shop", Window(1, "days"), with_this=False)
        assert value(tally, past("2026-11-24T09:00")) == Money("USD", 100)
        assert value(tally) == Money("USD", 0)

    def test_cash_is_the_part_that_was_paid_so(self) -> None:
        tally = Tally("n", "cash", "shop", Window(1, "days"))
        slips = [
            past("2026-11-24T09:00", instrument="transfer"),
            past("2026-11-24T09:00", 900, instrument="transfer", cash=usd(5)),
        ]
        assert value(tally, *slips, this={**THIS, "instrument": "transfer", "cash_part": usd(7)}) == Money("USD", 12)

    @pytest.mark.parametrize(
        ("of", "slip", "this", "says"),
        [
            ("total", {"total": None}, {}, "slip.total was not stated"),
            ("total", {"total": {"not_known": "torn"}}, {}, "slip.total is not known: torn"),
            ("total", {"total": {"currency": "EUR", "minor": 1}}, {}, "different currencies"),
            ("cash", {"instrument": None}, {}, "how a slip was paid is not known"),
            ("articles", {}, {}, "slip.articles was not stated"),
            ("total", {}, {"total": None}, "slip.total was not stated"),
            ("slips", {"same_seller": None}, {}, "same seller is not known"),
        ],
    )
    def test_what_is_missing_leaves_it_not_known(self, of: str, slip: Any, this: Any, says: str) -> None:
        found = value(
            Tally("n", of, "seller", Window(1, "days")), past("2026-11-24T09:00", **slip), this={**THIS, **this}
        )
        assert says in found["not_known"]

    def test_nothing_in_no_currency_is_not_known(self) -> None:
        tally = Tally("n", "cash", "shop", Window(1, "days"), with_this=False)
        assert "currency of this slip" in value(tally, this={})["not_known"]

    @pytest.mark.parametrize("none", [{}, {"past": {"not_known": "new book"}}])
    def test_nobody_said(self, none: dict[str, Any]) -> None:
        found = reckon(Tally("n", "slips", "shop", Window(1, "days")), none, AT, ZONE).value
        assert set(found) == {"not_known"}

    @pytest.mark.parametrize("wrong", ["x", ["x"], [{"occurred": "yesterday"}], [{}]])
    def test_what_cannot_be_read_is_refused(self, wrong: Any) -> None:
        with pytest.raises(InputError, match=r"facts\.past"):
            reckon(Tally("n", "slips", "shop", Window(1, "days")), {"past": wrong}, AT, ZONE)


TALLY = """
[[tally]]
id = "purchases"
of = "slips"
by = "shop"
period = "year"
when = [{ fact = "past.channel", is_not = "parcel" }]
"""
CASH = """
[[tally]]
id = "cash"
of = "cash"
by = "seller"
window = { length = 1, unit = "days" }
"""


class TestInFiles:
    """A tally is a fact of its own file."""

    FILE = file_of(
        TALLY, rule("refuse", "often", 'when = [{ fact = "tally.purchases", above = 3 }]\nmay_record = ["date"]\n')
    )

    def slips(self, number: int, **more: Any) -> list[dict[str, Any]]:
        return [past("2026-03-01T09:00", channel="counter", **more) for _ in range(number)]

    @pytest.mark.parametrize(("number", "state"), [(2, "met"), (3, "broken")])
    def test_more_than_three_times_a_year(self, number: int, state: str) -> None:
        found = weigh([self.FILE], facts(slip=THIS, past=self.slips(number)), at=AT)
        assert [one.state for one in found.duties] == [state]
        assert found.record()["tallies"] == [
            {
                "jurisdiction": "xx-sample",
                "id": "purchases",
                "of": "slips",
                "by": "shop",
                "window": "this year",
                "with_this": True,
                "value": number + 1,
                "counted": ["2026-03-01T09:00:00-05:00[America/New_York]"] * number,
            }
        ]

    def test_only_slips_for_which_its_conditions_hold(self) -> None:
        found = weigh([self.FILE], facts(slip={**THIS, "channel": "parcel"}, past=self.slips(3)), at=AT)
        assert [one.state for one in found.duties] == ["met"]

    def test_not_known_is_undecided(self) -> None:
        assert weigh([self.FILE], facts(slip=THIS), at=AT).duties[0].state == "undecided"
        doubtful = weigh([self.FILE], facts(slip={}, past=self.slips(3)), at=AT).duties[0]
        assert "past.channel was not stated" in doubtful.says

    def test_an_amount_is_compared_in_the_file_s_currency(self) -> None:
        body = 'when = [{ fact = "tally.cash", above = "500.00" }]\nmay_record = ["date"]\n'
        file = file_of(CASH, rule("refuse", "split", body))
        for minor, state in ((49000, "met"), (49001, "broken")):
            given = facts(slip=THIS, past=[past("2026-11-24T09:00", minor)])
            assert weigh([file], given, at=AT).duties[0].state == state

    @pytest.mark.parametrize(
        ("table", "says"),
        [
            (TALLY + 'window = { length = 1, unit = "days" }\n', "keep exactly one of 'window', 'period'"),
            (TALLY + TALLY, "'purchases' is declared twice"),
            (TALLY.replace("past.channel", "past.place"), "'past.place' is not a fact"),
            (rule("refuse", "h", 'when = [{ fact = "past.channel", is = "home" }]\nmay_record = ["date"]\n'),
             "'past.channel' is not a fact"),
            (TALLY + rule("ask", "a", 'fields = [{ fact = "tally.purchases", label = "Number" }]\n'), "is worked out"),
        ],
    )  # fmt: skip
    def test_faults_are_named(self, table: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as wrong:
            files.read(text_of(table), "sample.toml")
        assert any(says in fault for fault in wrong.value.faults)
