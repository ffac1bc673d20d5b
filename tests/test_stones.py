"""What stones weigh, by entry or by formula, always shown as an estimate."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay.stones import CARAT_MG, StonesWeight, weigh
from ledger.assay.value import value
from ledger.assay.weighing import weigh_item, weights_of
from ledger.measures import Spot

ROUND = {"count": 1, "shape": "round", "cut": "brilliant", "size": "6.5 x 3.95 mm", "species": "diamond"}


def carats(**stone: Any) -> float:
    """The estimate of one group, in carats."""
    found = weigh([{**ROUND, **stone}])
    assert found.mg is not None
    return found.mg / CARAT_MG


class TestFormulas:
    """Net weight with stones by formula, shown as an estimate."""

    @pytest.mark.parametrize(
        ("shape", "size", "species", "wanted"),
        [
            # Worked examples that dealers print beside their formulas, two decimals of a carat.
            ("round", "6.5 x 3.95 mm", "diamond", 1.02),
            ("round", "6.05 x 6.11 x 3.63 mm", "diamond", 0.82),
            ("round", "7.02 x 7.17 x 4.47 mm", "diamond", 1.37),
            ("round", "10.0 x 10.0 x 6.0 mm", "diamond", 3.66),
            # The published factors on round figures: 5 x 4 x 2 mm and the like, arithmetic.
            ("oval", "5 x 4 x 2 mm", "diamond", 4.5**2 * 2 * 0.0062),
            ("emerald", "6 x 4 x 3 mm", "diamond", 6 * 4 * 3 * 0.0092),
            ("emerald", "7 x 4 x 3 mm", "diamond", 7 * 4 * 3 * 0.0096),
            ("square emerald", "4 x 4 x 3 mm", "diamond", 4 * 4 * 3 * 0.0025 * 3.52),
            ("navette", "8 x 4 x 2 mm", "diamond", 8 * 4 * 2 * 0.00580),
            ("marquise", "16 x 4 x 2 mm", "diamond", 16 * 4 * 2 * 0.00595),
            ("drop", "6 x 5 x 3 mm", "diamond", 6 * 5 * 3 * 0.00615),
            ("heart", "5 x 5 x 3 mm", "diamond", 5 * 5 * 3 * 0.0059),
            ("trillion", "5 x 5 x 3 mm", "diamond", 5 * 5 * 3 * 0.0057),
            ("baguette", "4 x 2 x 1.5 mm", "diamond", 4 * 2 * 1.5 * 0.00915),
            ("round", "6 x 3.6 mm", "Sapphire", 6 * 6 * 3.6 * 4.0 * 0.0018),
            ("oval", "8 x 6 x 4 mm", "amethyst", 7**2 * 4 * 2.65 * 0.0020),
            ("rectangle", "8 x 6 x 4 mm", "citrine", 8 * 6 * 4 * 2.65 * 0.0026),
            ("pear", "8 x 6 x 4 mm", "garnet", 8 * 6 * 4 * 3.84 * 0.0018),
            ("round", "6 x 3.6 mm", "CZ", 6 * 6 * 3.6 * 5.8 * 0.0018),
        ],
    )
    def test_each_shape_has_the_formula_of_the_trade(self, shape: str, size: str, species: str, wanted: float) -> None:
        found = carats(shape=shape, cut="", size=size, species=species)
        assert found == pytest.approx(wanted, abs=0.006)

    def test_a_depth_that_was_not_measured_is_a_usual_one_and_doubles_the_doubt(self) -> None:
        # 58 to 60 per cent of the diameter: as dealers print it.
        (whole,) = (weigh([{**ROUND, "size": "6.5 mm"}]),)
        assert whole.mg is not None
        assert whole.mg / CARAT_MG == pytest.approx(6.5**2 * 3.9 * 0.0061, abs=0.01)
        assert whole.high_mg - whole.mg == pytest.approx(whole.mg * 0.2, abs=1)
        assert "depth taken for a usual one, a fifth off at most" in whole.says[0]
        measured = weigh([ROUND])
        assert measured.mg is not None
        assert measured.high_mg - measured.mg == pytest.approx(measured.mg * 0.1, abs=1)
        assert carats(size="6.5 x 6.4 mm") == pytest.approx(carats(size="6.45 mm"), abs=0.02)

    def test_a_group_weighs_as_often_as_it_has_stones(self) -> None:
        assert carats(count=7) == pytest.approx(7 * carats(), abs=0.02)

    def test_carats_as_entered_are_those_of_the_group(self) -> None:
        entered = weigh([{"count": 3, "carats": "0.50"}])
        assert entered == StonesWeight(100, 100, 100, "entry", ("3 stones: 0.50 ct as entered.",))
        assert weigh([{"count": 3, "carats": "0.50"}, ROUND]).how == "entry and formula"

    @pytest.mark.parametrize(
        ("stone", "why"),
        [
            ({"count": {"not_known": "too many"}}, "the count is not known"),
            ({"species": ""}, "the species is not said"),
            ({"species": "moonstone"}, "the species is not said"),
            ({"shape": "dolphin", "cut": ""}, "no formula is known for the shape"),
            ({"shape": "triangle", "cut": "", "size": "5 x 5 x 3 mm", "species": "ruby"}, "no formula is known"),
            ({"size": ""}, "the size gives no length and width in mm"),
            ({"size": "6.5"}, "the size gives no length"),
            ({"size": "about 6 mm"}, "the size gives no length"),
            ({"size": "1 x 2 x 3 x 4 mm"}, "the size gives no length"),
            ({"size": "0 x 3 mm"}, "the size gives no length"),
            ({"shape": "oval", "cut": "", "size": "6 mm"}, "the size gives no length"),
        ],
    )
    def test_what_cannot_be_estimated_says_why(self, stone: dict[str, Any], why: str) -> None:
        found = weigh([ROUND, {**ROUND, **stone}])
        assert (found.mg, found.how) == (None, "")
        assert why in found.says[1]

    def test_no_stones_weigh_nothing_known(self) -> None:
        assert weigh([]).mg is None

    @given(
        st.fixed_dictionaries(
            {},
            optional={
                "count": st.one_of(st.integers(1, 10_000), st.just({"not_known": "x"})),
                "shape": st.sampled_from(["round", "oval", "emerald", "pear", "marquise", "square", "blob", ""]),
                "cut": st.text(max_size=20),
                "size": st.one_of(
                    st.text(max_size=20), st.from_regex(r"[0-9]{1,3}( x [0-9]{1,2}){0,2} mm", fullmatch=True)
                ),
                "species": st.sampled_from(["diamond", "ruby", "glass", "pearl", "hope", ""]),
                "carats": st.just("1.25"),
            },
        )
    )
    def test_any_stone_gives_a_weight_or_a_reason(self, stone: dict[str, Any]) -> None:
        found = weigh([stone])
        assert found.says[0].endswith(".")
        if found.mg is not None:
            assert found.low_mg <= found.mg <= found.high_mg
        else:
            assert "not estimated" in found.says[0]


RING: dict[str, Any] = {
    "marks": [{"text": "14K"}],
    "weighings": [{"what": "gross", "value": "5.00", "unit": "g", "paid_on": True}],
    "stones": [ROUND],
    "evidence": [{"test": "filed-xrf", "unit": "per-mille", "readings": [{"elements": {"Au": "584", "Cu": "416"}}]}],
}


class TestNet:
    """Gross less the stones is net, and an estimate stays one."""

    def test_unweighed_stones_are_taken_off_by_their_size(self) -> None:
        weights = weights_of(RING)
        assert (weights.gross_mg, weights.stones_mg, weights.net_mg) == (5_000, 204, 4_796)
        weighed = {**RING, "weighings": [*RING["weighings"], {"what": "stones", "value": "0.30", "unit": "g"}]}
        assert (weights_of(weighed).net_mg, weights_of(weighed).estimate) == (4_700, None)

    def test_the_assessment_says_that_the_weight_is_an_estimate(self) -> None:
        assessment = weigh_item(RING)
        (said,) = [reason.text for reason in assessment.reasons if reason.rule == "stones-estimated"]
        assert said.endswith("Together 0.183 to 0.224 g: the net weight is an estimate.")
        assert (assessment.paid_weight_mg, assessment.weight_off_mg) == (4_796, 21)
        assert assessment.record()["weight_off_mg"] == 21

    def test_the_fine_weight_is_as_wide_as_the_estimate(self) -> None:
        spot = Spot("gold", "USD", "2650.00", "ozt", "price sheet", "2026-11-24T10:00:00-05:00")
        worth = value(weigh_item(RING), {"gold": spot}, {"gold": 900_000})
        assert worth.estimated
        assert worth.record()["estimated"] is True
        assert worth.fine_low_mg == int(Fraction(4_775) * 574_000 / 1_000_000)
        assert worth.fine_high_mg == int(Fraction(4_817) * 594_000 / 1_000_000)
        assert worth.fine_low_mg < (worth.fine_paid_mg or 0) < worth.fine_high_mg

    def test_carats_as_entered_are_no_estimate(self) -> None:
        entered = weigh_item({**RING, "stones": [{"count": 1, "carats": "1.00"}]})
        assert (entered.paid_weight_mg, entered.weight_off_mg) == (4_800, 0)
        assert "stones-estimated" not in entered.rules

    def test_stones_of_five_carats_weigh_a_gram(self) -> None:
        # The carat is 0.2 g: 16 CFR 23, note on weights of stones.
        assert weights_of({**RING, "stones": [{"count": 4, "carats": "5.00"}]}).net_mg == 4_000

    def test_stones_that_would_outweigh_the_article_are_not_believed(self) -> None:
        assert weights_of({**RING, "stones": [{**ROUND, "size": "40 x 30 mm"}]}).net_mg is None
        assert weights_of({**RING, "stones": {"not_known": "set in a closed back"}}).net_mg is None
