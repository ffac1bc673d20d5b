"""The fineness strip on paper, from 0 to 1000: what each test saw, what the mark claims, what remains.

Decides: shapes that a fax keeps apart: black where a test saw through the article, hatched where it saw only the
surface, a dashed line for the claim, a heavy frame for what the tests together leave open.
Leaves to others: every figure (assay), and where the strip stands (page).

>>> figures(Interval(577_000, 594_000)), figures(Interval(750_000, 750_000))
('577.0 to 594.0', '750.0')
"""

from dataclasses import dataclass

from ledger.assay.assessments import Bar, Interval
from ledger.assay.strip import Strip, bar_label
from ledger.measures import thousandths
from reports.fonts import Line
from reports.page import FOOT, SMALL, Sheet
from reports.printing import RULE

_ROW, _BAR, _LEADING = 13.0, 9.0, FOOT * 1.25
_LABELS, _FIGURES = 140.0, 78.0


@dataclass(frozen=True)
class _Row:
    """One band: its label's lines, its ends, whether hatched, whether heavy (a result, not a single test)."""

    label: tuple[Line, ...]
    band: Interval | Bar | None
    hatched: bool
    none: str = ""
    """what stands where a result has no band; "": a single test, drawn lighter"""

    @property
    def heavy(self) -> bool:
        return bool(self.none)

    @property
    def height(self) -> float:
        return max(_ROW, len(self.label) * _LEADING + 3)


def figures(band: Interval | Bar) -> str:
    """The ends of a band in parts per thousand."""
    low, high = thousandths(band.low_ppm), thousandths(band.high_ppm)
    return low if low == high else f"{low} to {high}"


def draw(sheet: Sheet, strip: Strip) -> None:
    """The strip over the width of the sheet, never split over two pages."""
    rows = _rows(sheet, strip)
    title = sheet.case.wrap(strip.title, SMALL, sheet.width, bold=True)
    key = sheet.case.wrap(_key(strip), FOOT, sheet.width)
    body = sum(row.height for row in rows) + 3
    sheet.space(5)
    sheet.need(len(title) * SMALL * 1.25 + 16 + body + (len(key) + 2) * _LEADING)
    sheet.lines(title, SMALL)
    left, width = sheet.left + _LABELS, sheet.width - _LABELS - _FIGURES
    _axis(sheet, left, width)
    foot = sheet.y - body
    _claim(sheet, strip, left, width, sheet.y, foot)
    for row in rows:
        sheet.y -= row.height
        _put(sheet, row, left, width)
    sheet.pages.line(sheet.page, left, foot, left + width, foot)
    sheet.y = foot - (_LEADING if strip.claim_ppm is not None else 0) - 4
    sheet.lines(key, FOOT)
    sheet.space(4)


def _rows(sheet: Sheet, strip: Strip) -> list[_Row]:
    def label(text: str, bold: bool = False) -> tuple[Line, ...]:
        return tuple(sheet.case.wrap(text, FOOT, _LABELS - 8, bold))

    rows = []
    for bar in strip.bars:
        rows.append(_Row(label(bar_label(strip, bar)), bar, bar.surface))
    remains = f"Remains, {strip.metal}" if strip.metal and strip.remains else "Remains"
    rows.append(_Row(label(remains, bold=True), strip.remains, strip.hatched, "not known"))
    payable = "May be paid for, at most" if strip.payable and strip.upper_bound else "May be paid for"
    rows.append(_Row(label(payable, bold=True), strip.payable, strip.upper_bound, "nothing yet"))
    return rows


def _key(strip: Strip) -> str:
    """What the shapes mean, and the claim in figures."""
    words = "Parts per thousand. Black: seen through. Hatched: seen at the surface only, or claimed only."
    if strip.claim_ppm is not None:
        layer = "a layer of " if strip.claim_of_layer else ""
        words += f" Dashed: {strip.claim_label} claims {layer}{thousandths(strip.claim_ppm)}"
        low = strip.claim_low_ppm
        words += f", at least {thousandths(low)}" if low is not None and low < strip.claim_ppm else ""
        least = strip.claim_least_ppm
        words += f", {thousandths(least)} under an older or foreign law (dotted)." if least is not None else "."
    elif strip.claim_label:
        words += f" The mark {strip.claim_label} claims no fineness of the whole."
    return words


def _x(left: float, width: float, ppm: int) -> float:
    return left + width * ppm / 1_000_000


def _axis(sheet: Sheet, left: float, width: float) -> None:
    """Ticks at every hundred, figures above them."""
    sheet.y -= _LEADING + 2
    for hundreds in range(11):
        x = left + width * hundreds / 10
        label = sheet.case.line(str(hundreds * 100), FOOT)
        sheet.pages.text(sheet.page, x - label.width / 2, sheet.y + 4, FOOT, label)
        sheet.pages.line(sheet.page, x, sheet.y + 2, x, sheet.y - 2)
    sheet.pages.line(sheet.page, left, sheet.y, left + width, sheet.y)
    sheet.y -= 2


def _put(sheet: Sheet, row: _Row, left: float, width: float) -> None:
    page, top = sheet.page, sheet.y + row.height
    for number, line in enumerate(row.label, 1):
        sheet.pages.text(page, sheet.left, top - number * _LEADING, FOOT, line)
    band = row.band
    beside = figures(band) if band else row.none
    line = sheet.case.line(beside, FOOT, row.heavy)
    sheet.pages.text(page, left + width + 8, top - _LEADING, FOOT, line)
    if band is None:
        return
    base, start, end = top - 2 - _BAR, _x(left, width, band.low_ppm), _x(left, width, band.high_ppm)
    if end - start < 3:  # a figure without spread is still seen on a fax
        start, end = (start + end) / 2 - 1.5, (start + end) / 2 + 1.5
    if row.hatched:
        sheet.pages.frame(page, start, base, end - start, _BAR, 1.6 if row.heavy else RULE)
        _hatch(sheet, start, end, base)
    elif row.heavy:
        sheet.pages.frame(page, start, base, end - start, _BAR, 1.6)
        sheet.pages.bar(page, start, base + _BAR / 3, end - start, _BAR / 3)
    else:
        sheet.pages.bar(page, start, base, end - start, _BAR)


def _hatch(sheet: Sheet, start: float, end: float, base: float) -> None:
    """Strokes at 45 degrees, cut to the box."""
    x = start - _BAR + 2
    while x < end:
        first, last = max(x, start), min(x + _BAR, end)
        sheet.pages.line(sheet.page, first, base + first - x, last, base + last - x, RULE)
        x += 4


def _claim(sheet: Sheet, strip: Strip, left: float, width: float, top: float, foot: float) -> None:
    """A dashed line for the mark's claim with its name below, and dotted ones where legal tolerances end."""
    if strip.claim_ppm is None:
        return
    name = sheet.case.line(strip.claim_label, FOOT, True)
    x = _x(left, width, strip.claim_ppm) - name.width / 2
    sheet.pages.text(sheet.page, min(x, sheet.right - name.width), foot - _LEADING, FOOT, name)
    lines = {strip.claim_ppm: 4.0}
    for ppm in (strip.claim_low_ppm, strip.claim_least_ppm):
        if ppm is not None:
            lines.setdefault(ppm, 1.5)
    for ppm, dash in lines.items():
        x, y = _x(left, width, ppm), top
        while y > foot:
            sheet.pages.line(sheet.page, x, y, x, max(y - dash, foot), 1)
            y -= dash * 2
