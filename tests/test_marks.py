"""What stamps claim, against statutes and standards where there are any."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay import marks_table
from ledger.assay.marks import Claim, fold, read
from ledger.measures import karat


def one(text: str) -> Claim:
    """The one claim of metal in a stamp."""
    claims = [claim for claim in read(text) if claim.kind == "metal"]
    assert len(claims) == 1, claims
    return claims[0]


class TestLayers:
    """A fraction before a karat mark means gold-filled."""

    @pytest.mark.parametrize(
        ("text", "fraction", "layer_ppm", "whole_ppm"),
        [
            # Share times karat/24: 16 CFR 23.3(c), footnotes; arithmetic to the part per million.
            ("1/20 12K GF", (1, 20), 500_000, 25_000),
            ("1/20 14K GF", (1, 20), 583_333, 29_166),
            ("1/20-12K G.F.", (1, 20), 500_000, 25_000),
            ("1/20 12K", (1, 20), 500_000, 25_000),
            ("1/10 10K", (1, 10), 416_666, 41_666),
            ("1/10 12 KT GF", (1, 10), 500_000, 50_000),
            ("1/30 10K RGP", (1, 30), 416_666, 13_888),
            ("1/40 12K RGP", (1, 40), 500_000, 12_500),
            ("14/20 GF", (1, 20), 583_333, 29_166),
            ("12/20", (1, 20), 500_000, 25_000),
            ("14K 1/20 GF", (1, 20), 583_333, 29_166),
            ("5% BONDED 14K", (5, 100), 583_333, 29_166),
        ],
    )
    def test_a_fraction_is_the_share_of_the_layer(
        self, text: str, fraction: tuple[int, int], layer_ppm: int, whole_ppm: int
    ) -> None:
        claim = one(text)
        assert (claim.metal, claim.construction, claim.fraction) == ("gold", "layered", fraction)
        assert (claim.fineness, claim.at_most_ppm) == (layer_ppm, whole_ppm)

    @pytest.mark.parametrize("text", ["14K GF", "GF 14K", "14KGF", "14 KT G.F.", "GOLD FILLED 14K", "14K ROLLED GOLD"])
    def test_gold_filled_beside_a_karat_makes_it_the_karat_of_a_layer(self, text: str) -> None:
        claim = one(text)
        assert (claim.construction, claim.fineness, claim.fraction) == ("layered", 583_333, None)
        assert claim.at_most_ppm is None

    def test_a_share_without_a_karat_is_a_layer_of_unknown_karat(self) -> None:
        claim = one("1/20")
        assert (claim.construction, claim.fraction, claim.fineness) == ("layered", (1, 20), None)
        assert claim.words() == "gold-filled: a layer of gold, karat not said, 1/20 of the weight"

    def test_a_share_above_the_whole_is_no_share(self) -> None:
        assert [claim.kind for claim in read("20/1 12K")] == ["maker", "metal"]
        assert [claim.kind for claim in read("0% 14K")] == ["maker", "metal"]

    def test_steel_numbers_are_neither_karats_nor_shares(self) -> None:
        assert one("18/10").construction == one("18/8").construction == "base"


class TestPlate:
    """PLUMB against GP: 14KP is solid, 14KGP is plate."""

    @pytest.mark.parametrize("text", ["14KP", "14K PLUMB", "14KPLUMB"])
    def test_a_p_after_the_karat_is_plumb(self, text: str) -> None:
        claim = one(text)
        assert (claim.construction, claim.fineness, claim.note) == (
            "solid",
            583_333,
            "plumb: at least the marked karat",
        )

    @pytest.mark.parametrize(
        "text", ["14KGP", "14K GP", "14K HGE", "14K H.G.E.", "14KGEP", "14K EP", "GOLD PLATED 14K"]
    )
    def test_plate_letters_make_a_plate(self, text: str) -> None:
        assert (one(text).construction, one(text).fineness) == ("plated", 583_333)

    @pytest.mark.parametrize("text", ["EPNS", "E.P.N.S.", "Quadruple Plate", "SILVER ON COPPER"])
    def test_silver_plate_claims_no_silver(self, text: str) -> None:
        assert (one(text).metal, one(text).fineness) == ("silver", 0)

    def test_vermeil_names_the_silver_under_it(self) -> None:
        claim = read("VERMEIL 925")[0]
        assert (claim.construction, claim.under) == ("plated", ("silver", 925_000))
        assert claim.record()["under"] == {"metal": "silver", "fineness_ppm": 925_000}

    def test_nickel_silver_is_base_metal(self) -> None:
        assert one("German Silver").metal == "base"


class TestSolid:
    """Karats, millesimal numbers and national systems."""

    @pytest.mark.parametrize("text", ["14K", "14 KT", "14ct", "14 Karat", "K14", "14 carat", "14C"])
    def test_a_karat_may_be_written_many_ways(self, text: str) -> None:
        assert (one(text).metal, one(text).fineness, one(text).construction) == ("gold", karat("14"), "solid")

    @pytest.mark.parametrize(
        ("text", "metal", "ppm", "source"),
        [
            ("925", "silver", 925_000, "16 CFR 23.5(b)(2)"),
            (".925", "silver", 925_000, "16 CFR 23.5(b)(2)"),
            ("STERLING", "silver", 925_000, "16 CFR 23.5(b)(2)"),
            ("STER.", "silver", 925_000, "16 CFR 23.5(b)(2)"),
            ("COIN", "silver", 900_000, "16 CFR 23.5(b)(3)"),
            ("PLATINUM", "platinum", 950_000, "16 CFR 23.6, unqualified platinum"),
            ("PT900", "platinum", 900_000, "16 CFR 23.6"),
            ("850PLAT", "platinum", 850_000, "16 CFR 23.6"),
            ("PD500", "palladium", 500_000, "Hallmarking Act 1973 (UK): palladium 500, 950, 999"),
            ("585", "gold", 585_000, "ISO 9202"),
            ("AU750", "gold", 750_000, "ISO 9202"),
            ("375", "gold", 375_000, "Hallmarking Act 1973 (UK): gold 375, 585, 750, 916, 990, 999"),
            ("916", "gold", 916_000, "Hallmarking Act 1973 (UK)"),
            ("333", "gold", 333_000, "Feingehaltsgesetz 1884 (Germany)"),
            ("56", "gold", 583_333, "zolotniks of 96, arithmetic"),
            ("72", "gold", 750_000, "zolotniks of 96, arithmetic"),
            ("88", "silver", 916_666, "zolotniks of 96, arithmetic"),
            ("91", "silver", 947_916, "zolotniks of 96, arithmetic"),
            ("13 LOT", "silver", 812_500, "lots of 16, arithmetic"),
            ("14L", "silver", 875_000, "lots of 16, arithmetic"),
            ("830S", "silver", 830_000, "published references on national marks"),
            ("eagle's head", "gold", 750_000, "published references on national marks"),
        ],
    )
    def test_a_mark_claims_what_its_law_or_standard_says(self, text: str, metal: str, ppm: int, source: str) -> None:
        assert (one(text).metal, one(text).fineness) == (metal, ppm), source

    def test_stampings_of_india_say_the_same_twice(self) -> None:
        # 14K585, 18K750 and 22K916: Bureau of Indian Standards, release of 2017 as reported.
        for text in ("14K585", "18K750", "22K916"):
            first = read(text)[0]
            assert first.fineness is not None
            assert any(abs(int(first.fineness) - int(claim.fineness or 0)) < 2_000 for claim in read(text)[1:])

    def test_an_unread_figure_leaves_the_karat_open(self) -> None:
        claim = one("1?K")
        assert (claim.metal, claim.fineness) == ("gold", None)
        assert claim.words() == "gold, fineness not said"
        assert read("?4")[0].note == "not fully readable"

    def test_letters_of_other_scripts_that_look_alike_are_read(self) -> None:
        assert one("14К").fineness == 583_333
        assert one("DOUBLÉ").construction == "layered"

    @pytest.mark.parametrize(
        ("text", "solder_free", "with_solder", "source"),
        [
            ("14K", 580_333, 576_333, "15 USC 295: 3 and 7 per thousand"),
            ("18K", 747_000, 743_000, "15 USC 295"),
            ("10K", 413_666, 409_666, "15 USC 295"),
            ("585", 582_000, 578_000, "15 USC 295"),
            ("STERLING", 921_000, 915_000, "16 CFR 23, footnote on 15 USC 296: 4 and 10 per thousand"),
            ("COIN", 896_000, 890_000, "15 USC 296"),
            ("PT950", 950_000, 950_000, "no tolerance known"),
        ],
    )
    def test_the_law_of_the_united_states_allows_so_much_below(
        self, text: str, solder_free: int, with_solder: int, source: str
    ) -> None:
        claim = one(text)
        assert claim.fineness is not None
        assert int(claim.fineness) - claim.tolerance_ppm == solder_free, source
        assert int(claim.fineness) - claim.tolerance_solder_ppm == with_solder, source


class TestSeveralMeanings:
    """Ambiguous marks keep every meaning."""

    @pytest.mark.parametrize(
        ("text", "metals"),
        [
            ("750", {"gold", "silver"}),
            ("950", {"silver", "platinum", "palladium"}),
            ("500", {"gold", "palladium"}),
            ("900", {"gold", "silver", "platinum"}),
            ("999.9", {"gold", "silver", "platinum", "palladium"}),
            ("94", {"gold", "silver"}),
        ],
    )
    def test_a_number_that_several_metals_bear_keeps_them_all(self, text: str, metals: set[str]) -> None:
        assert {claim.metal for claim in read(text)} == metals
        assert all(claim.ambiguous for claim in read(text))

    @pytest.mark.parametrize("text", ["GS", "NS", "EP", "GE", "PM", "DOLLAR"])
    def test_letters_that_may_be_a_maker_stay_both(self, text: str) -> None:
        assert {claim.kind for claim in read(text)} == {"metal", "maker"}

    def test_ambiguous_letters_do_not_change_the_mark_beside_them(self) -> None:
        assert [claim.construction for claim in read("14K GS") if claim.fineness] == ["solid"]


class TestWeighted:
    """Weighted and hollow ware."""

    def test_a_weighted_sterling_is_a_shell(self) -> None:
        for text in ("STERLING WEIGHTED", "WEIGHTED STERLING", "STERLING CEMENT FILLED", "925 REINFORCED"):
            claim = one(text)
            assert (claim.construction, claim.metal, claim.fineness) == ("weighted", "silver", 925_000)
            assert claim.words() == "weighted: silver 925.0"

    def test_weighted_alone_does_not_say_silver(self) -> None:
        assert (one("WEIGHTED").metal, one("WEIGHTED").words()) == (None, "weighted: metal not said")

    def test_hollow_beside_a_karat_is_hollow_gold(self) -> None:
        assert (one("14K HOLLOW").construction, one("14K HOLLOW").fineness) == ("hollow", 583_333)


class TestRecord:
    """A claim as parts of the book hold it."""

    def test_a_layer_is_recorded_with_its_share(self) -> None:
        record = read("1/20 12K GF", "clasp")[0].record()
        assert record["fraction"] == "1/20"
        assert (record["fineness_ppm"], record["metal"], record["where"]) == (500_000, "gold", "clasp")

    def test_a_meaning_among_others_is_recorded_as_such(self) -> None:
        assert [claim.record().get("ambiguous") for claim in read("750")] == [True, True]
        assert "fineness_ppm" not in read("QZX")[0].record()


class TestOtherLetters:
    """Unknown letters are a maker, never a fineness."""

    @pytest.mark.parametrize(
        "text", ["QZX", "A585", "58512", "30K", "3K", "123", "½", "K585", "PT125", "x750y", "585%"]
    )
    def test_what_no_table_knows_is_a_maker(self, text: str) -> None:
        assert {claim.kind for claim in read(text)} == {"maker"}

    @pytest.mark.parametrize("text", ["0.25CT", ".50 CT", "1/4 CT", "1 CTTW", "1/2 CT TW", "CZ", "DIA"])
    def test_stone_weights_are_not_karats(self, text: str) -> None:
        assert {claim.kind for claim in read(text)} == {"stone"}

    def test_a_town_or_country_is_no_fineness(self) -> None:
        assert [claim.kind for claim in read("585 ITALY ANCHOR")] == ["metal", "origin", "origin"]
        assert "no claim of fineness" in read("ITALY")[0].words()

    @given(st.from_regex(re.compile(r"[B-JL-Z]{4,9}"), fullmatch=True))
    def test_letters_alone_claim_nothing_unless_the_table_has_them(self, text: str) -> None:
        if text not in marks_table.WORDS:
            assert all(claim.fineness is None for claim in read(text))

    @given(st.text(max_size=60))
    def test_any_text_is_read_without_an_error(self, text: str) -> None:
        for claim in read(text, "inside"):
            assert claim.where == "inside"
            assert claim.words()
            assert claim.record()["text"] == claim.text

    @given(st.lists(st.sampled_from([*sorted(marks_table.WORDS), "14K", "1/20", "925", "18KGP", "QZX"]), max_size=5))
    def test_marks_side_by_side_are_all_read(self, words: list[str]) -> None:
        claims = read(" ".join(words))
        assert bool(claims) == bool(words)


class TestTable:
    """The table that the reader uses."""

    def test_every_word_and_number_of_the_table_is_read_as_one_stamp(self) -> None:
        for word, meanings in {**marks_table.WORDS, **marks_table.NUMBERS}.items():
            assert fold(word) == word
            read_back = read(word)
            assert {claim.text for claim in read_back} == {word}, word
            assert {claim.fineness for claim in read_back} <= {meaning.ppm for meaning in meanings}, word

    def test_every_meaning_names_its_source(self) -> None:
        for meanings in (*marks_table.WORDS.values(), *marks_table.NUMBERS.values()):
            for meaning in meanings:
                assert meaning.source
                assert meaning.status in {"law", "practice", "memory"}
