"""What stamps claim, against statutes and standards where there are any."""

import re
import time
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay import marks_table
from ledger.assay.marks import Claim, read
from ledger.assay.stamps import fold
from ledger.assay.tolerances import Made
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


class TestLettersApart:
    """Letters of one mark that stand apart, or with a stroke between, are read as the mark that they are."""

    @pytest.mark.parametrize(
        ("text", "construction"),
        [
            ("14 K G F", "layered"),
            ("1/20 14 K G F", "layered"),
            ("14K G/F", "layered"),
            ("14K GOLD-FILLED", "layered"),
            ("1/20-12K-GF", "layered"),
            ("18KRGP", "layered"),
            ("24KT GOLD CLAD", "layered"),
            ("18K OVERLAY", "layered"),
            ("18KT HGEP", "plated"),
            ("14K PLATED", "plated"),
            ("18K ELECTROPLATED", "plated"),
        ],
    )
    def test_no_layer_and_no_plate_passes_for_solid(self, text: str, construction: str) -> None:
        claim = one(text)
        assert (claim.metal, claim.construction) == ("gold", construction)
        assert claim.fineness is not None

    @pytest.mark.parametrize("text", ["PT 950", "PT-950", "950 PT", "PT950", "PLATINUM 950"])
    def test_a_metal_s_name_beside_its_number_leaves_no_other_metal(self, text: str) -> None:
        """16 CFR 23.6 writes the number beside the name or its abbreviation."""
        assert (one(text).metal, one(text).fineness, one(text).ambiguous) == ("platinum", 950_000, False)

    def test_a_number_beside_platinum_is_not_the_950_of_platinum_alone(self) -> None:
        assert one("PLATINUM 900").fineness == 900_000

    def test_plated_silver_keeps_its_plate(self) -> None:
        found = {(claim.metal, claim.construction) for claim in read("925 PLATED")}
        assert found == {("silver", "solid"), (None, "plated")}

    def test_a_maker_s_three_letters_are_no_layer(self) -> None:
        assert {claim.kind for claim in read("A G F")} == {"maker"}

    def test_names_of_other_metals_claim_none_that_is_precious(self) -> None:
        assert (one("TUNGSTEN CARBIDE").construction, one("TITANIUM").construction) == ("base", "base")


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

    def test_letters_of_other_scripts_that_look_alike_are_read(self) -> None:
        assert one("14К").fineness == 583_333
        assert one("DOUBLÉ").construction == "layered"


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
        "text",
        ["QZX", "A585", "58512", "30K", "3K", "123", "½", "K585", "PT125", "x750y", "585%", "450PT", "450PT100IR"],
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


class TestSeveralMarks:
    """Several marks in one stamp, the part that each covers, bullion, fractions, the names of metals."""

    @pytest.mark.parametrize(
        ("text", "covers"),
        [
            ("14K CLASP", ["clasp"]),
            ("STERLING HANDLE", ["handle"]),
            ("14K POSTS", ["post"]),
            ("10K RGP BEZEL STAINLESS STEEL BACK", ["bezel", "back"]),
            ("CASE 14K", ["case"]),
            ("14K", ["inside"]),
        ],
    )
    def test_a_mark_covers_the_part_that_is_named_with_it(self, text: str, covers: list[str]) -> None:
        assert [claim.covers for claim in read(text, "inside")] == covers
        assert read(text, "inside")[0].record().get("covers", "inside") == covers[0]

    def test_a_part_alone_claims_nothing(self) -> None:
        for text in ("CLASP", "CLASP BACK"):
            assert {(claim.kind, claim.metal) for claim in read(text)} == {("part", None)}
        assert [(claim.kind, claim.covers) for claim in read("QZX CLASP 14K")] == [("maker", ""), ("metal", "clasp")]

    @pytest.mark.parametrize("text", ["750 GOLD", "GOLD 750", "GOLD .750"])
    def test_the_name_of_a_metal_settles_whose_number_it_is(self, text: str) -> None:
        assert (one(text).metal, one(text).fineness, one(text).ambiguous) == ("gold", 750_000, False)

    def test_two_metals_named_settle_nothing(self) -> None:
        assert {claim.metal for claim in read("900, GOLD, SILVER")} == {"gold", "silver", "platinum"}

    def test_a_name_that_no_meaning_bears_leaves_them_all(self) -> None:
        assert {claim.metal for claim in read("500, SILVER")} == {"gold", "palladium", "silver"}

    def test_a_name_alone_is_no_fineness(self) -> None:
        # 16 CFR 23.3(b): gold without a karat is to be fine gold; a stamp that says no more is not taken for that.
        assert (one("GOLD").metal, one("GOLD").fineness, one("GOLD").words()) == (
            "gold",
            None,
            "gold, fineness not said",
        )

    @pytest.mark.parametrize(
        ("text", "metal", "ppm"),
        [
            ("1 OZ .999 FINE SILVER", "silver", 999_000),
            ("1 TROY OZ. FINE GOLD 999.9", "gold", 999_900),
            ("FINE GOLD 1/10 OZ", "gold", 999_000),
            ("10 G FINE PLATINUM 999.5", "platinum", 999_500),
            ("5 TOLA 999 GOLD", "gold", 999_000),
        ],
    )
    def test_bullion_names_its_metal_and_its_weight(self, text: str, metal: str, ppm: int) -> None:
        # Finenesses of bars as the Hallmarking Act 1973 (UK) and ISO 9202 list them: 999, 999.5, 999.9.
        assert (one(text).metal, one(text).fineness) == (metal, ppm)
        assert [claim.kind for claim in read(text) if claim.kind != "metal"] == ["weight"]
        assert "a weight, no claim of fineness" in next(c for c in read(text) if c.kind == "weight").words()

    def test_letters_stamped_apart_are_drawn_together_where_they_are_a_mark(self) -> None:
        assert one("14K G F").construction == one("1/20 12 K G F").construction == "layered"
        assert [claim.text for claim in read("Q Z")] == ["Q", "Z"]

    def test_silver_beside_a_bonded_layer_lies_under_it(self) -> None:
        assert one_of(read("5% BONDED 14K + 925"), "layered").under == ("silver", 925_000)
        assert one_of(read("GOLD PLATED 925"), "plated").under == ("silver", 925_000)
        assert one_of(read("GOLD PLATED 900"), "plated").under is None


def one_of(claims: tuple[Claim, ...], construction: str) -> Claim:
    """The one claim of a construction."""
    (claim,) = [claim for claim in claims if claim.construction == construction]
    return claim


Meant = tuple[str, str | None, int | None, str | None, tuple[int, int] | None]


def meant(claims: tuple[Claim, ...]) -> set[Meant]:
    """What claims of metal mean, whatever letters say it; names alone left out."""
    return {
        (claim.kind, claim.metal, claim.fineness, claim.construction, claim.fraction)
        for claim in claims
        if claim.kind == "metal" and (claim.fineness is not None or claim.construction)
    }


KNOWN = [
    *sorted(marks_table.WORDS),
    *sorted(marks_table.NUMBERS),
    *(f"{karat}{word}" for karat in marks_table.KARATS for word in ("K", "KT", "KGP", "K GF", "KP")),
    *(f"{share} {karat}K GF" for share in marks_table.SHARES for karat in ("10", "12", "14")),
    *("14K585", "18K750", "PT950", "950PD", "585 14K", "STERLING 925", "K18", "AU750"),
]


class TestWorn:
    """Partial or worn marks with "?" for unread characters keep every meaning."""

    @given(st.sampled_from(KNOWN), st.data())
    def test_a_worn_mark_has_all_the_meanings_of_the_marks_that_it_may_have_been(
        self, mark: str, data: st.DataObject
    ) -> None:
        """What was stamped is among the meanings, unless it is said that too little could be read."""
        letters = [place for place, letter in enumerate(fold(mark)) if letter != " "]
        lost = data.draw(st.sets(st.sampled_from(letters), min_size=1, max_size=3))
        damaged = "".join("?" if place in lost else letter for place, letter in enumerate(fold(mark)))
        claims = read(damaged)
        assert meant(read(mark)) <= meant(claims) or any(claim.kind == "unread" for claim in claims)

    @pytest.mark.parametrize("worn", ["1?K", "?4K", "1/?0 12K GF", "92?", "14K?P", "STERL?NG", "1?L", "E?NS", "P?950"])
    def test_of_one_unread_letter_every_letter_is_tried(self, worn: str) -> None:
        """Brute force; letters that mean nothing, and karats and shares that nobody stamps, are left out."""
        tried = set()
        for letter in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ/":
            claims = read(worn.replace("?", letter))
            if all(claim.note != "no usual karat" and _usual(claim) and _means(claim) for claim in claims):
                tried |= meant(claims)
        assert tried == meant(read(worn))

    def test_a_whole_word_that_can_be_no_other_is_read(self) -> None:
        claim = one("STERL?NG")
        assert (claim.fineness, claim.ambiguous, claim.worn) == (925_000, False, True)
        assert (claim.text, claim.completed) == ("STERL?NG", "STERLING")
        assert claim.words() == "if the mark is STERLING: silver, at least 925.0"
        assert claim.record()["completed"] == "STERLING"
        assert claim.record()["worn"] is True

    def test_a_karat_with_an_unread_figure_is_every_karat_that_is_stamped(self) -> None:
        claims = read("1?K")
        assert [claim.completed for claim in claims] == ["10K", "12K", "14K", "15K", "16K", "18K"]
        assert all(claim.ambiguous and claim.text == "1?K" for claim in claims)

    def test_a_layer_is_a_layer_whatever_its_share(self) -> None:
        claims = read("1/?0 12K GF")
        assert {claim.construction for claim in claims} == {"layered"}
        assert not any(claim.ambiguous for claim in claims)
        assert {(1, 10), (1, 20), (1, 30), (1, 40)} <= {claim.fraction for claim in claims}

    def test_letters_that_may_be_a_maker_leave_the_karat_as_it_is(self) -> None:
        claims = read("14K G?")
        assert {claim.construction for claim in claims if claim.metal} == {"solid", "layered", "plated"}
        assert all(claim.ambiguous for claim in claims)
        solid = one_of(claims, "solid")
        assert (solid.completed, solid.words()) == ("", "if nothing else is said: gold, at least 583.3")
        assert [claim.text for claim in claims if claim.kind == "unread"] == ["G?"]

    def test_a_mark_that_is_whole_stays_sure_beside_a_worn_one(self) -> None:
        whole = [claim for claim in read("STERLING 1?L") if not claim.worn]
        assert [(claim.fineness, claim.ambiguous) for claim in whole] == [(925_000, False)]

    @pytest.mark.parametrize("text", ["?", "??", "???", "?????", "Q?Z", "?? ?? ??", "??/?? ??K"])
    def test_where_too_little_can_be_read_nothing_is_claimed(self, text: str) -> None:
        assert "unread" in {claim.kind for claim in read(text)}
        assert not any(claim.fineness and not claim.ambiguous for claim in read(text))
        assert "it may be any mark" in next(claim for claim in read(text) if claim.kind == "unread").words()

    def test_unread_letters_without_end_take_no_time(self) -> None:
        for text in ("?" * 200, "?" * 24, "?" * 13 + "Z", "1?" * 9 + "Z", "?5 " * 60, "K/?" * 8):
            began = time.perf_counter()
            assert "unread" in {claim.kind for claim in read(text)}
            assert time.perf_counter() - began < 2

    @given(st.text("?0123456789KGFPT/ SILVERNED.", max_size=14))
    def test_any_worn_text_is_read_without_an_error(self, text: str) -> None:
        for claim in read(text):
            assert claim.words()
            assert claim.record()["text"] == claim.text


def _means(claim: Claim) -> bool:
    return claim.kind != "maker" or claim.ambiguous


def _usual(claim: Claim) -> bool:
    share = claim.fraction
    return share is None or f"{share[0]}/{share[1]}" in marks_table.SHARES


class TestMade:
    """By country and date of making; what is not known keeps every meaning."""

    def test_without_knowledge_every_meaning_stays(self) -> None:
        assert {claim.construction for claim in read("84")} == {"solid", "plated"}
        assert read("84", made=Made()) == read("84")

    def test_a_country_shuts_out_the_systems_of_others(self) -> None:
        # Zolotniks are Russia's, grams per dozen are stamped on Continental flatware: published references.
        assert one_with("84", Made("RU")).construction == "solid"
        assert one_with("84", Made("FR")).construction == "plated"
        assert one_with("750", Made("IT")).metal == "gold"
        assert one_with("833", Made("NL")).metal == "gold"
        assert one_with("833", Made("BR")).metal == "silver"
        assert not one_with("833", Made("BR")).ambiguous

    def test_a_date_shuts_out_what_was_not_struck_then(self) -> None:
        # 15 carat was struck in Britain until 1932: published references; Russia's zolotniks until 1927.
        assert one_with("84", Made(earliest=date(1950, 1, 1))).construction == "plated"
        assert {claim.metal for claim in read("94", made=Made(earliest=date(1950, 1, 1)))} == {"gold", "silver"}

    def test_the_last_meaning_is_never_left_out(self) -> None:
        assert one_with("56", Made("US", date(2000, 1, 1))).fineness == 583_333

    def test_a_stamp_may_say_its_own_country(self) -> None:
        metals = {claim.metal for claim in read("750 ITALY") if claim.kind == "metal"}
        assert metals == {"gold"}
        assert {claim.metal for claim in read("750 ITALY FRANCE") if claim.kind == "metal"} == {"gold", "silver"}

    @pytest.mark.parametrize(
        ("text", "made", "solder_free", "with_solder", "source"),
        [
            ("14K", None, 580_333, 576_333, "15 USC 295: 3 and 7 per thousand, articles made from 1 October 1981"),
            ("18K", None, 747_000, 743_000, "15 USC 295"),
            ("10K", None, 413_666, 409_666, "15 USC 295"),
            ("585", Made("US"), 582_000, 578_000, "15 USC 295"),
            ("14K", Made("US", date(1981, 10, 1)), 580_333, 576_333, "15 USC 295, the first day"),
            (
                "14K",
                Made("US", None, date(1981, 9, 30)),
                562_500,
                541_667,
                "15 USC 295 before: half a karat, one karat",
            ),
            ("14K CASE", Made("US"), 580_333, 580_333, "15 USC 295: watch cases 3 per thousand with solder too"),
            ("14K CASE", Made("US", None, date(1970, 1, 1)), 580_333, 580_333, "15 USC 295 before 1976: the same"),
            (
                "14K",
                Made("US", None, date(1900, 1, 1)),
                583_333,
                583_333,
                "15 USC 294: articles made after 13 June 1907",
            ),
            ("STERLING", None, 921_000, 915_000, "16 CFR 23.6 note 9 (2015): 4 and 10 per thousand"),
            ("COIN", Made("US"), 896_000, 890_000, "the same"),
            ("585", Made("DE"), 575_000, 575_000, "Feingehaltsgesetz 1884: 10 per thousand, jewellery"),
            ("800", Made("DE"), 790_000, 790_000, "the same"),
            ("750", Made("GB"), 750_000, 750_000, "Hallmarking Act 1973: none"),
            ("925 ENGLAND", None, 925_000, 925_000, "the same"),
            ("750 CCM", None, 750_000, 750_000, "Hallmarking Convention, Annex I: none"),
            ("585 ITALY", None, 582_000, 578_000, "no law of Italy is known here: that of the place of sale"),
            ("PT950", Made("US"), 950_000, 950_000, "no tolerance known"),
        ],
    )
    def test_the_law_allows_so_much_below_the_mark(
        self, text: str, made: Made | None, solder_free: int, with_solder: int, source: str
    ) -> None:
        claim = next(claim for claim in read(text, made=made) if claim.fineness)
        assert claim.fineness is not None
        assert int(claim.fineness) - claim.tolerance_ppm == solder_free, source
        assert int(claim.fineness) - claim.tolerance_solder_ppm == with_solder, source

    def test_where_the_making_is_not_known_the_largest_tolerance_stands_beside(self) -> None:
        claim = one("14K")
        assert (claim.tolerance_ppm, claim.tolerance_most_ppm) == (3_000, 20_833)
        assert claim.record()["tolerance_most_ppm"] == 20_833
        assert {each.country for each in claim.allowances} == {"US", "DE", "GB"}
        assert "tolerance_most_ppm" not in one_with("14K", Made("US", date(1990, 1, 1))).record()

    def test_plumb_gives_up_the_half_karat(self) -> None:
        assert one("14KP").tolerance_most_ppm == 10_000
        assert one_with("14KP", Made("US")).tolerance_most_ppm == 3_000

    def test_fine_metal_was_never_allowed_half_a_karat(self) -> None:
        assert one("999.9 FINE GOLD").tolerance_most_ppm == 10_000
        assert one_with("999.9 FINE GOLD", Made("US")).tolerance_most_ppm == 3_000

    @given(
        st.one_of(st.sampled_from(KNOWN), st.text("?14K/20GF985 ", max_size=10)),
        st.sampled_from([None, "US", "DE", "GB", "RU", "FR", "IT", "ZZ"]),
        st.one_of(st.none(), st.dates()),
        st.one_of(st.none(), st.dates()),
    )
    def test_knowing_more_never_adds_a_meaning(
        self, text: str, country: str | None, one_day: date | None, other_day: date | None
    ) -> None:
        earliest, latest = one_day, other_day
        if one_day and other_day:
            earliest, latest = sorted((one_day, other_day))
        claims, known = read(text), read(text, made=Made(country, earliest, latest))
        assert meant(known) <= meant(claims)
        assert bool(known) == bool(claims)
        for claim in known:
            assert 0 <= claim.tolerance_ppm <= claim.tolerance_most_ppm or not claim.allowances
            assert claim.record()

    def test_a_layer_has_no_tolerance(self) -> None:
        assert (one("14K GF").tolerance_ppm, one("14K GF").allowances) == (0, ())


def one_with(text: str, made: Made) -> Claim:
    """The one claim of metal of a stamp of which something else is known."""
    (claim,) = [claim for claim in read(text, made=made) if claim.kind == "metal"]
    return claim
