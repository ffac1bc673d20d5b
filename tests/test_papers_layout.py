"""Where things stand: nothing runs over an edge or over another line, long papers break, faxes stay legible."""

from collections import defaultdict
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import pairwise
from typing import Any

import pdfplumber
import pytest

from ledger.assay.assessments import Interval
from ledger.assay.evidence import read
from ledger.assay.strip import Strip, strip
from ledger.assay.weighing import weigh
from ledger.errors import InputError
from reports import authority, day_sheet, declaration, dossier, hold_list, label, purchase, stub
from reports.fonts import setting_type
from reports.goods import Field
from reports.page import SHEETS, Column, Row, Sheet
from tests import paper_samples as samples
from tests.paper_tools import NAMES, drawn, pages_of, text_of

LONG_NAME = "Wolfeschlegelsteinhausenbergerdorff-" * 6 + " of Upper " + "Llanfairpwllgwyngyll " * 8
LONG_WORD = "x" * 500


def laid_out(pdf: bytes, *numbers: int) -> list[Any]:
    """Letters, lines and boxes of the pages named by number, or of all."""
    with pdfplumber.open(BytesIO(pdf), pages=list(numbers) or None) as file:
        return [
            {"width": page.width, "height": page.height, "chars": page.chars, "lines": page.lines, "rects": page.rects}
            for page in file.pages
        ]


@cache
def sample(name: str) -> list[Any]:
    """The first two pages of a sample paper."""
    return laid_out(drawn(name), 1, 2)


def many_items() -> bytes:
    return purchase.draw(
        replace(
            samples.purchase(),
            fields=(Field("Name", LONG_NAME, True), Field("Address", LONG_WORD, True), Field("Document", None, True)),
            items=tuple(samples.ring(line) for line in range(1, 41)),
        )
    )


def longest_everything() -> list[bytes]:
    """Papers of every kind whose texts are far longer than any column."""
    imprint = replace(
        samples.imprint(), shop=LONG_NAME[:120], licence=LONG_NAME, address=(LONG_NAME,), recipient=LONG_WORD
    )
    lines = tuple(replace(line, description=LONG_NAME, amount="USD 123,456,789.00") for line in samples.stub(9).items)
    holds = tuple(replace(line, description=LONG_WORD, place=LONG_NAME) for line in samples.hold_list().lines)
    events = tuple(
        replace(event, sentences=(LONG_NAME,) * 3, struck=(LONG_WORD,)) for event in samples.dossier().events
    )
    item = replace(samples.ring(), title=LONG_NAME, conclusion=LONG_WORD)
    days = tuple(replace(line, description=LONG_NAME, fineness=LONG_WORD) for line in samples.day_sheet(3).lines)
    return [
        stub.draw(replace(samples.stub(), imprint=imprint, items=lines)),
        label.draw(
            [replace(samples.label(), imprint=imprint, description=LONG_NAME, place=LONG_NAME, basis=LONG_NAME)]
        ),
        hold_list.draw(replace(samples.hold_list(), imprint=imprint, lines=holds)),
        dossier.draw(replace(samples.dossier(), imprint=imprint, events=events, item=item)),
        day_sheet.draw(replace(samples.day_sheet(), imprint=imprint, lines=days)),
        authority.draw_nil(replace(samples.nil(), imprint=imprint, recipient=LONG_NAME)),
        declaration.draw(replace(samples.slip_page(), imprint=imprint, declaration=LONG_NAME * 9)),
    ]


def faults_of(pages: list[Any]) -> list[str]:
    """Letters over an edge of the page, and letters that lie on letters of another line."""
    faults = []
    for number, page in enumerate(pages, 1):
        rows: dict[float, list[Any]] = defaultdict(list)
        for char in page["chars"]:
            if min(char["x0"], page["width"] - char["x1"], char["top"]) < 4:
                faults.append(f"page {number}: {char['text']!r} at {char['x0']:.0f} runs over an edge")
            if char["bottom"] > page["height"] - 4:
                faults.append(f"page {number}: {char['text']!r} runs over the foot")
            if char["text"].strip():
                rows[round(char["matrix"][5], 1)].append(char)
        bases = sorted(rows)
        for low, high in pairwise(bases):
            smaller = min(rows[low][0]["size"], rows[high][0]["size"])
            if high - low < 0.75 * smaller and meet(rows[low], rows[high]):
                faults.append(f"page {number}: lines at {low} and {high} lie on each other")
    return faults


def meet(one: list[Any], other: list[Any]) -> bool:
    """Whether letters of two lines share a place across the page."""
    spans = sorted((char["x0"], char["x1"], line) for line, chars in enumerate((one, other)) for char in chars)
    ends = [0.0, 0.0]  # how far each line has come, left to right
    for start, end, line in spans:
        if start < ends[1 - line] - 0.5:
            return True
        ends[line] = max(ends[line], end)
    return False


class TestRoom:
    @pytest.mark.parametrize("name", NAMES)
    def test_nothing_runs_over_an_edge_or_another_line(self, name: str) -> None:
        assert faults_of(sample(name)) == []

    def test_the_longest_names_stay_inside_too(self) -> None:
        for pdf in longest_everything():
            assert faults_of(laid_out(pdf, 1)) == []

    def test_forty_items_break_over_pages_that_each_have_head_and_foot(self) -> None:
        pdf = many_items()
        assert faults_of(laid_out(pdf, 2, 20)) == []
        pages = pages_of(pdf)
        assert len(pages) > 20
        for number, text in enumerate(pages, 1):
            assert "Harrow Lane Metal Buyers" in text
            assert f"page {number} of {len(pages)}" in text
        whole = " ".join(pages)
        assert [f"Item 12/{line}: Ring" in whole for line in range(1, 41)] == [True] * 40
        assert LONG_WORD in "".join(" ".join(pages).split()).replace("-", "")

    def test_a_table_over_many_pages_repeats_its_head_and_keeps_every_line(self) -> None:
        pages = pages_of(day_sheet.draw(samples.day_sheet(200), "a4"))
        assert len(pages) > 3
        assert all("May leave from" in text for text in pages[:-1])
        entries = {word for text in pages for word in text.split()}
        assert {str(40 + number) for number in range(200)} <= entries

    @pytest.mark.parametrize("lines", [1, 5, 30, 300])
    def test_the_head_of_a_table_never_stands_alone_at_the_foot_of_a_page(self, lines: int) -> None:
        for used in range(600, 760, 12):
            with setting_type({}) as case:
                page = Sheet(case, "Test", samples.imprint(), "a4")
                page.y = SHEETS["a4"][1] - used
                page.table([Column("Titled", 1)], [Row(("\n".join(["first", *["more"] * (lines - 1)]),))])
                pages = pages_of(page.finish())
            assert next("first" in text for text in pages if "Titled" in text), used

    def test_a_column_title_may_take_two_lines(self) -> None:
        with setting_type({}) as case:
            page = Sheet(case, "Test", samples.imprint(), "a4")
            columns = (Column("A title of its own that is long", 1, True), Column("Short", 9))
            page.table(columns, [Row(("1", "one"))])
            pdf = page.finish()
        assert "A title of its own that is long" in " ".join(
            word for word in text_of(pdf).replace("Short ", "").split()
        )
        assert faults_of(laid_out(pdf, 1)) == []

    def test_a_cell_taller_than_a_page_is_split(self) -> None:
        line = replace(samples.day_sheet().lines[0], description=LONG_NAME * 9)
        pdf = day_sheet.draw(replace(samples.day_sheet(), lines=(line, line)))
        assert len(pages_of(pdf)) > 2
        assert faults_of(laid_out(pdf, 1)) == []

    def test_a_head_taller_than_a_third_of_the_page_is_refused(self) -> None:
        imprint = replace(samples.imprint(), shop="Harrow Lane " * 200)
        with pytest.raises(InputError, match="short enough for the head of a page"):
            stub.draw(replace(samples.stub(), imprint=imprint))

    def test_cautions_taller_than_a_page_are_not_lost(self) -> None:
        # The box that holds them would not fit; they then run on under a heading.
        with setting_type({}) as case:
            page = Sheet(case, "Test", samples.imprint(), "letter")
            page.notice("Cautions", ["A sentence that is said again. " * 400])
            pdf = page.finish()
        assert "".join(pages_of(pdf)).count("is said again") == 400
        assert faults_of(laid_out(pdf, 1)) == []


class TestFax:
    """black on white, legible by fax: no grey text, no thin lines."""

    @pytest.mark.parametrize("name", NAMES)
    def test_everything_is_black_on_white_and_large_enough(self, name: str) -> None:
        for page in sample(name):
            for char in page["chars"]:
                assert char["size"] >= 8
                assert is_black(char["non_stroking_color"])
            for line in page["lines"]:
                assert line["linewidth"] >= 0.8
                assert is_black(line["stroking_color"])


def is_black(colour: Any) -> bool:
    """Grey or RGB with nothing in it; black is also what a page starts with."""
    return colour is None or not any(colour if isinstance(colour, tuple) else (colour,))


class TestStrokes:
    """corrections: the old line stays readable, struck through on paper."""

    @pytest.mark.parametrize(
        ("name", "old", "new"),
        [("purchase-report", "6.5 (US ring)", "7 (US ring)"), ("dossier", "Size 6.5 (US ring).", "Size 7 (US ring).")],
    )
    def test_the_old_line_is_struck_through_and_the_new_one_is_not(self, name: str, old: str, new: str) -> None:
        struck = [text for page in sample(name) for text in struck_texts(page)]
        assert struck == [old]
        assert new not in struck

    def test_a_void_line_of_the_day_sheet_is_struck_through(self) -> None:
        struck = [text for page in sample("day-sheet") for text in struck_texts(page)]
        assert "41" in struck
        assert "40" not in struck


def struck_texts(page: Any) -> list[str]:
    """Texts whose middle a level line crosses from end to end."""
    texts = []
    for line in page["lines"]:
        if abs(line["top"] - line["bottom"]) > 0.01:
            continue
        under = [
            char
            for char in page["chars"]
            if char["top"] + 2 < line["top"] < char["bottom"] - 2
            and line["x0"] - 0.5 <= char["x0"]
            and char["x1"] <= line["x1"] + 0.5
        ]
        if under and abs(max(char["x1"] for char in under) - line["x1"]) < 1:
            texts.append("".join(char["text"] for char in sorted(under, key=lambda char: char["x0"])))
    return texts


class TestStrip:
    """the fineness strip: axis 0 to 1000, a bar per test, hatched where only the surface was seen."""

    def test_bars_stand_where_the_axis_says(self) -> None:
        page = strip_page()
        zero, thousand = axis(page)
        black = [
            rect for rect in page["rects"] if rect["fill"] and abs(rect["height"] - 9) < 0.1 and not rect["stroke"]
        ]
        assert len(black) == 1  # weighed in water: 560 to 620 per thousand, seen through
        assert black[0]["x0"] == pytest.approx(zero + 0.560 * (thousand - zero), abs=0.05)
        assert black[0]["x1"] == pytest.approx(zero + 0.620 * (thousand - zero), abs=0.05)

    def test_a_surface_reading_is_hatched_inside_its_bar(self) -> None:
        page = strip_page()
        zero, thousand = axis(page)
        start, end = zero + 0.577 * (thousand - zero), zero + 0.594 * (thousand - zero)
        slanted = [line for line in page["lines"] if line["width"] > 0.5 and line["height"] > 0.5]
        assert slanted
        assert all(start - 0.1 <= line["x0"] and line["x1"] <= end + 0.1 for line in slanted)

    def test_the_claim_is_a_dashed_line_with_its_name(self) -> None:
        page = strip_page()
        zero, thousand = axis(page)
        claim = zero + 0.583333 * (thousand - zero)
        dashes = [line for line in page["lines"] if line["width"] < 0.01 and abs(line["x0"] - claim) < 0.05]
        assert len(dashes) > 3
        assert "Dashed: 14K claims 583.3, at least 580.3." in text_of(drawn("dossier"))

    def test_a_strip_without_claim_or_result_says_so(self) -> None:
        bare = replace(
            samples.RING_STRIP, bars=(), claim_label="", claim_ppm=None, claim_low_ppm=None, remains=None, metal=""
        )
        text = text_of(dossier_with(bare))
        assert "Remains not known" in text
        assert "May be paid for nothing yet" in text
        assert "14K claims" not in text

    def test_a_layered_article_is_paid_at_most_by_its_mark(self) -> None:
        layered = replace(
            samples.RING_STRIP,
            bars=(replace(samples.RING_STRIP.bars[0], label="A label far too long for its column " * 3, part="lid"),),
            claim_label="1/20 12K GF",
            claim_ppm=None,
            claim_low_ppm=None,
            payable=Interval(0, 25_000),
            upper_bound=True,
        )
        text = text_of(dossier_with(layered))
        assert "May be paid for, at most 0.0 to 25.0" in text
        assert "The mark 1/20 12K GF claims no fineness of the whole." in text
        assert faults_of(laid_out(dossier_with(layered), 1)) == []

    def test_a_claim_without_tolerance_and_a_figure_without_spread_are_drawn(self) -> None:
        exact = Interval(583_333, 583_333)
        pdf = dossier_with(replace(samples.RING_STRIP, claim_low_ppm=None, remains=exact))
        assert "Dashed: 14K claims 583.3." in text_of(pdf)
        assert "Remains, gold 583.3" in text_of(pdf)
        assert "at least" not in text_of(pdf)

    def test_the_claim_of_a_layer_and_an_older_tolerance_are_named_in_the_key(self) -> None:
        strip = replace(samples.RING_STRIP, claim_of_layer=True, claim_least_ppm=562_500)
        said = " ".join(text_of(dossier_with(strip)).split())
        assert "claims a layer of 583.3, at least 580.3, 562.5 under an older or foreign law (dotted)." in said

    def test_what_the_assay_room_makes_of_evidence_can_be_drawn(self) -> None:
        reading = {
            "test": "xrf",
            "unit": "per-mille",
            "readings": [{"elements": {"Au": "584", "Ag": "119", "Cu": "297"}}],
        }
        picture = strip(weigh(read([reading]), marks=[("14K", "")]))
        text = text_of(dossier_with(picture))
        assert picture.title in text
        assert all(bar.label in text for bar in picture.bars)


def dossier_with(picture: Strip) -> bytes:
    item = samples.ring()
    assert item.judgement is not None
    return dossier.draw(
        replace(samples.dossier(), item=replace(item, judgement=replace(item.judgement, strip=picture)))
    )


def strip_page() -> Any:
    return sample("dossier")[0]


def axis(page: Any) -> tuple[float, float]:
    """Ends of the axis across the page: the first and last of its eleven ticks."""
    ticks = [line for line in page["lines"] if line["width"] < 0.01 and abs(line["height"] - 4) < 0.01]
    tops = defaultdict(list)
    for tick in ticks:
        tops[round(tick["top"], 1)].append(tick["x0"])
    places = next(found for found in tops.values() if len(found) == 11)
    return min(places), max(places)
