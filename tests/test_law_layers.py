"""Which rules speak, at what time, and how layers combine."""

import json
from datetime import UTC, date, datetime
from itertools import pairwise, permutations
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import InputError, NoRuleForDay
from ledger.law.answers import Undecided
from ledger.law.counting import utc
from ledger.law.duties import weigh
from ledger.law.holds import Leave
from ledger.law.rules import RuleFile
from ledger.measures import Money
from tests.law_samples import US_DAYS, facts, file_of, local, recipient, ring, rule, shown

AT = local("2026-11-24T10:15")
USD = "USD"
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell", "melt"]\n'


def usd(minor: int) -> dict[str, Any]:
    return {"currency": USD, "minor": minor}


def outcome(file: RuleFile, given_facts: dict[str, Any]) -> Any:
    (found,) = weigh([file], given_facts, at=AT).duties
    return found.outcome


class TestScope:
    """A scope rule speaks only for its own file; one that is not decided leaves the duty standing."""

    EXEMPT = rule("exempt", "coins", 'when = [{ fact = "item.goods", is = "coin" }]\n')
    STATE = file_of(
        EXEMPT, rule("hold", "h", HOLD), rule("ask", "a", 'fields = [{ fact = "slip.staff", label = "S" }]\n')
    )
    CITY = file_of(rule("hold", "h", HOLD), layer='"city"', jurisdiction='"xx-city"')

    def test_an_exempt_article_is_free_of_its_own_file_alone(self) -> None:
        found = weigh([self.STATE, self.CITY], facts(ring(goods="coin")), at=AT)
        assert [one.jurisdiction for one in found.holds] == ["xx-city"]
        assert [(one.rule, one.about, one.rules) for one in found.exemptions] == [("coins", "item/1", ())]

    def test_rules_about_the_slip_stay_while_one_article_is_covered(self) -> None:
        both = weigh([self.STATE], facts(ring(goods="coin"), ring(line=2)), at=AT)
        assert [(one.rule, one.about) for one in both.duties] == [("a", "slip"), ("h", "item/2")]
        assert weigh([self.STATE], facts(ring(goods="coin")), at=AT).duties == ()

    def test_an_exemption_that_is_not_decided_leaves_the_hold(self) -> None:
        found = weigh([self.STATE], facts(ring(goods={"not_known": "wrapped"})), at=AT)
        assert len(found.holds) == 1
        assert found.holds[0].undecided is None
        assert found.duties[1].trace["exemptions_undecided"] == ["coins: item.goods is not known: wrapped"]

    def test_an_exception_in_the_rule_itself(self) -> None:
        file = file_of(rule("hold", "h", HOLD + 'unless = [{ fact = "item.goods", is = "coin" }]\n'))
        assert weigh([file], facts(ring(goods="coin")), at=AT).holds == ()
        found = weigh([file], facts(ring(goods={"not_known": "wrapped"})), at=AT)
        assert found.duties[0].state == "ahead"
        assert found.duties[0].trace["exemptions_undecided"] == ["an exception of the rule itself"]

    def test_a_hold_whose_condition_is_not_decided_stands_and_asks(self) -> None:
        file = file_of(rule("hold", "h", HOLD + 'when = [{ fact = "item.metal", is = "gold" }]\n'))
        found = weigh([file], facts(ring(metal={"not_known": "not tested"})), at=AT)
        assert found.holds[0].undecided == "item.metal is not known: not tested"
        assert isinstance(found.duties[0].outcome, Undecided)
        assert found.leave(1).cautious is not None
        assert weigh([file], facts(ring(metal="silver")), at=AT).holds == ()

    def test_an_exemption_of_the_seller_frees_the_named_rules(self) -> None:
        body = 'rules = ["h"]\nwhen = [{ fact = "seller.kind", is = "dealer" }]\n'
        file = file_of(rule("exempt", "dealers", body), rule("hold", "h", HOLD), rule("hold", "other", HOLD))
        found = weigh([file], facts(seller={"kind": "dealer"}), at=AT)
        assert [one.rule for one in found.holds] == ["other"]
        doubtful = weigh([file], facts(), at=AT)
        assert doubtful.duties[0].trace["exemptions_undecided"] == ["dealers: seller.kind was not stated"]

    def test_a_report_whose_condition_is_not_decided_is_owed_and_asks(self) -> None:
        body = 'when = [{ fact = "slip.channel", is = "home" }]\nto = "police"\nper = "purchase"\ntitle = "T"\n'
        file = file_of(recipient("police"), rule("report", "r", body + "due = { same_day = true }\n"))
        found = weigh([file], facts(), at=AT)
        assert len(found.reports) == 1
        assert isinstance(found.duties[0].outcome, Undecided)


class TestTime:
    """The purchase's local day chooses the version; before its first day a file stops, after its last it says so."""

    FILE = file_of(
        rule("hold", "h", "from = 2020-01-01\n" + HOLD),
        rule("hold", "h", "from = 2026-07-01\n" + HOLD.replace("10", "15")),
    )

    @pytest.mark.parametrize(
        ("at", "length"),
        [("2026-06-30T23:59", 10), ("2026-07-01T00:00", 15)],
    )
    def test_the_version_of_the_local_day(self, at: str, length: int) -> None:
        (hold,) = weigh([self.FILE], facts(), at=local(at)).holds
        assert hold.trace["length"] == length

    def test_a_new_version_changes_nothing_of_what_was_bought_before(self) -> None:
        old = file_of(rule("hold", "h", HOLD))
        before = local("2026-06-30T12:00")
        (first,), (second,) = (weigh([one], facts(), at=before).holds for one in (old, self.FILE))
        assert (first.plain, first.cautious) == (second.plain, second.cautious)

    def test_the_day_is_that_of_the_file_s_zone(self) -> None:
        late = datetime(2026, 7, 1, 3, 30, tzinfo=UTC)  # 23:30 of 30 June in New York
        (hold,) = weigh([self.FILE], facts(), at=late).holds
        assert hold.trace["length"] == 10

    def test_before_the_first_day_it_says_nothing(self) -> None:
        with pytest.raises(NoRuleForDay, match="The rule file of xx-sample says nothing about 2019-12-31"):
            weigh([self.FILE], facts(), at=local("2019-12-31T12:00"))

    def test_after_the_last_checked_day_every_result_says_so(self) -> None:
        found = weigh([self.FILE], facts(), at=local("2031-01-01T12:00"))
        assert found.stale == ("Sample: not checked since 2030-12-31",)
        assert {one.stale for one in found.duties} == set(found.stale)
        assert weigh([self.FILE], facts(), at=local("2030-12-31T12:00")).stale == ()

    def test_a_file_without_zone_takes_that_of_the_purchase(self) -> None:
        file = file_of(rule("hold", "h", HOLD), zone="")
        assert shown(weigh([file], facts(), at=AT).holds[0].plain) == "2026-12-05T00:00-05:00"
        with pytest.raises(InputError, match="a moment with a named time zone"):
            weigh([file], facts(), at=AT.astimezone(UTC))

    def test_back_dating_frees_nothing_and_a_late_record_gains_no_time(self) -> None:
        report = 'to = "police"\nper = "purchase"\ntitle = "T"\ndue = { within = 24, unit = "hours" }\n'
        file = file_of(recipient("police"), rule("hold", "h", HOLD), rule("report", "r", report))
        found = weigh([file], facts(), at=AT, recorded_at=local("2026-11-27T09:00"))
        assert shown(found.holds[0].plain) == "2026-12-08T00:00-05:00"
        assert shown(found.reports[0].due) == "2026-11-25T10:15-05:00"
        early = weigh([file], facts(), at=AT, recorded_at=local("2026-11-20T09:00"))
        assert shown(early.holds[0].plain) == "2026-12-05T00:00-05:00"


class TestWrongFacts:
    """A fact of the wrong type is the fault of whoever hands it in; it is never guessed."""

    FILE = file_of(
        rule(
            "hold",
            "h",
            HOLD + 'when = [{ fact = "seller.age", above = 1 }, { fact = "item.price", above = "1" }, '
            '{ fact = "item.marked", is = true }, { fact = "slip.channel", is = "home" }, '
            '{ fact = "item.marks", has = "9K" }, { fact = "seller.birth_date", above = 1900-01-01 }, '
            '{ fact = "seller.name", is = "A" }]\n',
        )
    )
    GOOD: Final[dict[str, Any]] = {
        "seller": {"age": 20, "birth_date": "1990-01-01", "name": "A"},
        "slip": {"channel": "home"},
        "items": [ring(price=usd(200), marked=True, marks=["9k"])],
    }

    def test_the_good_ones_decide(self) -> None:
        assert len(weigh([self.FILE], self.GOOD, at=AT).holds) == 1
        typed = self.GOOD | {
            "seller": {"age": 20, "birth_date": date(1990, 1, 1), "name": "A"},
            "items": [ring(price=Money("USD", 200), marked=True, marks=("9K",))],
        }
        assert len(weigh([self.FILE], typed, at=AT).holds) == 1

    @pytest.mark.parametrize(
        ("subject", "name", "value", "wanted"),
        [
            ("seller", "age", "20", "a whole number"),
            ("seller", "age", True, "a whole number"),
            ("seller", "birth_date", "1 May 1990", "a day such as 2026-11-24"),
            ("seller", "birth_date", 1990, "a day such as 2026-11-24"),
            ("seller", "name", 7, "text"),
            ("slip", "channel", "street", "one of counter, parcel, event, home, kiosk"),
            ("item", "price", "2.00", "an amount with 'currency' and 'minor'"),
            ("item", "price", {"currency": 1, "minor": 2}, "an amount with 'currency' and 'minor'"),
            ("item", "marked", "yes", "true or false"),
            ("item", "marks", "9K", "a list"),
        ],
    )
    def test_each_wrong_type_is_named(self, subject: str, name: str, value: Any, wanted: str) -> None:
        given_facts = json.loads(json.dumps(self.GOOD))
        (given_facts["items"][0] if subject == "item" else given_facts[subject])[name] = value
        with pytest.raises(InputError) as wrong:
            weigh([self.FILE], given_facts, at=AT)
        assert wrong.value.field == f"facts.{subject}.{name}"
        assert wrong.value.wanted == wanted

    @pytest.mark.parametrize(
        ("given_facts", "field"),
        [
            ({"seller": []}, "facts.seller"),
            ({"items": {}}, "facts.items"),
            ({"items": ["ring"]}, "facts.items[1]"),
            ({"items": [{"line": "1"}]}, "facts.items[1].line"),
            ({"co_sellers": [{"party": 2.0}]}, "facts.co_sellers[1].party"),
        ],
    )
    def test_tables_must_be_tables(self, given_facts: dict[str, Any], field: str) -> None:
        with pytest.raises(InputError) as wrong:
            weigh([self.FILE], given_facts, at=AT)
        assert wrong.value.field == field

    @pytest.mark.parametrize("at", [datetime(2026, 1, 1), local("1899-01-01T00:00"), local("2300-01-01T00:00")])
    def test_the_moment_must_be_one(self, at: datetime) -> None:
        with pytest.raises(InputError, match="a moment with its zone, 1900 to 2200"):
            weigh([self.FILE], self.GOOD, at=at)


class TestLayers:
    """All layers apply and none is merged: asked is the union, must beats if-known, order does not matter."""

    STATE = file_of(
        recipient("sheriff"),
        rule(
            "ask",
            "a",
            'fields = [{ fact = "seller.phone", label = "Phone", need = "if-known" }, '
            '{ fact = "seller.captures.photo", label = "Photo", reason_allowed = true }, '
            '{ fact = "seller.email", label = "Mail", need = "if-known" }]\n',
        ),
        rule("hold", "h", HOLD),
        rule("exempt", "coins", 'when = [{ fact = "item.goods", is = "coin" }]\n'),
        rule("pay", "p", 'instruments = ["cash", "cheque"]\n'),
    )
    COUNTY = file_of(
        rule(
            "ask",
            "a",
            'fields = [{ fact = "seller.name", label = "Name" }, { fact = "seller.phone", label = "Telephone" }, '
            '{ fact = "seller.captures.photo", label = "Photo" }, '
            '{ fact = "seller.email", label = "M", need = "if-known" }]\n',
        ),
        rule("hold", "h", HOLD.replace("10", "12")),
        rule("hold", "waits", HOLD + 'start = "report-received:sheriff"\n'),
        layer='"county"',
        jurisdiction='"xx-county"',
        note='"An invented county."',
    )
    CITY = file_of(
        rule("hold", "h", HOLD.replace("10", "5").replace('"melt"', '"alter"')),
        layer='"city"',
        jurisdiction='"xx-city"',
    )

    def test_asked_is_the_union(self) -> None:
        found = weigh([self.COUNTY, self.STATE], facts(), at=AT).asks
        assert [(one.fact, one.label, one.need, one.reason_allowed, len(one.rules)) for one in found] == [
            ("seller.phone", "Phone", "must", False, 2),
            ("seller.captures.photo", "Photo", "must", False, 2),
            ("seller.email", "Mail", "if-known", False, 2),
            ("seller.name", "Name", "must", False, 1),
        ]

    def test_order_does_not_matter_and_a_file_counts_once(self) -> None:
        records = [
            weigh(files, facts(), at=AT).record()
            for files in (
                *permutations([self.STATE, self.COUNTY, self.CITY]),
                [self.CITY, self.STATE, self.COUNTY, self.CITY],
            )
        ]
        assert all(one == records[0] for one in records)

    def test_an_article_leaves_when_the_last_layer_lets_it(self) -> None:
        found = weigh([self.STATE, self.CITY], facts(), at=AT)
        assert shown(found.leave(1).cautious) == "2026-12-05T00:00-05:00"
        waits = weigh([self.STATE, self.COUNTY], facts(), at=AT).leave(1)
        assert (waits.plain, waits.cautious, waits.waiting_for) == (None, None, "report-received:sheriff")

    def test_the_record_is_json_and_names_each_file(self) -> None:
        found = weigh([self.STATE, self.COUNTY], facts(ring(), ring(line=2, goods="coin")), at=AT)
        record = json.loads(json.dumps(found.record()))
        assert record["notes"] == ["An invented county."]
        assert record["digests"] == sorted([self.STATE.digest, self.COUNTY.digest])
        assert {one["digest"] for one in record["duties"]} == set(record["digests"])
        assert record["exemptions"][0]["about"] == "item/2"
        assert {one["outcome"] for one in record["duties"]} == {"broken", "ahead", "undecided"}

    def test_a_record_of_a_duty_says_why(self) -> None:
        found = weigh([self.STATE], facts(slip={"instrument": "card", "total": usd(1)}), at=AT)
        records = {one.rule: one.record() for one in found.duties}
        assert records["p"]["reason"] == "Payment by card is not allowed; allowed is cash and cheque."
        assert records["h"]["until"] == "2026-12-05T00:00:00-05:00[America/New_York]"
        assert records["a"]["outcome"] == "broken"
        assert "url" not in records["a"]
        linked = file_of(rule("hold", "h", HOLD + 'url = "https://law.example/1"\nstart = "report-sent:x"\n'))
        record = weigh([linked], facts(), at=AT).duties[0].record()
        assert record["url"] == "https://law.example/1"
        assert "until" not in record
        old = weigh([self.STATE], facts(), at=local("2031-06-01T10:00")).duties[0].record()
        assert old["stale"] == "Sample: not checked since 2030-12-31"

    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(
        st.lists(
            st.tuples(st.integers(1, 40), st.sampled_from(["days", "hours", "working-days"])), min_size=1, max_size=4
        ),
        st.datetimes(datetime(2026, 1, 5), datetime(2026, 12, 20)),
    )
    def test_a_further_layer_never_frees_an_article_earlier(
        self, spans: list[tuple[int, str]], bought: datetime
    ) -> None:
        layers = [
            file_of(
                rule("hold", "h", f'length = {length}\nunit = "{unit}"\nforbids = ["sell"]\n'),
                US_DAYS,
                layer='"city"',
                jurisdiction=f'"xx-{number}"',
            )
            for number, (length, unit) in enumerate(spans)
        ]
        at = local(bought.isoformat())
        leaves = [weigh(layers[:count], facts(), at=at).leave(1) for count in range(1, len(layers) + 1)]
        for fewer, more in pairwise(leaves):
            assert all(later >= earlier for later, earlier in zip(ends(more), ends(fewer), strict=True))
        assert len(weigh(layers, facts(), at=at).duties) == len(layers)


def ends(leave: Leave) -> tuple[datetime, datetime]:
    """Both ends, of which neither waits."""
    assert leave.plain is not None
    assert leave.cautious is not None
    return utc(leave.cautious), utc(leave.plain)
