"""Typed conditions over facts: yes, no, or not decided."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import InputError, RuleFileWrong
from ledger.law.answers import Ahead, Broken, Met, Undecided, joined
from ledger.law.conditions import Against, AllOf, AnyOf, Compare, Condition, Not, Share
from ledger.law.duties import weigh
from ledger.law.facts import FACTS, Unknown
from ledger.law.rules import RuleFile
from ledger.measures import Money
from tests.law_samples import file_of, local, rule

AT = local("2026-11-24T10:15")
USD = "USD"
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell", "melt"]\n'


def usd(minor: int) -> dict[str, Any]:
    return {"currency": USD, "minor": minor}


def outcome(file: RuleFile, given_facts: dict[str, Any]) -> Any:
    (found,) = weigh([file], given_facts, at=AT).duties
    return found.outcome


AGE, METAL, MARKS = FACTS["seller.age"], FACTS["item.metal"], FACTS["item.marks"]
LEAVES = st.sampled_from(
    [
        Compare(AGE, "below", 18),
        Compare(AGE, "is", 40),
        Compare(METAL, "is", "gold"),
        Compare(METAL, "not_in", ("silver", "base")),
        Compare(MARKS, "has", "14K"),
        Compare(MARKS, "empty", True),
    ]
)
CONDITIONS: st.SearchStrategy[Condition] = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: AllOf(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: AnyOf(tuple(parts))),
        inner.map(Not),
    ),
    max_leaves=8,
)
FRAMES = st.fixed_dictionaries(
    {
        "seller": st.fixed_dictionaries({"age": st.sampled_from([17, 18, 40])}),
        "item": st.fixed_dictionaries(
            {"metal": st.sampled_from(["gold", "silver"]), "marks": st.sampled_from([[], ["14k"], ["925"]])}
        ),
    }
)


class TestConditions:
    """Unknown facts give undecided, never a default: to forget a fact never changes a yes into a no."""

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(CONDITIONS, FRAMES, st.sets(st.sampled_from(["seller.age", "item.metal", "item.marks"])))
    def test_a_fact_less_leaves_the_answer_or_none(
        self, condition: Condition, frame: dict[str, Any], forgotten: set[str]
    ) -> None:
        known = condition.decide(frame, {})
        less = {
            subject: {name: value for name, value in values.items() if f"{subject}.{name}" not in forgotten}
            for subject, values in frame.items()
        }
        assert known is not None
        assert condition.decide(less, {}) in (known, None)
        assert condition.facts() <= {"seller.age", "item.metal", "item.marks"}
        assert condition.says()

    @pytest.mark.parametrize(
        ("op", "wanted", "value", "answer"),
        [
            ("is", "Gold ", "gold", True),
            ("is_not", "gold", "Gold", False),
            ("in", ("gold", "silver"), "SILVER", True),
            ("not_in", ("gold",), "silver", True),
            ("known", True, "gold", True),
            ("known", False, None, True),
            ("known", True, {"not_known": "x"}, False),
        ],
    )
    def test_comparisons_of_words(self, op: str, wanted: Any, value: Any, answer: bool) -> None:
        assert Compare(METAL, op, wanted).decide({"item": {"metal": value}}, {}) is answer

    @pytest.mark.parametrize(
        ("op", "at_17", "at_18", "at_19"),
        [
            ("at_least", False, True, True),
            ("above", False, False, True),
            ("at_most", True, True, False),
            ("below", True, False, False),
            ("is", False, True, False),
        ],
    )
    def test_comparisons_of_numbers(self, op: str, at_17: bool, at_18: bool, at_19: bool) -> None:
        answers = [Compare(AGE, op, 18).decide({"seller": {"age": age}}, {}) for age in (17, 18, 19)]
        assert answers == [at_17, at_18, at_19]

    def test_amounts_of_two_currencies_cannot_be_compared(self) -> None:
        test = Compare(FACTS["item.price"], "above", Money("USD", 100))
        assert test.decide({"item": {"price": {"currency": "EUR", "minor": 500}}}, {}) is None
        assert test.decide({"item": {"price": usd(500)}}, {}) is True

    def test_a_fact_of_every_document_must_hold_for_each(self) -> None:
        test = Compare(FACTS["seller.document.type"], "is", "passport")
        frame = {"seller": {"documents": [{"type": "passport"}, {"type": "other"}]}}
        asked: dict[str, Any] = {}
        assert test.decide(frame, asked) is False
        assert asked == {"seller.document.type": ["passport", "other"]}
        assert isinstance(FACTS["seller.document.type"].read({"seller": "x"}), Unknown)

    @pytest.mark.parametrize(
        ("op", "one", "two", "answer"),
        [
            ("same_as", "Oak Town ", "oak town", True),
            ("same_as", "Oak", "Elm", False),
            ("differs_from", "Oak", "Elm", True),
            ("differs_from", "oak", "Oak", False),
            ("same_as", None, "Elm", None),
            ("differs_from", "Oak", None, None),
        ],
    )
    def test_one_fact_against_another(self, op: str, one: Any, two: Any, answer: bool | None) -> None:
        test = Against(FACTS["seller.address.city"], op, FACTS["shop.municipality"])
        frame = {"seller": {"address": {"city": one}}, "shop": {"municipality": two}}
        asked: dict[str, Any] = {}
        assert test.decide(frame, asked) is answer
        assert set(asked) == test.facts() == {"seller.address.city", "shop.municipality"}
        assert test.says().startswith("seller.address.city " + op.replace("_", " "))

    @pytest.mark.parametrize(
        ("op", "percent", "price", "melt", "answer"),
        [
            ("above", 100, 501, 500, True),
            ("above", 100, 500, 500, False),
            ("at_least", 50, 250, 500, True),
            ("below", 50, 249, 500, True),
            ("at_most", 50, 251, 500, False),
            ("at_least", 50, 0, 0, True),
            ("above", 50, None, 1, None),
        ],
    )
    def test_a_share_of_another_amount(self, op: str, percent: int, price: Any, melt: int, answer: bool | None) -> None:
        test = Share(FACTS["item.price"], FACTS["item.melt_value"], op, percent * 10_000)
        frame = {"item": {"price": usd(price) if price is not None else None, "melt_value": usd(melt)}}
        assert test.decide(frame, {}) is answer
        assert test.facts() == {"item.price", "item.melt_value"}

    def test_a_share_of_a_weight_and_of_another_currency(self) -> None:
        half = Share(FACTS["item.net_weight"], FACTS["item.gross_weight"], "at_least", 500_000)
        assert half.decide({"item": {"net_mg": 500, "gross_mg": 1000}}, {}) is True
        assert half.decide({"item": {"net_mg": 499, "gross_mg": 1000}}, {}) is False
        dear = Share(FACTS["item.price"], FACTS["item.melt_value"], "above", 1_005_000)
        assert dear.says() == "item.price above 100.5 % of item.melt_value"
        frame = {"item": {"price": usd(5), "melt_value": {"currency": "EUR", "minor": 1}}}
        assert dear.decide(frame, {}) is None

    @pytest.mark.parametrize(
        ("condition", "says"),
        [
            ('{ fact = "item.price", share_of = "item.melt_value", is = "50 %" }', "does not fit item.price and 'is'"),
            ('{ fact = "item.metal", share_of = "item.melt_value", above = "50 %" }', "'share_of' does not fit"),
            ('{ fact = "item.price", share_of = "item.melt_value", above = "half" }', "write a percentage in quotes"),
            (
                '{ fact = "item.price", share_of = "item.net_weight", above = "50 %" }',
                "is not of the type of item.price",
            ),
            ('{ fact = "item.price", share_of = "item.melt_value", above = 50 }', "write a percentage in quotes"),
            ('{ fact = "item.price", same_as = "item.price_paid" }', "is not a fact"),
            ('{ fact = "seller.name", same_as = "seller.document.issuer" }', "of every document is not compared"),
            ('{ fact = "slip.clock", above = "8 am" }', "write a clock time in quotes"),
            ('{ fact = "slip.clock", above = 8 }', "write a clock time in quotes"),
            ('{ fact = "seller.sworn", same_as = "seller.intoxicated" }', "'same_as' does not fit"),
        ],
    )
    def test_what_does_not_fit_is_a_fault(self, condition: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as wrong:
            file_of(rule("hold", "h", HOLD + f"when = [{condition}]\n"))
        assert any(says in fault for fault in wrong.value.faults)

    @pytest.mark.parametrize(
        ("condition", "says"),
        [
            ('not = { fact = "item.metal", is = "gold" }', "not item.metal is gold"),
            ('any = [{ fact = "item.metal", in = ["gold", "silver"] }]', "(item.metal in gold, silver)"),
            ('all = [{ fact = "item.marks", empty = true }]', "(item.marks empty yes)"),
            ('fact = "slip.clock", at_least = "08:00"', "slip.clock at least 08:00"),
            ('fact = "seller.name", same_as = "guardian.name"', "seller.name same as guardian.name"),
        ],
    )
    def test_a_condition_is_read_and_said(self, condition: str, says: str) -> None:
        about = "refuse" if "slip" in condition or "seller" in condition else "hold"
        body = f"when = [{{ {condition} }}]\n" + (HOLD if about == "hold" else 'may_record = ["date"]\n')
        (read,) = file_of(rule(about, "h", body)).rules[0].when
        assert read.says() == says

    @pytest.mark.parametrize(
        ("condition", "says"),
        [
            ('{ fact = "item.metal", is = "gold", in = ["gold"] }', "compares its fact once"),
            ('{ fact = "item.metal", in = "gold" }', "write a list of texts in square brackets"),
        ],
    )
    def test_one_comparison_of_the_right_form(self, condition: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as wrong:
            file_of(rule("hold", "h", HOLD + f"when = [{condition}]\n"))
        assert any(says in fault for fault in wrong.value.faults)

    @pytest.mark.parametrize(("percent", "ppm"), [("50 %", 500_000), ("0.5%", 5_000), ("133.3333 %", 1_333_333)])
    def test_a_percentage_is_read(self, percent: str, ppm: int) -> None:
        test = f'when = [{{ fact = "item.price", share_of = "item.melt_value", above = "{percent}" }}]\n'
        (condition,) = file_of(rule("hold", "h", HOLD + test)).rules[0].when
        assert condition == Share(FACTS["item.price"], FACTS["item.melt_value"], "above", ppm)

    @pytest.mark.parametrize("wrong", ["8:00", "25:00", 8, True])
    def test_a_clock_time_of_another_form_is_refused(self, wrong: Any) -> None:
        with pytest.raises(InputError, match="a clock time such as 09:30"):
            FACTS["slip.clock"].read({"slip": {"clock": wrong}})

    def test_blank_text_says_nothing(self) -> None:
        assert FACTS["seller.name"].read({"seller": {"name": " "}}) == Unknown("seller.name was not stated", False)

    def test_conditions_read_as_words(self) -> None:
        test = AllOf((Compare(AGE, "below", 18), Not(AnyOf((Compare(METAL, "in", ("gold", "silver")),)))))
        assert test.says() == "(seller.age below 18 and not (item.metal in gold, silver))"
        assert Compare(MARKS, "empty", False).says() == "item.marks empty no"
        assert Compare(METAL, "known", False).says() == "item.metal is not known"

    def test_words_are_listed_as_a_sentence_does(self) -> None:
        assert (joined([]), joined(["a"]), joined(["a", "b", "c"])) == ("", "a", "a, b and c")

    def test_an_outcome_knows_its_state(self) -> None:
        assert [one.state for one in (Met(), Broken("x"), Undecided("x"), Ahead(None))] == [
            "met",
            "broken",
            "undecided",
            "ahead",
        ]


class TestText:
    """Case, spaces and the form of an apostrophe do not make another place."""

    @pytest.mark.parametrize(
        "said", ["Prince George's", "prince george\u2019s", " Prince  George's ", "PRINCE GEORGE\u02bcS"]
    )
    def test_a_county_is_the_same_however_it_is_typed(self, said: str) -> None:
        test = Compare(FACTS["shop.county"], "is", "Prince George's")
        assert test.decide({"shop": {"county": said}}, {}) is True

    def test_another_county_is_another(self) -> None:
        test = Compare(FACTS["shop.county"], "is", "Prince George's")
        assert test.decide({"shop": {"county": "Prince Georges"}}, {}) is False
