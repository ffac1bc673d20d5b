"""Parts, pieces of a lot and marks that cover only one of them; what is still owed where a mark is not true."""

from typing import ClassVar

from ledger.assay.assessments import Interval
from ledger.assay.weighing import weigh_item
from tests.assay_samples import Document, assess, dense, filed, owed, xrf, xrf_of

GOLD_14: dict[str, float] = {"Au": 584, "Ag": 119, "Cu": 257, "Zn": 40}
GOLD_18: dict[str, float] = {"Au": 750, "Ag": 125, "Cu": 125}
STEEL: dict[str, float] = {"Fe": 710, "Cr": 180, "Ni": 110}


def at(part: str, elements: dict[str, float], member: str = "part") -> Document:
    """One reading that names its part, or its spot."""
    document = xrf_of(elements)
    document["readings"][0][member] = part
    return document


class TestMarksOfParts:
    """A stamp covers the part that it is on. Source: 16 CFR 23.3 and its notes; the rule itself is the project's."""

    MARKS = (("18K", "clasp"), ("14K", "chain"))

    def test_two_karats_on_two_parts_that_read_so_are_no_conflict(self) -> None:
        chain = assess(at("clasp", GOLD_18), at("chain", GOLD_14), marks=list(self.MARKS), grams=21.0)
        assert chain.construction == "mixed-parts"
        assert chain.conflicts == ()
        assert "marks-of-parts" in chain.rules
        assert {part.part: part.standing for part in chain.parts} == {"clasp": "not-known", "chain": "not-known"}

    def test_two_karats_on_parts_that_read_alike_are_one(self) -> None:
        chain = assess(at("clasp", GOLD_14), at("chain", GOLD_14), marks=list(self.MARKS), grams=21.0)
        assert "Marks differ" in chain.conflicts[0].what

    def test_a_mark_of_no_place_and_two_marks_of_one_part_stay_a_conflict(self) -> None:
        readings = at("clasp", GOLD_18), at("chain", GOLD_14)
        for marks in ([("18K", "clasp"), ("14K", "")], [("18K", "clasp"), ("14K", "clasp")]):
            assert "Marks differ" in assess(*readings, marks=marks, grams=21.0).conflicts[0].what


class TestMagnetAtAPart:
    """A pull where base metal was read is that base metal's."""

    PULL: ClassVar[Document] = {"test": "magnet", "pull": "weak", "part": "back"}

    def test_a_weak_pull_at_a_steel_back_asks_for_the_parts_alone(self) -> None:
        case = assess(at("bezel", GOLD_14), at("back", STEEL), self.PULL, marks=[("14K", "bezel")], grams=30.0)
        assert (case.construction, owed(case)) == ("mixed-parts", ["separate-parts"])
        assert case.payable is None

    def test_a_weak_pull_at_a_part_that_reads_as_gold_still_forbids_solid(self) -> None:
        locket = assess(at("back", GOLD_14), self.PULL, dense(10.0, 13.1), marks="14K", grams=10.0)
        assert (locket.construction, "magnet-body" in locket.rules) == ("undetermined", True)


class TestLots:
    """Pieces that differ are sorted or melted: the project's own choice."""

    LOT: ClassVar[Document] = {
        "kind": "lot",
        "pieces": 14,
        "marks": [{"text": "14K"}, {"text": "10K"}],
        "weighings": [{"what": "gross", "value": "38.4", "unit": "g"}],
        "evidence": [
            at("a", GOLD_14, "spot"),
            at("b", {"Au": 417, "Ag": 110, "Cu": 405, "Zn": 68}, "spot"),
            at("c", {"Au": 41, "Cu": 670, "Zn": 289}, "spot"),
        ],
    }

    def test_pieces_that_differ_are_neither_plated_nor_contrary_together(self) -> None:
        lot = weigh_item(self.LOT)
        assert (lot.construction, lot.standing, lot.payable) == ("mixed-parts", "not-known", None)
        assert (owed(lot), lot.conflicts) == (["separate-parts", "melt-assay"], ())
        assert [(part.part, part.construction) for part in lot.parts] == [
            ("a", "undetermined"),
            ("b", "undetermined"),
            ("c", "plated"),
        ]

    def test_a_mark_of_a_chain_is_not_of_the_piece_called_a(self) -> None:
        def of_a(where: str) -> str:
            lot = weigh_item({**self.LOT, "marks": [{"text": "18K", "where": where}]})
            return {part.part: part.standing for part in lot.parts}["a"]

        assert (of_a("chain"), of_a("piece a")) == ("no-claim", "below")

    def test_one_filed_piece_shows_nothing_of_the_others(self) -> None:
        pieces = [at("a", GOLD_14, "spot"), at("b", GOLD_14, "spot")]
        lot = weigh_item({**self.LOT, "marks": [{"text": "14K"}], "evidence": [*pieces, filed("a", **GOLD_14)]})
        assert (lot.construction, "part-not-shown" in lot.rules) == ("undetermined", True)

    def test_a_test_other_than_a_reading_is_of_the_piece_that_its_spot_names(self) -> None:
        pull: Document = {"test": "magnet", "pull": "strong", "spot": "d"}
        lot = weigh_item({**self.LOT, "evidence": [at("a", GOLD_14, "spot"), pull]})
        assert (lot.construction, "magnet-part" in lot.rules) == ("mixed-parts", True)

    def test_a_melt_of_the_lot_is_paid_on(self) -> None:
        melt: Document = {"test": "melt", "metal": "gold", "fineness": "402", "method": "fire-assay"}
        lot = weigh_item({**self.LOT, "evidence": [*self.LOT["evidence"], melt]})
        assert (lot.paid_on, lot.metal) == ("melt", "gold")


class TestVagueReadings:
    """A reading that allows everything shows nothing."""

    def test_an_uncertainty_of_all_there_is_is_no_ground_for_paying(self) -> None:
        vague = {**xrf_of(GOLD_14), "uncertainty": "1000"}
        ring = assess(vague, dense(10.0, 13.1), marks="14K", grams=10.0)
        assert (ring.construction, ring.standing, ring.payable) == ("undetermined", "not-known", None)
        assert owed(ring) == ["xrf"]

    def test_a_reading_finer_than_any_is_given_the_owner_s_own_uncertainty(self) -> None:
        ring = assess({**xrf_of(GOLD_14), "uncertainty": "0.001"}, dense(10.0, 13.1), marks="14K", grams=10.0)
        assert ring.seen == Interval(574_000, 594_000)

    def test_an_assay_that_allows_everything_is_none_and_one_of_nothing_has_the_usual_doubt(self) -> None:
        # Touchstone and fire assay often agree within 5 per thousand: Walchli, Gold Bulletin 14 (1981).
        melt: Document = {"test": "melt", "metal": "gold", "fineness": "584", "method": "fire-assay"}
        vague = assess({**melt, "uncertainty": "900"}, marks="14K", grams=10.0)
        assert (vague.payable, "figure-set-aside" in vague.rules) == (None, True)
        assert assess({**melt, "uncertainty": "0"}, marks="14K", grams=10.0).payable == Interval(579_000, 589_000)

    def test_a_filed_spot_in_per_cent_is_no_layer(self) -> None:
        ring = assess(xrf_of(GOLD_14), filed(Au=58.4, Ag=11.9, Cu=25.7, Zn=4), marks="14K", grams=4.0)
        assert (ring.construction, ring.standing, ring.payable) == ("undetermined", "not-known", None)
        assert "xrf" in owed(ring)


class TestAnotherMetalThanTheMarks:
    """What is there in place of the metal claimed is said, and a melt assay is owed before it is paid."""

    WHITE: ClassVar[dict[str, float]] = {"Au": 750, "Pd": 130, "Cu": 70, "Ag": 50}

    def test_white_gold_stamped_platinum_is_said_to_be_gold(self) -> None:
        ring = assess(xrf_of(self.WHITE), dense(6.0, 15.8), marks="PLAT", grams=6.0, colour="white")
        assert (ring.standing, ring.payable, owed(ring)) == ("contrary", None, ["melt-assay"])
        assert "What was read is gold 740.0 to 760.0 per thousand" in " ".join(reason.text for reason in ring.reasons)
        melt: Document = {"test": "melt", "metal": "gold", "fineness": "750", "method": "fire-assay"}
        melted = assess(xrf_of(self.WHITE), melt, marks="PLAT", grams=6.0, colour="white")
        assert (melted.payable is not None, melted.metal) == (True, "gold")

    def test_silver_stamped_platinum_is_said_to_be_silver_and_owes_nothing(self) -> None:
        ring = assess(xrf(Ag=925, Cu=75), marks="PT950", grams=6.0)
        assert ("other-metal-read" in ring.rules, owed(ring)) == (True, [])

    def test_base_metal_stamped_platinum_owes_nothing(self) -> None:
        assert owed(assess(xrf(Cu=700, Zn=300), marks="PLAT", grams=6.0)) == []
