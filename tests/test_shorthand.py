"""Shorthand of the trade: what a line says, what it leaves, and that it drops nothing."""

import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.slip import shorthand, shorthand_words
from ledger.slip.shorthand import read

CHAIN = "chain yg foxtail 45cm spring ring mk 375 clasp 5.06g no stones"
RING = (
    'ring man yg plain band sz 9.5 4mm mk 14K band "R fr A 6.12.58" ins 4.20g ns scratched'
    " xrf au584 ag119 cu257 zn40 au583 ag120 cu257 zn40 @180+"
)
LOCKET = (
    "locket ladies yg heart h24mm mk 1/20 12K GF inside lid 3 rd red 1.5mm bead garnet claimed"
    " holds: a photograph of a boy; 4.05dwt stones 0.10ct mag no @12-"
)
LOT = "23 pcs broken chain lot mixed curb rope no marks ns 61.4g mag no @38.50+"


class TestLines:
    """ "Fills the fields in the order in which a description is asked for."

    Lines invented by the project; their abbreviations are common practice, no published source.
    """

    @pytest.mark.parametrize(
        ("line", "said"),
        [
            (CHAIN, {"article": "chain", "kind": "single", "pieces": "1", "style": "foxtail links, spring ring clasp"}),
            (CHAIN, {"metal_colour": "yellow", "marks.0.text": "375", "marks.0.where": "clasp", "stones.none": "yes"}),
            (CHAIN, {"sizes.0.what": "length", "sizes.0.value": "45", "sizes.0.unit": "cm"}),
            (CHAIN, {"weighings.0.what": "gross", "weighings.0.value": "5.06", "weighings.0.paid_on": "yes"}),
            (RING, {"wearer": "man", "sizes.0.what": "ring", "sizes.0.value": "9.5", "sizes.0.system": "us"}),
            (RING, {"sizes.1.what": "width", "inscriptions.0.text": "R fr A 6.12.58", "damage": "scratched"}),
            (RING, {"inscriptions.0.where": "inside of the band", "offer.amount": "180", "offer.answer": "taken"}),
            (RING, {"evidence.0.test": "xrf", "evidence.0.unit": "per-mille"}),
            (RING, {"evidence.0.readings.1.elements.Ag": "120"}),
            (LOCKET, {"marks.0.text": "1/20 12K GF", "marks.0.where": "inside of the lid"}),
            (LOCKET, {"stones.0.count": "3", "stones.0.shape": "round", "stones.0.colour": "red"}),
            (LOCKET, {"stones.0.size": "1.5 mm", "stones.0.species": "garnet", "stones.0.basis": "claimed"}),
            (LOCKET, {"contents": "a photograph of a boy", "offer.answer": "declined"}),
            (LOCKET, {"weighings.1.what": "stones", "weighings.1.value": "0.10", "weighings.1.unit": "ct"}),
            (LOT, {"kind": "lot", "pieces": "23", "damage": "broken", "marks.none": "yes"}),
            (LOT, {"evidence.0.test": "magnet", "evidence.0.pull": "none", "style": "curb links, rope links"}),
            ("pr hoops wg d12mm", {"kind": "set", "pieces": "2", "article": "earrings", "style": "hoop"}),
            ("set 6 teaspoons mk sterling back", {"pieces": "6", "goods": "tableware", "marks.0.text": "sterling"}),
            ("lww of lthr works 12345 caseno AB12", {"wearer": "woman", "serials.0.of": "works"}),
            ("ring sz M½", {"sizes.0.value": "M½", "sizes.0.system": "uk"}),
            ("ring sz 54", {"sizes.0.value": "54", "sizes.0.system": "eu"}),
            ("ring sz 14jp", {"sizes.0.value": "14", "sizes.0.system": "jp"}),
            ('bracelet 7" 3mm', {"sizes.0.unit": "in", "sizes.1.what": "width"}),
            ("pendant w8mm h20mm", {"sizes.0.what": "width", "sizes.1.what": "height"}),
            ("ring gross 5.1g net 4.8g", {"weighings.1.what": "net", "weighings.1.paid_on": "yes"}),
            ("ring 5.06 dwt", {"weighings.0.unit": "dwt"}),
            ('ring mk "J & CO 14K" shank', {"marks.0.text": "J & CO 14K", "marks.0.where": "inside of the band"}),
            ("ring mk 14K mk QZX", {"marks.0.text": "14K", "marks.1.text": "QZX"}),
            ("ring 12 sq blk 2x2mm dia 0.5ct", {"stones.0.size": "2 x 2 mm", "stones.0.carats": "0.5"}),
            ("ring 1 stone red", {"stones.0.count": "1", "stones.0.colour": "red"}),
            ("ring dmg:bent shank; by: A N Other", {"damage": "bent shank", "maker": "A N Other"}),
            ("ring style: laurel wreath, sig", {"style": "laurel wreath, sig"}),
            ("ring no damage not altered", {"damage": "none", "alteration": "none"}),
            ("ring brkn shank rpr", {"damage": "broken shank", "alteration": "repaired"}),
            ("ring xrf au58.4 ag11.9 cu29.7", {"evidence.0.unit": "per-cent"}),
        ],
    )
    def test_a_line_fills_these_fields(self, line: str, said: dict[str, str]) -> None:
        fields = read(line).fields
        assert {name: fields.get(name) for name in said} == said

    @pytest.mark.parametrize("line", [CHAIN, RING, LOCKET, LOT])
    def test_lines_of_the_bench_are_understood_whole(self, line: str) -> None:
        assert read(line).left == ()

    def test_fields_stand_in_the_order_of_asking(self) -> None:
        names = [name.partition(".")[0] for name in read(LOCKET).fields]
        assert names == sorted(names, key=shorthand.ORDER.index)

    def test_a_weight_without_unit_is_in_the_unit_of_the_scale(self) -> None:
        assert read("ring 3.25", unit="dwt").fields["weighings.0.unit"] == "dwt"

    def test_a_ring_size_without_system_is_in_the_shops(self) -> None:
        assert read("ring sz 14", ring_system="jp").fields["sizes.0.system"] == "jp"


class TestAbbreviations:
    """ "Every abbreviation is common practice, no published source", but for units of weight."""

    @pytest.mark.parametrize(
        ("word", "unit"),
        [
            ("3.2dwt", "dwt"),  # NIST Handbook 44, appendix C, as are gr and g (from memory)
            ("12gr", "gr"),
            ("5.1g", "g"),
            ("1.5ozt", "ozt"),  # there "oz t"; without the space: common practice, no published source
            ("2ct", "ct"),  # there "c"; ct: common practice, no published source
        ],
    )
    def test_units_are_those_that_scales_show(self, word: str, unit: str) -> None:
        assert read(f"ring {word}").fields["weighings.0.unit"] == unit

    @pytest.mark.parametrize("stamp", ["1/20 12K GF", "12K GF", "1/40 10K RGP", "14K", "10K HGE"])
    # How ware is struck: common practice, no published source. What each must mean: 16 CFR 23.3.
    def test_stamps_of_several_pieces_are_one_mark(self, stamp: str) -> None:
        assert read(f"chain mk {stamp} clasp").fields["marks.0.text"] == stamp

    @pytest.mark.parametrize(
        ("word", "colour"), [("yg", "yellow"), ("wg", "white"), ("rg", "rose"), ("2t", "two-tone")]
    )  # common practice, no published source
    def test_colours_are_what_the_eye_sees(self, word: str, colour: str) -> None:
        assert read(f"ring {word}").fields["metal_colour"] == colour


class TestLeft:
    """ "Nothing is dropped and nothing is guessed." """

    @pytest.mark.parametrize(
        ("line", "word", "why"),
        [
            ("ring 14k", "14k", "a mark only where it is stamped"),
            ("pendant 20mm", "20mm", "length, width or height"),
            ("ring dia", "dia", "how many stones"),
            ("spoon silver", "silver", "the tests say"),
            ("misc", "misc", "says nothing"),
            ("ring frobnicated", "frobnicated", "not understood"),
            ("ring mk", "mk", "not understood"),
            ("ring sz", "sz", "not understood"),
            ("ring sz ???", "sz", "not understood"),
            ("ring xrf high", "xrf", "not understood"),
            ("ring 5", "5", "not understood"),
            ("ring bangle", "bangle", "not understood"),
            ("ring yg wg", "wg", "not understood"),
            ('ring ""', '""', "not understood"),
        ],
    )
    def test_a_word_that_fills_no_field_is_told(self, line: str, word: str, why: str) -> None:
        told = {left.word: left.why for left in read(line).left}
        assert why in told[word]

    def test_an_empty_clause_says_nothing(self) -> None:
        assert read("ring dmg: ; yg").fields.keys().isdisjoint({"damage"})

    @given(st.text(max_size=80))
    def test_no_line_is_an_error(self, line: str) -> None:
        read(line)

    @given(st.lists(st.from_regex(r"\Az[a-z]{3,9}\Z"), max_size=8))
    def test_words_of_no_table_are_left_in_their_order(self, words: list[str]) -> None:
        assert [left.word for left in read(" ".join(words)).left] == words

    def test_the_words_of_the_tables_are_small_letters(self) -> None:
        named = {name: table for name, table in vars(shorthand_words).items() if name.isupper()}
        tables = [table for table in named.values() if isinstance(table, Mapping)]
        assert len(tables) == 19
        assert [word for table in tables for word in table if word != word.casefold()] == []

    def test_every_table_says_where_its_abbreviations_come_from(self) -> None:
        source = Path(shorthand_words.__file__).read_text("utf-8")
        tables = re.findall(r"^(.*)\n[A-Z_]+: Final(?:\[Mapping.*)? = [{_]", source, flags=re.M)
        assert len(tables) == 19
        assert set(tables) == {"# Common practice, no published source."}
