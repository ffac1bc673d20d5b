"""Pictures of numbers: SVG that names itself, carries no style or script, and escapes every word."""

import xml.etree.ElementTree as ET
from datetime import date, datetime

from markupsafe import Markup

from ledger.web import drawings


def read(drawn: Markup) -> ET.Element:
    return ET.fromstring(str(drawn))


def boxes(drawn: Markup) -> list[tuple[float, float]]:
    """(width, height) of every filled box."""
    return [
        (float(one.attrib["width"]), float(one.attrib["height"]))
        for one in read(drawn).iter("rect")
        if one.get("fill", "").startswith("#1")
    ]


class TestDrawings:
    """Every picture is one element with a title and a description; nothing in it is style or script."""

    def test_all_of_them_name_themselves_and_style_nothing(self) -> None:
        for drawn in (
            drawings.bars("a", "T & co", "<says>", [("<1>", 5, "5")]),
            drawings.shares("b", "T", "S", [("gold", 1, 2, "50 %")]),
            drawings.spans("c", "T", "S", date(2026, 10, 1), date(2026, 10, 31), []),
        ):
            root = read(drawn)
            names = {one.attrib["id"] for one in root.iter() if "id" in one.attrib}
            assert set(root.attrib["aria-labelledby"].split()) <= names
            assert root.find("title") is not None
            assert "style" not in str(drawn)
            assert "<script" not in str(drawn)

    def test_bars_are_as_high_as_their_numbers(self) -> None:
        found = boxes(drawings.bars("a", "T", "S", [("1", 50, "50"), ("2", 0, ""), ("3", 100, "100"), ("4", 25, "25")]))
        assert [height for _, height in found] == [64.0, 128.0, 32.0]
        assert boxes(drawings.bars("a", "T", "S", [])) == []

    def test_the_highest_bars_figure_stays_on_the_sheet_at_either_end(self) -> None:
        for values in ([("1", 9, "high"), *[("2", 1, "1")] * 9], [*[("2", 1, "1")] * 9, ("1", 9, "high")]):
            (text,) = (one for one in read(drawings.bars("a", "T", "S", values)).iter("text") if one.text == "high")
            assert text.attrib["text-anchor"] == ("start" if values[0][1] == 9 else "end")

    def test_a_share_is_a_part_of_its_outline(self) -> None:
        drawn = drawings.shares("b", "T", "S", [("gold", 80, 100, "80 %"), ("silver", 25, 50, "50 %")])
        outlines = [float(one.attrib["width"]) for one in read(drawn).iter("rect") if one.get("fill") == "none"]
        assert outlines == [400.0, 200.0]
        assert [width for width, _ in boxes(drawn)] == [320.0, 100.0]
        assert boxes(drawings.shares("b", "T", "S", [("none", 0, 0, "-")])) == [(0.0, 14.0)]

    def test_a_span_is_filled_until_the_first_hatched_until_the_last_and_an_arrow_where_there_is_no_end(self) -> None:
        first, last = date(2026, 10, 1), date(2026, 10, 30)
        rows = [
            ("1", date(2026, 10, 1), datetime(2026, 10, 16), datetime(2026, 10, 31), False),
            ("2", date(2026, 10, 5), None, None, True),
            ("3", date(2026, 10, 5), datetime(2026, 10, 5), datetime(2026, 10, 5), False),
        ]
        drawn = drawings.spans("c", "T", "S", first, last, rows)
        assert [width for width, _ in boxes(drawn)] == [290.0]
        hatched = [one for one in read(drawn).iter("rect") if one.get("fill", "").startswith("url")]
        assert [float(one.attrib["width"]) for one in hatched] == [290.0]
        assert len(list(read(drawn).iter("path"))) == 1
