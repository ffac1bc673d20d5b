"""A day sheet of 1,000 lines, against bare reportlab drawing the same text: `python -m tests.bench.bench_day_sheet`.

The floor draws every text of the day sheet at its place with `drawString`, in the same embedded fonts and in the
file's built-in Helvetica, which reportlab draws faster since nothing is embedded; it checks no character, wraps no
line, and draws no rule and no code. The time of our day sheet includes all that.
"""

from dataclasses import replace
from functools import partial
from io import BytesIO
from unittest.mock import patch

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from reports import day_sheet
from reports.fonts import BOLD, REGULAR, setting_type
from reports.printing import Pages
from tests import paper_samples as samples
from tests.bench.pairs import compare, table, timed

Text = tuple[float, float, float, str, str]
"""x, y, size, font, text"""
GOAL = 0.7
BUILT_IN = {REGULAR: "Helvetica", BOLD: "Helvetica-Bold"}


def long_day() -> day_sheet.DaySheet:
    """1,000 lines, no two descriptions alike."""
    lines = [
        replace(line, description=f"Ring, yellow metal, plain band, inscription {number} inside the shank")
        for number, line in enumerate(samples.day_sheet(1000).lines)
    ]
    return replace(samples.day_sheet(), lines=tuple(lines))


def placed(paper: day_sheet.DaySheet) -> list[list[Text]]:
    """Every text of the day sheet where our drawing puts it, page by page."""
    with patch.object(Pages, "pdf", autospec=True, return_value=b"") as held:
        day_sheet.draw(paper)
    pages: Pages = held.call_args.args[0]
    return [
        [(x, y, size, piece.font, piece.text) for x, y, size, line in texts for piece in line.pieces]
        for texts in pages.texts
    ]


def bare(pages: list[list[Text]], fonts: dict[str, str]) -> bytes:
    """What reportlab alone takes to draw the texts. fonts: which font stands for each of ours."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=(612, 792), pageCompression=1, invariant=1)
    for texts in pages:
        now: tuple[str, float] = ("", 0.0)
        for x, y, points, font, text in texts:
            if (font, points) != now:
                now = (font, points)
                canvas.setFont(fonts[font], points)
            canvas.drawString(x, y, text)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def main() -> None:
    """Print one row against each floor."""
    paper = long_day()
    pages = placed(paper)
    with setting_type(paper) as case:
        for name in (REGULAR, BOLD):
            pdfmetrics.registerFont(case.font(name))
    ours = timed(partial(day_sheet.draw, paper))
    table(
        compare(
            "day sheet of 1,000 lines / same fonts",
            timed(partial(bare, pages, {n: n for n in BUILT_IN})),
            ours,
            goal=GOAL,
        ),
        compare("day sheet of 1,000 lines / Helvetica", timed(partial(bare, pages, BUILT_IN)), ours, goal=GOAL),
    )


if __name__ == "__main__":
    main()
