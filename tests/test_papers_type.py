"""Type: every script that a name may come in is drawn by an embedded font, or the character is named."""

from dataclasses import replace
from hashlib import sha256
from io import BytesIO

import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from ledger.errors import InputError
from reports import fonts, outlines, purchase, stub
from reports.fonts import setting_type
from reports.goods import Field
from tests import paper_samples as samples
from tests.paper_tools import text_of

# Invented names. Those of right-to-left scripts are given with the code points in the order the eye meets them from
# the left: for Hebrew the letters turned round, for Arabic the joined forms (Unicode chart FE70-FEFF) turned round.
NAMES = {
    "Latin": "Zoë Łukasiewicz-Brânză Ñuñez Þórður Őszi Šķērīte",
    "Cyrillic": "Володимир Ґалаґан, Ђорђе, Ёлкина",
    "Greek": "Ελευθερία Παπαδάκη",
    "Vietnamese": "Nguyễn Thị Hồng Đặng Phượng",
    "Chinese": "王小明，北京市朝陽區",
    "Japanese": "田中さくら カタカナ",
    "Korean": "김철수 서울특별시",
    "Turkish": "Işıl Gürağaç",
}


def fonts_of(pdf: bytes) -> set[str]:
    """PostScript names of the fonts in a file, without the tag of their subset."""
    return {name.split("+")[-1] for page in PdfReader(BytesIO(pdf)).pages for name in page._get_fonts()[0]}


def report(*texts: str) -> bytes:
    made = tuple(Field(f"Field {number}", text, True) for number, text in enumerate(texts))
    return purchase.draw(replace(samples.purchase(), fields=made, items=()))


class TestScripts:
    """Names in Latin with all accents, Cyrillic, Greek, Arabic, Hebrew, Vietnamese, Chinese, Japanese, Korean."""

    @pytest.mark.parametrize("script", NAMES)
    def test_prints_names_in(self, script: str) -> None:
        assert NAMES[script] in text_of(report(NAMES[script]))

    def test_prints_hebrew_from_right_to_left(self) -> None:
        assert "שלום" in text_of(report("שלום"))  # pypdf turns what it finds from right to left round again

    def test_prints_arabic_joined_and_from_right_to_left(self) -> None:
        # alef maksura-yeh final FEF2, lam medial FEE0, ain initial FECB: "ali" as it is written, seen from the left
        with setting_type({"name": "علي"}) as case:
            assert [piece.text for piece in case.pieces("علي")] == ["\ufef2\ufee0\ufecb"]

    def test_keeps_the_words_of_an_arabic_name_in_order(self) -> None:
        with setting_type({"name": "محمد علي"}) as case:
            words = [piece.text for piece in case.pieces("محمد علي")]
        assert words[0] == "\ufef2\ufee0\ufecb"  # the last word stands leftmost
        assert len(words) == 3

    def test_keeps_numbers_in_a_hebrew_address_readable(self) -> None:
        with setting_type({"name": "דירה 12"}) as case:
            assert "".join(piece.text for piece in case.pieces("דירה 12")) == "12 הריד"

    def test_draws_each_region_of_han_with_its_own_font(self) -> None:
        pdf = report(NAMES["Chinese"], NAMES["Japanese"], NAMES["Korean"])
        assert {"NotoSansCJKsc-Cut", "NotoSansCJKjp-Cut", "NotoSansCJKkr-Cut"} <= fonts_of(pdf)

    def test_draws_a_broken_line_of_japanese_with_the_japanese_shapes(self) -> None:
        text = "さくら" + "直" * 200
        with setting_type({"name": text, "other": "直"}) as case:
            last = case.wrap(text, 10, 300)[-1]
        assert last.pieces[0].font == "NotoSansCJKjp-Cut"

    def test_a_plain_paper_opens_no_other_fonts(self) -> None:
        assert fonts_of(stub.draw(samples.stub())) == {"Arimo-Regular", fonts.BOLD}

    def test_bold_of_every_script_has_a_name_of_its_own(self) -> None:
        shop = replace(samples.imprint(), shop="Gold Łódź Χρυσός Ювелир זהב 金")
        pdf = stub.draw(replace(samples.stub(), imprint=shop))
        bold = {name for name in fonts_of(pdf) if "Bold" in name}
        assert bold == set(fonts._BOLD_BLOCKS)


class TestUnprintable:
    """A character no font has is named; never silent boxes."""

    @pytest.mark.parametrize(
        ("character", "name"),
        [
            ("\U0001f600", "U+1F600 GRINNING FACE"),
            ("ส", "U+0E2A THAI CHARACTER SO SUA"),
            ("क", "U+0915 DEVANAGARI LETTER KA"),
            ("\t", "U+0009 no name"),
            ("\u202e", "U+202E RIGHT-TO-LEFT OVERRIDE"),
            ("\ue000", "U+E000 no name"),
            ("\ud800", "U+D800 no name"),
            ("\u2028", "U+2028 LINE SEPARATOR"),
        ],
    )
    def test_is_named_with_its_field(self, character: str, name: str) -> None:
        items = tuple(replace(line, description=f"Ring {character}") for line in samples.stub().items)
        with pytest.raises(InputError) as caught:
            stub.draw(replace(samples.stub(), items=items))
        assert str(caught.value) == (
            f"items[1].description: '{name}' was given; wanted is characters that the papers can draw."
        )

    def test_the_error_does_not_repeat_the_text_around_it(self) -> None:
        with pytest.raises(InputError) as caught:
            report("Amaranta Vell \U0001f600")
        assert "Amaranta" not in str(caught.value)

    def test_is_found_beside_arabic_and_chinese(self) -> None:
        for text in ("علي \U0001f600", "王 \U0001f600"):
            with pytest.raises(InputError, match="GRINNING FACE"):
                report(text)

    def test_our_own_words_are_checked_too(self) -> None:
        with setting_type({}) as case, pytest.raises(InputError, match=r"text: 'U\+0E2A"):
            case.line("ส", 10)

    def test_marks_of_direction_and_joining_have_no_look_and_are_left_out(self) -> None:
        with setting_type({"name": "x\u200dy\u200b"}) as case:
            assert [piece.text for piece in case.pieces("x\u200dy\u200b")] == ["xy"]


class TestMarks:
    """NFD marks float beside the letter: NFC first, and what stays apart is set by the font's own anchors."""

    def test_decomposed_letters_print_as_the_composed_ones(self) -> None:
        apart = "Nguye\u0302\u0303n Thi\u0323 Zoe\u0308"
        with setting_type({"name": apart}) as case:
            assert case.pieces(apart) == case.pieces("Nguyễn Thị Zoë")

    def test_a_mark_without_a_composed_letter_sits_over_its_letter(self) -> None:
        # Yoruba e with dot below and acute has no code point of its own (Unicode: only U+1EB9 + U+0301).
        with setting_type({"name": "ẹ\u0301"}) as case:
            letter, mark = case.pieces("ẹ\u0301")
        assert (letter.text, mark.text, mark.width) == ("ẹ", "\u0301", 0.0)
        face = TTFont(BytesIO(fonts._arimo_path().read_bytes()))
        outline = face["glyf"][face.getBestCmap()[0x301]]
        middle = (outline.xMin + outline.xMax) / 2 * 1000 / face["head"].unitsPerEm
        assert abs(letter.width + mark.right + middle - letter.width / 2) < 80  # about the middle of the letter

    def test_hebrew_points_and_arabic_vowels_stay_with_their_letters(self) -> None:
        for text, letters in (("שָׁלוֹם", 4), ("مُحَمَّد", 4)):
            with setting_type({"name": text}) as case:
                pieces = case.pieces(text)
            assert sum(len(piece.text) for piece in pieces if piece.width) == letters
            assert any(piece.width == 0 for piece in pieces)

    def test_a_mark_without_a_letter_is_drawn_alone(self) -> None:
        for text in ("\u0301a", "\u05b0"):
            with setting_type({"name": text}) as case:
                assert "".join(piece.text for piece in case.pieces(text)) == text

    def test_a_mark_on_a_letter_of_another_font_is_drawn_over_it(self) -> None:
        with setting_type({"name": "東\u0301"}) as case:
            letter, mark = case.pieces("東\u0301")
        assert (letter.width, mark.right, mark.width) == (1000.0, -1000.0, 0.0)

    def test_a_mark_that_the_letters_anchors_do_not_know_follows_it(self) -> None:
        # Noto Sans Arabic has no anchor for a hamza above (U+0654) on the end-of-ayah sign (U+06DD).
        assert outlines.anchored(fonts._arabic_path(), "\u06dd", "\u0654")[1] == 0.0

    def test_a_bold_letter_moves_its_mark_by_its_own_width(self) -> None:
        with setting_type({"name": "n\u0302"}) as case:
            plain, bold = case.pieces("n\u0302")[1], case.pieces("n\u0302", bold=True)[1]
        assert bold.width == 0
        assert bold.right != plain.right


class TestLines:
    def test_no_line_is_wider_than_asked(self) -> None:
        for text in (
            "Ring, yellow metal, plain band, " * 9,
            "北京市朝阳区" * 30,
            "x" * 400,
            "شارع الملك عبد العزيز " * 9,
        ):
            with setting_type({"text": text}) as case:
                lines = case.wrap(text, 10, 120)
            assert len(lines) > 2
            assert all(0 < line.width <= 120 for line in lines)

    def test_nothing_is_lost_between_the_lines(self) -> None:
        text = "Ring, yellow metal, 王小明王小明 " + "longword" * 30 + " end"
        with setting_type({"text": text}) as case:
            lines = case.wrap(text, 10, 90)
        drawn = "".join(piece.text for line in lines for piece in line.pieces)
        assert drawn.replace(" ", "") == text.replace(" ", "")

    def test_a_line_feed_breaks_and_an_empty_text_is_an_empty_line(self) -> None:
        with setting_type({"text": "a\nb"}) as case:
            assert len(case.wrap("a\nb", 10, 90)) == 2
            assert [line.width for line in case.wrap("", 10, 90)] == [0]

    def test_a_word_is_not_cut_between_a_letter_and_its_mark(self) -> None:
        word = "n\u0302" * 60
        with setting_type({"text": word}) as case:
            lines = case.wrap(word, 10, 33)
        assert len(lines) > 5
        assert all(line.pieces[0].text[0] == "n" for line in lines)

    def test_a_column_narrower_than_a_letter_still_ends(self) -> None:
        with setting_type({"text": "abc"}) as case:
            assert len(case.wrap("abc", 10, 1)) == 3

    @pytest.mark.parametrize(("text", "answer"), [("12 שלום", True), ("12 abc", False), ("علي x", True), ("12", False)])
    def test_direction_is_that_of_the_first_letter(self, text: str, answer: bool) -> None:
        assert fonts.reads_right_to_left(text) is answer


class TestCutFonts:
    def test_the_same_request_gives_the_same_bytes(self) -> None:
        first = outlines.cjk.__wrapped__("sc", "王明", "Cut")
        assert sha256(first).digest() == sha256(outlines.cjk.__wrapped__("sc", "王明", "Cut")).digest()

    def test_redrawn_outlines_keep_width_and_extent(self) -> None:
        cut = TTFont(BytesIO(outlines.cjk("jp", "直", "Cut")))
        glyph = cut["glyf"][cut.getBestCmap()[ord("直")]]
        face = outlines._face("jp")
        from fontTools.pens.boundsPen import BoundsPen

        pen = BoundsPen(face.getGlyphSet())
        face.getGlyphSet()[face.getBestCmap()[ord("直")]].draw(pen)
        for ours, theirs in zip((glyph.xMin, glyph.yMin, glyph.xMax, glyph.yMax), pen.bounds, strict=True):
            assert abs(ours - theirs) <= 1
        assert cut["hmtx"][cut.getBestCmap()[ord("直")]][0] == 1000

    def test_bold_is_heavier_than_regular(self) -> None:
        with setting_type({"text": "Harrow Lane"}) as case:
            assert case.line("Harrow Lane", 10, bold=True).width > case.line("Harrow Lane", 10).width
