"""The fineness strip on paper: what each test saw, what the mark claims, what remains, on an axis from 0 to 1000.

Decides: shapes that a fax keeps apart: black where a test saw through the article, hatched where it saw only the
surface, a dashed line for the claim, a framed band for what the tests together leave open.
Leaves to others: every figure (assay), and where the strip stands (page).

>>> per_thousand(583_333), per_thousand(750_000)
('583.3', '750')
"""

from collections.abc import Sequence
from typing import Protocol

from reports.page import FOOT, SMALL, Sheet
from reports.printing import RULE

_ROW = 13.0
_BAR = 9.0
_LABELS, _FIGURES = 132.0, 78.0
_WHOLE = 1_000_000


class Span(Protocol):
    """Two ends in parts per million."""

    @property
    def low_ppm(self) -> int: ...
    @property
    def high_ppm(self) -> int: ...


class Bar(Span, Protocol):
    """What one test saw."""

    @property
    def label(self) -> str: ...
    @property
    def surface(self) -> bool: ...
    @property
    def part(self) -> str: ...


class Strip(Protocol):
    """The values of `ledger.assay.strip.Strip` that are drawn."""

    @property
    def title(self) -> str: ...
    @property
    def bars(self) -> Sequence[Bar]: ...
    @property
    def claim_label(self) -> str: ...
    @property
    def claim_low_ppm(self) -> int | None: ...
    @property
    def claim_ppm(self) -> int | None: ...
    @property
    def remains(self) -> Span | None: ...
    @property
    def payable(self) -> Span | None: ...
    @property
    def upper_bound(self) -> bool: ...
    @property
    def hatched(self) -> bool: ...


def per_thousand(ppm: int) -> str:
    """Parts per million as parts per thousand, with a decimal only where it says something."""
    whole, rest = divmod(ppm, 1000)
    return f"{whole}.{rest // 100}" if rest // 100 else str(whole)


def _between(span: Span) -> str:
    low, high = per_thousand(span.low_ppm), per_thousand(span.high_ppm)
    return low if low == high else f"{low} to {high}"


def height(strip: Strip) -> float:
    """Points that the strip takes on the page."""
    rows = len(strip.bars) + (strip.remains is not None) + (strip.payable is not None)
    return (rows + 1) * _ROW + 4 * FOOT * 1.25 + 18


def draw(sheet: Sheet, strip: Strip) -> None:
    """The strip over the width of the sheet, never split over two pages."""
    sheet.space(4)
    sheet.need(height(strip))
    sheet.lines([sheet.case.line(strip.title, SMALL, True)], SMALL)
    left, width = sheet.left + _LABELS, sheet.width - _LABELS - _FIGURES
    top = _axis(sheet, left, width)
    rows = len(strip.bars) + (strip.remains is not None) + (strip.payable is not None)
    foot = top - rows * _ROW - 3
    _claim(sheet, strip, left, width, top, foot)
    for bar in strip.bars:
        label = f"{bar.label} ({bar.part})" if bar.part else bar.label
        _row(sheet, left, width, label, bar, "hatched" if bar.surface else "solid")
    if strip.remains is not None:
        _row(sheet, left, width, "What remains", strip.remains, "band-hatched" if strip.hatched else "band")
    if strip.payable is not None:
        label = "Paid on, at most" if strip.upper_bound else "May be paid on"
        _row(sheet, left, width, label, strip.payable, "frame")
    sheet.pages.line(sheet.page, left, foot, left + width, foot)
    sheet.y = foot - (FOOT * 1.25 if strip.claim_ppm is not None else 0) - 4
    words = "Parts per thousand of pure metal. Black: seen through. Hatched: only the surface was seen."
    if strip.claim_ppm is not None:
        words += f" Dashed: {strip.claim_label} claims {per_thousand(strip.claim_ppm)}"
        low = strip.claim_low_ppm
        words += f", at least {per_thousand(low)}." if low is not None and low < strip.claim_ppm else "."
    sheet.text(words, FOOT)
    sheet.space(4)


def _x(left: float, width: float, ppm: int) -> float:
    return left + width * min(ppm, _WHOLE) / _WHOLE


def _axis(sheet: Sheet, left: float, width: float) -> float:
    """Ticks at every hundred; the result is the height where the bars begin."""
    sheet.y -= FOOT * 1.25 + 2
    for hundreds in range(11):
        x = left + width * hundreds / 10
        label = sheet.case.line(str(hundreds * 100), FOOT)
        sheet.pages.text(sheet.page, x - label.width / 2, sheet.y + 4, FOOT, label)
        sheet.pages.line(sheet.page, x, sheet.y + 2, x, sheet.y - 2)
    sheet.pages.line(sheet.page, left, sheet.y, left + width, sheet.y)
    sheet.y -= 2
    return sheet.y


def _row(sheet: Sheet, left: float, width: float, label: str, span: Span, kind: str) -> None:
    sheet.y -= _ROW
    base, page = sheet.y + 2, sheet.page
    name = sheet.case.wrap(label, FOOT, _LABELS - 8, kind.startswith("band"))[0]
    sheet.pages.text(page, sheet.left, base + 1, FOOT, name)
    figures = sheet.case.line(_between(span), FOOT, kind.startswith("band"))
    sheet.pages.text(page, left + width + 8, base + 1, FOOT, figures)
    start, end = _x(left, width, span.low_ppm), _x(left, width, span.high_ppm)
    if end - start < 3:  # a figure without spread is still seen on a fax
        start, end = (start + end) / 2 - 1.5, (start + end) / 2 + 1.5
    if kind == "solid":
        sheet.pages.bar(page, start, base, end - start, _BAR)
        return
    sheet.pages.frame(page, start, base, end - start, _BAR, 1.6 if kind.startswith("band") else RULE)
    if kind.endswith("hatched"):
        _hatch(sheet, start, end, base)
    elif kind == "band":
        sheet.pages.bar(page, start, base + _BAR / 3, end - start, _BAR / 3)


def _hatch(sheet: Sheet, start: float, end: float, base: float) -> None:
    """Strokes at 45 degrees, cut to the box."""
    x = start - _BAR + 2
    while x < end:
        first, last = max(x, start), min(x + _BAR, end)
        if last > first:
            sheet.pages.line(sheet.page, first, base + first - x, last, base + last - x, RULE)
        x += 4


def _claim(sheet: Sheet, strip: Strip, left: float, width: float, top: float, foot: float) -> None:
    """A dashed line for the mark's claim with its name below, and one more where its legal tolerance ends."""
    if strip.claim_ppm is not None:
        name = sheet.case.line(strip.claim_label, FOOT, True)
        x = _x(left, width, strip.claim_ppm) - name.width / 2
        sheet.pages.text(sheet.page, min(x, left + width - name.width / 2), foot - FOOT * 1.25, FOOT, name)
    for ppm, dash in ((strip.claim_ppm, 4.0), (strip.claim_low_ppm, 1.5)):
        if ppm is None or (dash < 2 and ppm == strip.claim_ppm):
            continue
        x, y = _x(left, width, ppm), top
        while y > foot:
            sheet.pages.line(sheet.page, x, y, x, max(y - dash, foot), 1)
            y -= dash * 2
