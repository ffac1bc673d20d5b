"""A melt lot's assay against what had been thought of the goods in it."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay.assessments import Interval
from ledger.assay.melts import Assayed, Comparison, Thought, compare
from ledger.errors import InputError
from tests.assay_samples import Document, assess, filed, xrf

RINGS = [Thought("item 1/1", 10_000, 574_000, 594_000, 583_333), Thought("item 2/1", 5_000, 741_000, 759_000, 750_000)]


def assayed(fineness_ppm: int, after_mg: int = 15_000, u_ppm: int = 1_000) -> Comparison:
    """The comparison of the two rings with an assay."""
    return compare(RINGS, Assayed("gold", fineness_ppm, u_ppm, 15_000, after_mg))


class TestCompare:
    """A melt lot's pin assay overrules and is compared with what had been thought."""

    def test_the_figures_are_those_worked_by_hand(self) -> None:
        found = assayed(640_000, after_mg=14_950)
        # 10 g x 583.333 + 5 g x 750 = 9.58333 g in 15 g, 638.888 per thousand; 14.950 g x 640 = 9.568 g.
        assert (found.paid_mg, found.thought_ppm) == (9_583, 638_888)
        assert (found.thought_low_mg, found.thought_high_mg) == (9_445, 9_735)
        assert (found.found_low_mg, found.found_mg, found.found_high_mg) == (9_553, 9_568, 9_583)
        assert (found.lost_mg, found.difference_mg, found.verdict) == (50, -15, "as-thought")

    @pytest.mark.parametrize(("ppm", "verdict"), [(600_000, "less"), (640_000, "as-thought"), (700_000, "more")])
    def test_a_lot_is_as_thought_less_or_more(self, ppm: int, verdict: str) -> None:
        assert assayed(ppm).verdict == verdict
        assert assayed(ppm).says.endswith({"as-thought": ": as thought."}.get(verdict, f": {verdict} than thought."))

    def test_a_record_holds_every_figure(self) -> None:
        record = assayed(600_000).record()
        assert record["difference_mg"] == -583
        assert record["verdict"] == "less"
        assert set(Comparison.__dataclass_fields__) < set(record)

    def test_a_melt_that_gained_weight_is_shown_as_it_is(self) -> None:
        assert assayed(640_000, after_mg=15_020).lost_mg == -20

    def test_a_lot_must_hold_something_and_no_more_than_went_in(self) -> None:
        with pytest.raises(InputError, match="at least one article with a weight"):
            compare([], Assayed("gold", 585_000, 1_000, 10_000, 9_990))
        with pytest.raises(InputError, match="no less than the articles in it, 15000 mg"):
            compare(RINGS, Assayed("gold", 585_000, 1_000, 10_000, 9_990))

    @given(
        st.lists(
            st.tuples(st.integers(1, 10**6), st.integers(0, 10**6), st.integers(0, 10**6)), min_size=1, max_size=6
        ),
        st.integers(0, 10**6),
    )
    def test_an_assay_that_finds_what_was_thought_is_as_thought(
        self, lots: list[tuple[int, int, int]], share: int
    ) -> None:
        thoughts = [
            Thought("item", weight, min(a, b), max(a, b), min(a, b) + (max(a, b) - min(a, b)) * share // 10**6)
            for weight, a, b in lots
        ]
        weight = sum(thought.weight_mg for thought in thoughts)
        mean = sum(thought.weight_mg * thought.paid_ppm for thought in thoughts) // weight
        found = compare(thoughts, Assayed("silver", mean, 1, weight, weight))
        assert found.verdict == "as-thought"
        assert found.thought_ppm == mean


NOTCH = filed(Au=584, Ag=119, Cu=297)
PIN: Document = {"test": "melt", "metal": "gold", "fineness": "581", "method": "pin", "uncertainty": "1"}


class TestWeighed:
    """A melt assay among an article's evidence is held against what the other tests had promised."""

    def test_an_assay_that_agrees_says_so(self) -> None:
        lot = assess(NOTCH, {**PIN, "before": "20.00", "after": "19.95", "unit": "g"}, grams=20.0)
        (said,) = [reason.text for reason in lot.reasons if reason.rule == "melt-against-thought"]
        # 19.95 g of 580 to 582; 20 g of 574 to 594 had been thought and the lower end reckoned with.
        assert said == (
            "The assay finds 11.571 to 11.611 g of fine gold; 11.48 to 11.88 g were thought, 11.48 g reckoned with:"
            " as thought."
        )
        assert lot.seen == Interval(580_000, 582_000)

    def test_an_assay_that_does_not_overrules_and_is_a_conflict(self) -> None:
        lot = assess(NOTCH, {**PIN, "fineness": "520"}, grams=20.0)
        assert any("less than thought" in conflict.what and conflict.settled_by for conflict in lot.conflicts)
        assert lot.payable == Interval(519_000, 521_000)

    @pytest.mark.parametrize(
        ("tests", "more"),
        [
            ((), {"grams": 20.0}),
            ((filed(Ag=925, Cu=75),), {"grams": 20.0}),
            ((filed(Au=584, Cu=416),), {}),
            ((xrf(Au=584, Cu=416),), {"grams": 20.0}),
        ],
    )
    def test_where_nothing_had_been_thought_there_is_nothing_to_compare(
        self, tests: tuple[Document, ...], more: dict[str, Any]
    ) -> None:
        assert "melt-against-thought" not in assess(*tests, PIN, **more).rules
