"""The fineness strip: its numbers, its picture and its words."""

import json
import re
import xml.etree.ElementTree as ET

import pytest

from ledger.assay.assessments import Assessment, Bar
from ledger.assay.strip import Strip, bar_label, strip, strip_of, svg, words
from tests.assay_samples import assess, dense, filed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(assessment: Assessment) -> ET.Element:
    """The picture as a tree."""
    return ET.fromstring(svg(strip(assessment)))


def texts(picture: ET.Element) -> list[str]:
    """Every text that stands in the picture."""
    return [element.text or "" for element in picture.iter(f"{SVG}text")]


class TestNumbers:
    """An axis from 0 to 1000, a bar per test, the claim with its tolerance, the band that remains."""

    def test_every_test_that_speaks_of_fineness_has_a_bar(self) -> None:
        picture = strip(assess(GOLD_14, filed(Au=582, Cu=418), streak(14, "holds"), dense(8.0, 13.1), marks="14K"))
        assert [bar.test for bar in picture.bars] == ["xrf", "filed-xrf", "streak", "density"]
        assert [bar.surface for bar in picture.bars] == [True, False, True, False]
        for bar in picture.bars:
            assert 0 <= bar.low_ppm <= bar.high_ppm <= 1_000_000

    def test_the_claim_stands_with_the_tolerance_of_the_law(self) -> None:
        # 15 USC 295: three parts per thousand below the mark.
        picture = strip(assess(GOLD_14, marks="14K"))
        assert (picture.claim_label, picture.claim_low_ppm, picture.claim_ppm) == ("14K", 580_333, 583_333)
        # Before 1 October 1981 half a karat.
        assert picture.claim_least_ppm == 562_500
        assert strip(assess(GOLD_14, marks="PT950")).claim_least_ppm is None

    def test_the_band_is_hatched_where_only_the_surface_was_seen(self) -> None:
        assert strip(assess(GOLD_14, marks="14K")).hatched
        assert not strip(assess(GOLD_14, dense(8.0, 13.1), marks="14K")).hatched
        assert not strip(assess(filed(Au=582, Cu=418), marks="18K")).hatched
        assert strip(assess(GOLD_14, dense(9.0, 8.7), marks="1/20 14K GF", grams=9.0)).hatched

    def test_a_declared_layer_shows_what_the_mark_allows_at_most(self) -> None:
        picture = strip(assess(GOLD_14, marks="1/20 14K GF", grams=9.0))
        assert picture.payable is not None
        assert (picture.payable.high_ppm, picture.upper_bound) == (29_166, True)

    def test_a_shell_that_was_weighed_was_still_read_at_its_surface(self) -> None:
        shell = {"test": "stripped", "who": "shop", "shell": "27.9", "unit": "g"}
        picture = strip(assess(xrf(Ag=925, Cu=75), shell, marks="STERLING WEIGHTED", grams=274.0))
        assert picture.payable is not None
        assert picture.hatched

    def test_without_evidence_nothing_remains(self) -> None:
        picture = strip(assess())
        assert (picture.bars, picture.remains, picture.hatched, picture.claim_ppm) == ((), None, False, None)

    @pytest.mark.parametrize(("colour", "low"), [("yellow", 416), ("white", 196), ("", 196)])
    def test_a_density_bar_is_as_wide_as_the_rest_of_the_alloy_is_unknown(self, colour: str, low: int) -> None:
        # The family's densities, as in the tests of density; 13.2 on 20 g.
        bar = strip(assess(GOLD_14, dense(20.0, 13.2), marks="14K", colour=colour)).bars[-1]
        assert bar.low_ppm / 1000 == pytest.approx(low, abs=8)

    def test_silver_has_a_density_bar_and_platinum_none(self) -> None:
        tests = [bar.test for bar in strip(assess(xrf(Ag=925, Cu=75), dense(40.0, 10.3))).bars]
        assert tests == ["xrf", "density"]
        assert [bar.test for bar in strip(assess(xrf(Pt=950, Ru=50), dense(9.0, 20.6))).bars] == ["xrf"]

    def test_a_melt_has_its_bar(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "584", "method": "pin"}
        assert strip(assess(melt)).bars[0].low_ppm == 579_000


class TestPicture:
    """Readable in black and white and by a screen reader; nothing from outside."""

    FULL = (GOLD_14, filed(Au=582, Cu=418), streak(14, "holds"), dense(8.0, 13.1))

    def test_the_picture_has_a_title_and_a_description(self) -> None:
        assessment = assess(*self.FULL, marks="14K", grams=8.0)
        picture = drawn(assessment)
        assert picture.attrib["role"] == "img"
        assert picture.attrib["aria-labelledby"] == "strip-title strip-desc"
        assert picture.findtext(f"{SVG}title") == assessment.headline()
        assert picture.findtext(f"{SVG}desc") == words(strip(assessment))

    def test_two_strips_on_one_page_can_have_two_names(self) -> None:
        text = svg(strip(assess(GOLD_14)), "item-2")
        assert ET.fromstring(text).attrib["aria-labelledby"] == "item-2-title item-2-desc"
        ids = re.findall(r'id="([^"]+)"', text)
        assert sorted(ids) == ["item-2-desc", "item-2-hatch", "item-2-title"]
        assert set(re.findall(r"url\(#([^)]+)\)", text)) == {"item-2-hatch"}

    def test_only_black_white_and_grey_are_used(self) -> None:
        for colour in re.findall(r'(?:fill|stroke)="([^"]+)"', svg(strip(assess(*self.FULL, marks="14K")))):
            assert re.fullmatch(r"#([0-9a-f])\1\1|url\(#strip-hatch\)|stroke", colour), colour

    def test_nothing_is_fetched_and_nothing_runs(self) -> None:
        text = svg(strip(assess(*self.FULL, marks="14K")))
        assert text.count("http") == 1
        assert "<script" not in text

    def test_marks_are_escaped(self) -> None:
        picture = drawn(assess(xrf('<b>&"', Au=584, Cu=416), marks="14K"))
        assert any('<b>&"' in text for text in texts(picture))

    def test_bars_stand_where_their_figures_are(self) -> None:
        picture = drawn(assess(GOLD_14, marks="14K"))
        hatched = [rect for rect in picture.iter(f"{SVG}rect") if rect.get("fill") == "url(#strip-hatch)"]
        left = 250 + 520 * 0.574
        assert [float(rect.attrib["x"]) for rect in hatched] == pytest.approx([left, left], abs=0.01)
        assert float(hatched[0].attrib["width"]) == pytest.approx(520 * 0.020, abs=0.01)

    def test_a_narrow_band_is_still_drawn(self) -> None:
        picture = drawn(assess({**GOLD_14, "uncertainty": "1"}))
        widths = [float(rect.attrib["width"]) for rect in picture.iter(f"{SVG}rect")]
        assert min(width for width in widths if width != 5) == 2.0

    def test_figures_stand_beside_their_bars_on_the_side_that_has_room(self) -> None:
        picture = drawn(assess(xrf(Ag=925, Cu=75), streak(10, "holds", "deep"), marks="925"))
        anchors = {text.text: text.get("text-anchor") for text in picture.iter(f"{SVG}text")}
        assert anchors["915.0 to 935.0"] == "end"
        wide = drawn(assess(streak(6, "holds"), marks="14K"))
        assert {text.text: text.get("text-anchor") for text in wide.iter(f"{SVG}text")}["208.3 to 1000.0"] == "middle"

    def test_the_label_of_the_mark_does_not_run_off_the_page(self) -> None:
        for mark, label, anchor in (
            ("STERLING WEIGHTED", "STERLING WEIGHTED = 925.0", "end"),
            ("14K GF", "14K GF layer of 583.3", "middle"),
            ("14K", "14K = 583.3", "middle"),
            ("EPNS", "EPNS layer of 0.0", "start"),
        ):
            picture = drawn(assess(xrf(Ag=925, Cu=75), marks=mark))
            assert {text.text: text.get("text-anchor") for text in picture.iter(f"{SVG}text")}[label] == anchor

    def test_a_bar_of_another_metal_than_the_band_names_it(self) -> None:
        goblet = assess(xrf("bowl", Au=985, Ag=15), filed(Ag=925, Cu=75), marks="925")
        assert [bar.metal for bar in strip(goblet).bars] == ["gold", "silver"]
        assert {"X-ray, surface, bowl: gold", "X-ray, filed spot, notch"} <= set(texts(drawn(goblet)))

    def test_long_labels_are_cut_with_a_sign_that_they_are(self) -> None:
        picture = drawn(assess(xrf("x" * 60, Au=584, Cu=416)))
        assert any(text.endswith("…") and len(text) == 40 for text in texts(picture))

    def test_what_is_not_known_is_said_in_the_picture(self) -> None:
        said = texts(drawn(assess(marks="14K GF")))
        assert "Remains: not known" in said
        assert "May be paid for: nothing yet" in said
        assert "Mark: GF" not in said
        assert "Mark: none weighed against" in texts(drawn(assess()))
        assert "Mark: GF" in texts(drawn(assess(marks="GF")))


class TestWords:
    """The same as sentences."""

    def test_words_name_each_bar_the_claim_and_what_remains(self) -> None:
        said = words(strip(assess(GOLD_14, streak(14, "holds"), marks="14K")))
        assert said == (
            "Mark 14K: 583.3 per thousand, 580.3 with the legal tolerance,"
            " 562.5 where an older or foreign law governs it."
            " X-ray, surface, inside: gold 574.0 to 594.0, surface only."
            " Streak, 14 karat acid, holds: gold 541.6 to 1000.0, surface only."
            " Remains: gold 574.0 to 594.0, at the surface only."
            " May be paid for: nothing yet."
        )

    def test_words_say_when_a_bound_comes_from_the_mark(self) -> None:
        said = words(strip(assess(marks="1/20 12K GF", grams=5.0)))
        assert said == (
            "Mark 1/20 12K GF: a layer of 500.0 per thousand."
            " Remains: not known. May be paid for: 0.0 to 25.0, at most, by the mark."
        )
        assert words(strip(assess(marks="GF"))).startswith("Mark GF: no fineness of the whole.")
        assert words(strip(assess())).startswith("No mark to weigh against.")

    def test_a_band_seen_below_the_surface_is_said_plainly(self) -> None:
        said = words(strip(assess(filed(Au=584, Cu=416), marks="14K", grams=5.0)))
        assert "Remains: gold 574.0 to 594.0. May be paid for: 574.0 to 594.0." in said

    def test_a_strip_is_a_plain_value(self) -> None:
        assert strip(assess(GOLD_14)) == strip(assess(GOLD_14))
        assert isinstance(hash(strip(assess(GOLD_14))), int)
        assert Strip.__dataclass_params__.frozen  # type: ignore[attr-defined]

    def test_the_recorded_assessment_gives_the_same_strip(self) -> None:
        for marks, tests in (
            ("14K", (GOLD_14, filed(Au=582, Cu=418))),
            ("1/20 12K GF", ()),
            ("", ()),
            ("1?K", (GOLD_14,)),
        ):
            assessment = assess(*tests, marks=marks, grams=5.0)
            through_json = json.loads(json.dumps(assessment.record()))
            assert strip_of(through_json) == strip(assessment)
            assert strip(assessment).title == assessment.headline()

    def test_a_bar_names_its_part(self) -> None:
        chain = assess(xrf(part="clasp", Au=583, Cu=417), xrf(part="chain", Au=41, Cu=959))
        said = words(strip(chain))
        assert "clasp" in said
        assert "chain" in said
        bar = Bar("Melt assay, pin", "melt", "gold", 1, 2, False, "clasp")
        assert bar_label(strip(chain), bar) == "Melt assay, pin (clasp): gold"
