"""What a cheat would try at the counter, and slips of the pen that help him: none makes an article solid or payable."""

import pytest

from ledger.assay.assessments import Assessment
from ledger.assay.weighing import weigh_item
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf

GOLD_14 = xrf(Au=584, Ag=119, Cu=257, Zn=40)
CLASP_14 = xrf(part="clasp", Au=584, Ag=119, Cu=257, Zn=40)
CLASP_FILED = filed(part="clasp", Au=584, Ag=119, Cu=257, Zn=40)
BRASS = xrf(Cu=700, Zn=300)
SOUND = [GOLD_14, dense(10.0, 13.1)]


def rules(assessment: Assessment) -> set[str]:
    """Names of the rules that spoke."""
    return set(assessment.rules)


def refused(assessment: Assessment) -> bool:
    """Neither solid nor anything to pay on."""
    return assessment.construction != "solid" and assessment.payable is None


def of_a_slip(*evidence: Document, stamp: str = "14K", **weights: str) -> Assessment:
    """An article as a slip holds it, by its weighings in grams."""
    weighings = [{"what": what, "value": grams, "unit": "g"} for what, grams in weights.items()]
    return weigh_item({"marks": [{"text": stamp}], "weighings": weighings, "evidence": list(evidence)})


class TestOneGoodSpot:
    """A stamp covers the part that it is on, and so does a test."""

    @pytest.mark.parametrize(
        "below",
        [CLASP_FILED, dense(4.0, 13.1, part="clasp"), streak(14, "holds", "deep", part="clasp")],
    )
    def test_a_clasp_clears_no_chain_that_was_not_tested(self, below: Document) -> None:
        chain = assess(CLASP_14, below, marks=[("14K", "clasp")], grams=100.0)
        assert refused(chain)
        assert "nothing yet speaks of the rest" in " ".join(reason.text for reason in chain.reasons)

    def test_a_density_of_the_whole_clears_it(self) -> None:
        chain = assess(CLASP_14, dense(100.0, 13.1), marks="14K", grams=100.0)
        assert chain.construction == "solid"


class TestMarksThatBoast:
    """A mark of a layer is believed because it speaks against its article; one that speaks for it is not."""

    def test_a_share_beyond_those_of_the_trade_pays_nothing(self) -> None:
        # The heaviest layers are 1/8, on watch cases: common practice, no published source.
        boast = assess(marks="9/10 18K GF", grams=50.0)
        assert refused(boast)
        assert owed(boast) == ["melt-assay"]
        case = assess(marks="1/8 14K GF", grams=50.0)
        assert case.payable is not None

    def test_a_layer_that_no_reading_shows_pays_nothing(self) -> None:
        brass = assess(BRASS, dense(50.0, 8.5), marks="1/20 14K GF", grams=50.0)
        assert refused(brass)
        assert (brass.standing, "layer-not-read" in rules(brass)) == ("not-known", True)


class TestWeights:
    """What is weighed apart cannot weigh more than the whole."""

    def test_a_net_weight_above_the_gross_one_is_a_conflict(self) -> None:
        ring = of_a_slip(GOLD_14, dense(5.0, 13.1), gross="5.00", net="50.00")
        assert refused(ring)
        assert ("net" in ring.conflicts[0].what, owed(ring)) == (True, ["weigh"])

    def test_a_shell_that_outweighs_its_article_is_a_conflict(self) -> None:
        shell = {"test": "stripped", "who": "shop", "shell": "500", "unit": "g"}
        stick = of_a_slip(xrf(Ag=925, Cu=75), shell, stamp="STERLING WEIGHTED", gross="274")
        assert (stick.payable, owed(stick)) == (None, ["strip"])

    def test_a_melt_that_outweighs_its_article_is_paid_on_the_article(self) -> None:
        melt = {
            "test": "melt",
            "metal": "gold",
            "fineness": "583",
            "method": "fire-assay",
            "unit": "g",
            "after": "1000",
        }
        ring = of_a_slip(melt, gross="10.00")
        assert (ring.paid_weight_mg, "melt-above-weight" in rules(ring)) == (10_000, True)
        assert any(not conflict.settled_by for conflict in ring.conflicts)
        unweighed = of_a_slip(melt)
        assert unweighed.paid_weight_mg == 1_000_000

    def test_a_density_that_was_entered_twice_is_not_two_halves(self) -> None:
        half = dense(10.0, 13.1)
        assert refused(of_a_slip(GOLD_14, half, half, gross="20.00"))
        other = {**half, "spot": "the other half"}
        assert of_a_slip(GOLD_14, half, other, gross="20.00").construction == "solid"

    def test_stones_that_only_the_density_knows_of_make_no_gold(self) -> None:
        """20 g with the density of brass read as 14 karat once 2.6 g of quartz are said to be in it."""
        stones = {"weight": "2.60", "unit": "g", "density": "2.65"}
        weighing = {
            "test": "density",
            "unit": "g",
            "air": "20.00",
            "water": "17.70",
            "interval": "0.01",
            "stones": stones,
        }
        ring = of_a_slip(GOLD_14, weighing, gross="20.00")
        assert refused(ring)
        assert "density-of-other-stones" in rules(ring)


class TestReadings:
    """What a reading cannot know it does not say."""

    def test_what_shines_through_thick_rhodium_is_too_little(self) -> None:
        ring = assess(xrf(Rh=900, Au=75, Pd=13, Cu=7, Ag=5), dense(10.0, 16.0), marks="18K", grams=10.0)
        assert refused(ring)
        assert owed(ring) == ["filed-xrf"]

    def test_one_element_of_a_filed_spot_is_not_the_metal(self) -> None:
        assert refused(assess(filed(Au=584), marks="14K", grams=10.0))

    def test_per_cent_for_per_thousand_is_no_accusation(self) -> None:
        ring = assess(xrf(Au=58.4, Ag=11.9, Cu=25.7, Zn=4), dense(10.0, 13.1), marks="14K", grams=10.0)
        assert (ring.construction, ring.standing, owed(ring)[0]) == ("undetermined", "not-known", "xrf")

    def test_brass_in_per_cent_is_not_called_base(self) -> None:
        assert assess(xrf(Cu=70, Zn=30), marks="14K", grams=10.0).construction == "undetermined"

    def test_nothing_is_good_to_nothing(self) -> None:
        certain = GOLD_14 | {"uncertainty": "0"}
        ring = assess(certain, dense(4.0, 13.1), marks="14K", grams=4.0)
        assert ring.seen is not None
        assert (ring.seen.low_ppm, ring.seen.high_ppm) == (574_000, 594_000)

    def test_a_scale_without_a_step_has_the_owner_s(self) -> None:
        exact = dense(10.0, 13.1) | {"interval": "0"}
        assert assess(GOLD_14, exact).bars == assess(GOLD_14, dense(10.0, 13.1)).bars


class TestOtherTests:
    """Letters inside a word are no part, and a metal that acid leaves alone is no gold."""

    def test_a_locket_is_no_lock(self) -> None:
        locket = assess(*SOUND, {"test": "magnet", "pull": "strong", "part": "locket"}, marks="14K", grams=10.0)
        assert refused(locket)
        clasps = assess(*SOUND, {"test": "magnet", "pull": "strong", "part": "both clasps"}, marks="14K", grams=10.0)
        assert clasps.construction == "solid"

    def test_metal_of_no_said_colour_that_acid_leaves_alone_may_be_steel(self) -> None:
        deep = streak(18, "holds", "deep")
        assert refused(assess(deep, grams=10.0))
        assert assess(deep, grams=10.0, colour="yellow").construction == "solid"

    def test_a_conductance_that_showed_a_core_is_not_owed_again(self) -> None:
        coil = {
            "test": "conductance",
            "readings": [{"kilohertz": "60", "iacs": "52"}, {"kilohertz": "480", "iacs": "77"}],
        }
        bar = assess(xrf(Au=1000), dense(31.1, 19.26), coil, marks="999.9", grams=31.1)
        assert (owed(bar), bar.suspicions) == (["ultrasound-or-drill"], ("dense-core",))
        assert "52.0" in " ".join(reason.text for reason in bar.reasons)

    def test_vermeil_owes_the_filed_spot_that_shows_its_silver(self) -> None:
        gilt = xrf(Au=467, Ag=522, Cu=11)
        spoon = assess(gilt, dense(10.0, 10.4), marks="925 VERMEIL", grams=10.0)
        assert (spoon.payable, owed(spoon)) == (None, ["filed-xrf"])
        shown = assess(gilt, filed(Ag=925, Cu=75), marks="925 VERMEIL", grams=10.0)
        assert (shown.metal, shown.payable is not None, owed(shown)) == ("silver", True, [])

    def test_a_worn_mark_of_any_karat_asks_for_none(self) -> None:
        ring = assess(xrf(Au=418, Ag=110, Cu=404, Zn=68), streak(14, "gone"), marks="1?K", grams=2.1)
        assert "acid-below-mark" not in rules(ring)
