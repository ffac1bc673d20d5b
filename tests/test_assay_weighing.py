"""How the tests of one article are put together: the articles a shop meets, its parts, items and records."""

from typing import Any

import pytest

from ledger.assay.assessments import Interval
from ledger.assay.evidence import read
from ledger.assay.weighing import weigh, weigh_item, weights_of
from ledger.errors import InputError
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
STERLING = xrf(Ag=925, Cu=75)
FINE = xrf(Au=1000)


class TestAShopsArticles:
    """What the counter meets: each is judged, and what is paid for is what was shown."""

    def test_a_solid_ring_with_agreeing_tests(self) -> None:
        ring = assess(GOLD_14, streak(14, "holds"), dense(4.2, 13.1), marks="14K", grams=4.2)
        assert (ring.construction, ring.standing, ring.confidence) == ("solid", "as-claimed", "shown")
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(574_000, 594_000), 583_333)
        assert ring.owed == ()

    def test_a_gilt_goblet_is_silver_under_gold(self) -> None:
        # 2.5 micrometres of fine gold over sterling, and the sterling in the notch.
        goblet = assess(xrf("bowl", Au=985, Ag=15), filed(Ag=925, Cu=75), marks="925", grams=210.0)
        assert (goblet.construction, goblet.metal, goblet.standing) == ("plated", "silver", "as-claimed")
        assert goblet.payable == Interval(915_000, 935_000)
        assert "filed-differs" in goblet.rules

    def test_the_goblet_before_the_notch_owes_it(self) -> None:
        goblet = assess(xrf("bowl", Au=985, Ag=15), marks="925", grams=210.0)
        assert (goblet.construction, goblet.standing, goblet.payable) == ("undetermined", "not-known", None)
        assert owed(goblet) == ["filed-xrf"]
        assert owed(assess(xrf(Au=467, Ag=521, Cu=12), marks="14K", grams=30.0)) == ["filed-xrf"]
        assert owed(assess(xrf(Ag=788, Au=166, Cu=46), marks="925", grams=30.0)) == ["filed-xrf"]

    def test_a_hollow_bangle_is_settled_by_weighing_again(self) -> None:
        wet = dense(12.0, 9.6, air_after="12.320")
        dry = dense(12.0, 13.0)
        hollow = {"test": "visual", "shows": ["hollow"]}
        first = assess(GOLD_14, wet, hollow, marks="14K", grams=12.0)
        assert (first.construction, first.payable, owed(first)) == ("weighted-or-hollow", None, ["density"])
        again = assess(GOLD_14, wet, dry, hollow, marks="14K", grams=12.0)
        assert (again.construction, again.standing) == ("weighted-or-hollow", "as-claimed")
        assert again.payable == Interval(574_000, 594_000)
        assert [conflict.settled_by for conflict in again.conflicts] == ["weighed again: 13.00 g/cm³"]
        assert "0.320 g of water got in" in again.conflicts[0].what

    def test_a_declared_gold_filled_locket_is_worth_its_share_at_most(self) -> None:
        locket = assess(GOLD_14, dense(9.0, 8.7), marks="1/20 14K GF", grams=9.0)
        assert (locket.construction, locket.confidence, locket.standing) == ("layered", "declared", "as-claimed")
        assert locket.payable == Interval(0, 29_166)
        assert (locket.upper_bound, locket.paid_fineness_ppm) == (True, 29_166)

    def test_a_platinum_cobalt_band_that_a_magnet_pulls_is_platinum(self) -> None:
        pull = {"test": "magnet", "pull": "strong"}
        band = assess(xrf(Pt=950, Co=50), dense(9.0, 20.1), pull, marks="PT950", grams=9.0)
        assert (band.construction, band.standing, band.suspicions) == ("solid", "as-claimed", ())
        assert "platinum-cobalt" in band.rules

    def test_an_18_k_stamp_that_assays_16_k_is_below_its_mark(self) -> None:
        ring = assess(xrf(Au=667, Ag=150, Cu=183), dense(7.0, 14.2), marks="18K", grams=7.0)
        assert (ring.construction, ring.standing) == ("solid", "below")
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(657_000, 677_000), 657_000)
        assert owed(ring) == ["melt-assay"]

    def test_weighted_candlesticks_pay_on_the_shell_alone(self) -> None:
        whole = assess(STERLING, marks="STERLING WEIGHTED", grams=274.0)
        assert (whole.construction, whole.payable, owed(whole)) == ("weighted-or-hollow", None, ["strip"])
        # 10.4 % of gross was silver in one published account of a stripped piece.
        stripped = {"test": "stripped", "who": "seller", "shell": "28.5", "unit": "g"}
        shell = assess(STERLING, stripped, marks="STERLING WEIGHTED", grams=274.0)
        assert (shell.paid_on, shell.paid_weight_mg) == ("shell", 28_500)
        assert (shell.standing, shell.paid_fineness_ppm) == ("as-claimed", 925_000)

    def test_coins_of_fine_gold_need_more_than_a_density(self) -> None:
        coin = assess(FINE, dense(31.1, 19.25), marks="999.9", grams=31.1)
        assert (coin.construction, owed(coin)) == ("undetermined", ["conductance-or-ultrasound"])
        light = assess(FINE, dense(7.98, 19.2), marks="999.9", grams=7.98)
        assert light.construction == "solid"

    def test_a_bag_of_broken_chain_is_paid_by_its_melt(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "571.0", "method": "pin", "uncertainty": "2.0"}
        lot = assess(GOLD_14, {**melt, "before": "61.2", "after": "60.9", "unit": "g"}, marks="14K", grams=61.2)
        assert (lot.paid_on, lot.paid_weight_mg, lot.paid_fineness_ppm) == ("melt", 60_900, 571_000)
        assert lot.payable == Interval(569_000, 573_000)
        assert lot.conflicts[0].settled_by.startswith("the melt assay")
        assert owed(lot) == []


CLASP, CHAIN = xrf(part="clasp", Au=583, Ag=118, Cu=299), xrf(part="chain", Au=41, Ag=1, Cu=670, Zn=288)


class TestParts:
    """A test that names a part speaks of that part; parts that differ are seen each by itself."""

    def test_each_part_of_a_mixed_article_is_judged_by_its_own_tests_and_marks(self) -> None:
        chain = assess(CLASP, CHAIN, filed("clasp", Au=582, Cu=418), marks=[("14K", "clasp")], grams=15.0)
        assert (chain.construction, chain.payable) == ("mixed-parts", None)
        by_name = {part.part: part for part in chain.parts}
        assert (by_name["clasp"].construction, by_name["clasp"].standing) == ("solid", "as-claimed")
        assert (by_name["chain"].construction, by_name["chain"].standing) == ("plated", "no-claim")
        assert by_name["clasp"].words() == "clasp: solid, gold 572.0 to 592.0 per thousand where tested"
        assert chain.record()["parts"][1] == {
            "part": "clasp",
            "construction": "solid",
            "confidence": "shown",
            "standing": "as-claimed",
            "owed": ["weigh"],
            "metal": "gold",
            "seen": {"low_ppm": 572_000, "high_ppm": 592_000},
        }

    def test_a_mark_covers_the_part_that_it_names_or_stands_on(self) -> None:
        for mark in (("14K", "Clasp"), ("14K", "on the clasp"), ("14K CLASP", "")):
            parts = {part.part: part for part in assess(CLASP, CHAIN, marks=[mark], grams=15.0).parts}
            assert (parts["chain"].standing, parts["clasp"].standing) == ("no-claim", "not-known")

    def test_a_part_of_which_nothing_fine_is_known_says_so(self) -> None:
        pull = {"test": "magnet", "pull": "strong", "part": "blade"}
        knife = assess(STERLING, pull, marks="STERLING HANDLE", grams=75.0)
        blade = next(part for part in knife.parts if part.part == "blade")
        assert (blade.construction, blade.metal) == ("undetermined", None)
        assert blade.words() == "blade: construction undetermined"
        assert "seen" not in blade.record()
        rest = next(part for part in knife.parts if not part.part)
        assert rest.words().startswith("body: ")

    def test_an_article_of_one_metal_has_no_parts_by_themselves(self) -> None:
        assert assess(CLASP, xrf(part="chain", Au=585, Cu=415), marks="14K", grams=9.0).parts == ()

    @pytest.mark.parametrize(
        "below",
        [
            filed("clasp", Au=584, Cu=416),
            filed(Au=584, Cu=416),
            streak(14, "holds", "deep", part="clasp"),
            {"test": "cut", "shows": "one-metal", "part": "clasp"},
        ],
    )
    def test_what_is_below_the_clasp_says_nothing_of_the_chain(self, below: Document) -> None:
        both = CLASP, xrf(part="chain", Au=585, Ag=118, Cu=297)
        chain = assess(*both, below, marks="14K", grams=9.0)
        assert (chain.construction, chain.payable) == ("undetermined", None)
        # A density of the whole speaks of both.
        assert assess(*both, below, dense(9.0, 13.1), marks="14K", grams=9.0).construction == "solid"

    def test_an_acid_that_shows_silver_where_the_reading_shows_gold_is_a_conflict(self) -> None:
        rub = {"test": "silver-streak", "colour": "dark-red", "depth": "light"}
        goblet = assess(GOLD_14, rub, dense(8.0, 13.1), marks="750", grams=8.0)
        assert goblet.construction == "undetermined"
        assert "though the reading shows gold" in goblet.conflicts[0].what

    def test_acids_for_two_metals_and_no_reading_leave_the_metal_open(self) -> None:
        silver = {"test": "silver-streak", "colour": "bright-red", "depth": "light"}
        shell = {"test": "stripped", "who": "shop", "shell": "58.5", "unit": "g"}
        marks = [("STERLING WEIGHTED", ""), ("14K", "clasp")]
        before = assess(silver, shell, marks=marks, grams=300.0)
        assert (before.metal, before.payable is None) == ("silver", False)
        after = assess(silver, shell, streak(14, "gone"), marks=marks, grams=300.0)
        assert (after.payable, owed(after)[0]) == (None, "xrf")
        assert any(
            conflict.what.startswith("Streaks under acids for gold and for silver") for conflict in after.conflicts
        )

    def test_an_acid_that_shows_no_silver_makes_no_silver_of_its_mark(self) -> None:
        spoon = assess({"test": "silver-streak", "colour": "blue", "depth": "deep"}, marks="STERLING", grams=40.0)
        assert (spoon.metal, spoon.seen, spoon.payable) == (None, None, None)

    def test_a_deep_rub_of_the_handle_under_the_acid_for_silver_says_nothing_of_the_foot(self) -> None:
        both = xrf(part="handle", Ag=925, Cu=75), xrf(part="foot", Ag=925, Cu=75)
        rub = {"test": "silver-streak", "colour": "dark-red", "depth": "deep", "part": "handle"}
        assert assess(*both, rub, marks="STERLING", grams=90.0).construction == "undetermined"
        assert assess(*both, rub, rub | {"part": "foot"}, marks="STERLING", grams=90.0).construction == "solid"

    def test_a_notch_in_the_clasp_says_nothing_of_readings_that_name_no_part(self) -> None:
        chain = assess(GOLD_14, filed("clasp", Au=584, Cu=416), marks="14K", grams=9.0)
        assert (chain.construction, chain.payable) == ("undetermined", None)
        said = [reason.text for reason in chain.reasons if reason.rule == "part-not-shown"]
        assert said == ["What was tested below the surface is the clasp; nothing yet speaks of the rest."]
        assert assess(GOLD_14, filed(Au=584, Cu=416), marks="14K", grams=9.0).construction == "solid"

    def test_a_notch_that_reads_finer_than_the_mark_is_no_enriched_surface(self) -> None:
        chain = assess(filed("clasp", Au=620, Cu=380), xrf(part="chain", Au=600, Cu=400), marks="14K", grams=9.0)
        assert chain.suspicions == ()

    def test_every_part_shown_by_itself_shows_the_whole(self) -> None:
        both = CLASP, xrf(part="chain", Au=585, Cu=415)
        below = filed("clasp", Au=584, Cu=416), streak(14, "holds", "deep", part="chain")
        chain = assess(*both, *below, marks="14K", grams=9.0)
        assert (chain.construction, chain.confidence_rule) == ("solid", "deep-streak-holds")

    def test_a_filed_part_is_read_by_its_notch_and_another_by_its_surface(self) -> None:
        both = xrf(part="clasp", Au=750, Cu=250), xrf(part="chain", Au=585, Cu=415)
        chain = assess(*both, filed("clasp", Au=584, Cu=416), marks="14K", grams=9.0)
        assert chain.seen == Interval(575_000, 594_000)


class TestNothing:
    """Every input may be missing."""

    def test_nothing_at_all_gives_reasons_and_tests_owed(self) -> None:
        nothing = weigh(())
        assert (nothing.construction, nothing.standing, nothing.confidence) == ("undetermined", "no-claim", "open")
        assert owed(nothing) == ["weigh", "xrf", "density"]
        assert nothing.rules == ("no-mark", "no-evidence")
        assert nothing.headline() == (
            "Construction undetermined, open; fineness not shown; no mark of fineness; still owed: the weight."
        )

    def test_a_mark_alone_is_no_evidence(self) -> None:
        assert assess(marks="14K", grams=4.0).standing == "not-known"

    def test_gross_less_stones_is_net_and_never_below_nothing(self) -> None:
        tests = read([filed(Au=584, Cu=416)])
        assert weigh(tests, gross_mg=5_000, stones_mg=1_000).paid_weight_mg == 4_000
        assert weigh(tests, gross_mg=5_000, stones_mg=9_000).paid_weight_mg == 0
        assert weigh(tests, gross_mg=5_000, stone_set=True).paid_weight_mg is None


ITEM: dict[str, Any] = {
    "marks": [{"text": "14K", "where": "inside"}],
    "metal_colour": "yellow",
    "stones": [],
    "weighings": [{"what": "gross", "value": "4.20", "unit": "g", "paid_on": True}],
    "evidence": [GOLD_14, dense(4.2, 13.1)],
    "consent": "given",
}


class TestItems:
    """An item of a slip, or a document with the same members."""

    def test_an_item_is_weighed_as_it_stands(self) -> None:
        ring = weigh_item(ITEM, program="counterfoil 0.1.0")
        assert (ring.construction, ring.paid_weight_mg, ring.program) == ("solid", 4_200, "counterfoil 0.1.0")
        assert ring.claims[0].where == "inside"

    def test_what_is_not_known_is_missing_and_no_error(self) -> None:
        unknown = {"not_known": "worn away"}
        ring = weigh_item({"marks": unknown, "stones": unknown, "weighings": [], "metal_colour": unknown})
        assert (ring.standing, ring.construction) == ("no-claim", "undetermined")

    def test_an_item_says_where_it_was_made_and_what_the_seller_answered(self) -> None:
        made = {"country": "US", "from": "1990"}
        ring = weigh_item({**ITEM, "evidence": [], "made": made, "consent": "refused"})
        assert ring.claims[0].tolerance_most_ppm == ring.claims[0].tolerance_ppm
        assert weigh_item({**ITEM, "made": {"not_known": "no papers"}}).claims[0].tolerance_most_ppm > 3_000
        below = weigh_item({**ITEM, "evidence": [GOLD_14, dense(4.2, 8.7)], "consent": "refused"})
        assert [each.agreed for each in below.owed] == [False]
        with pytest.raises(InputError, match="made"):
            weigh_item({**ITEM, "made": "long ago"})

    def test_of_several_weighings_the_one_paid_on_counts(self) -> None:
        weighings = [
            {"what": "gross", "value": "4.20", "unit": "g", "paid_on": True},
            {"what": "gross", "value": "9.99", "unit": "g"},
            {"what": "stones", "value": "1.00", "unit": "ct"},
            {"what": "foreign", "value": "0.10", "unit": "g"},
        ]
        weights = weights_of({"weighings": weighings})
        assert (weights.gross_mg, weights.stones_mg, weights.net_mg) == (4_200, 200, 3_900)
        assert weights_of({"weighings": weighings[:1], "stones": [{"count": 1}]}).net_mg is None
        net = [*weighings, {"what": "net", "value": "3.85", "unit": "g"}]
        assert weights_of({"weighings": net}).net_mg == 3_850

    @pytest.mark.parametrize(
        ("item", "field"),
        [
            ({"marks": "14K"}, "item.marks"),
            ({"weighings": [4.2]}, "item.weighings"),
            ({"weighings": [{"what": "gross", "value": "4.2", "unit": "oz"}]}, "item.weighings[0].unit"),
            ({"evidence": [{"test": "x"}]}, "item.evidence[0].test"),
        ],
    )
    def test_a_member_that_cannot_be_read_is_named(self, item: dict[str, Any], field: str) -> None:
        with pytest.raises(InputError) as caught:
            weigh_item(item)
        assert caught.value.field == field


class TestRecord:
    """An assessment as parts of the book hold it."""

    def test_a_record_names_rules_policy_and_program(self) -> None:
        record = assess(GOLD_14, dense(4.2, 13.1), marks="14K", grams=4.2, program="counterfoil 0.1.0").record()
        assert record["program"] == "counterfoil 0.1.0"
        assert record["payable"] == {"low_ppm": 574_000, "high_ppm": 594_000, "upper_bound": False, "on": "net"}
        assert (record["paid_weight_mg"], record["paid_fineness_ppm"]) == (4_200, 583_333)
        assert {reason["rule"] for reason in record["reasons"]} == set(record["rules"])
        assert record["policy"]["density_limit_mg"] == 3_000
        assert record["claim"]["text"] == "14K"

    def test_a_settled_conflict_says_by_what(self) -> None:
        record = assess(xrf(Ag=950, Cu=50), filed(Ag=922, Cu=78), marks="STERLING").record()
        assert record["conflicts"][0]["settled_by"] == "the filed spot"
        assert "metal" in record

    def test_what_is_not_there_is_left_out(self) -> None:
        record = assess(marks="QZX").record()
        assert record["standing"] == "no-claim"
        assert not {"metal", "seen", "claim", "payable", "paid_weight_mg"} & record.keys()

    def test_a_bar_of_a_part_names_it(self) -> None:
        record = assess(xrf(part="clasp", Au=584, Cu=416)).record()
        assert record["bars"][0]["part"] == "clasp"
