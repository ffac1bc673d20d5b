"""Small pictures of numbers as SVG: bars by day, what was paid beside what it was worth, holds on a time line.

Decides: shapes, so that all of it reads in black and white: filled bars, outlines, hatching, an arrow for what has no
end. Presentation attributes only, since no page may carry style of its own. Every picture names itself in words; the
page puts the same numbers into a table below. Leaves the numbers to the acts.

>>> "<title" in str(bars("m", "Money", "none", [("1", 0, "0")]))
True
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from html import escape

from markupsafe import Markup

Bar = tuple[str, int, str]
"""(name below, height as a whole number, figure in words)"""
_WIDTH, _LEFT, _FLOOR, _TOP, _HIGH = 720, 8, 150, 22, 128
_WIDEST = 40
_INK, _RULE = "#1b2333", "#8a8f9c"


def bars(name: str, title: str, says: str, values: Sequence[Bar]) -> Markup:
    """Bars side by side, each named below; the figure of the highest stands over it.

    name: begins the ids inside, unique on the page. says: the picture in a sentence, for whoever does not see it.
    """
    most = max((height for _, height, _ in values), default=0)
    step = (_WIDTH - 2 * _LEFT) / max(1, len(values))
    body = [_line(_LEFT, _FLOOR, _WIDTH - _LEFT, _FLOOR)]
    marked = False
    for place, (below, height, figure) in enumerate(values):
        x = _LEFT + place * step
        tall = height * _HIGH / most if most else 0
        if height:
            wide = min(step * 0.7, _WIDEST)
            body.append(_box(x + (step - wide) / 2, _FLOOR - max(tall, 2), wide, max(tall, 2), _INK))
        if height and height == most and not marked:
            anchor = "start" if place < len(values) / 4 else "end" if place > len(values) * 3 / 4 else "middle"
            at = x + {"start": step * 0.15, "middle": step / 2, "end": step * 0.85}[anchor]
            body.append(_text(at, _TOP - 8, figure, anchor))
            marked = True
        body.append(_text(x + step / 2, _FLOOR + 16, below, "middle"))
    return _svg(name, title, says, _FLOOR + 26, body)


def shares(name: str, title: str, says: str, rows: Sequence[tuple[str, int, int, str]]) -> Markup:
    """Rows of (name, part, whole, figure): the whole as an outline, the part of it filled."""
    body, y, left, width = [], 8, 130, 400
    most = max((whole for _, _, whole, _ in rows), default=0) or 1
    for label, part, whole, figure in rows:
        body.append(_text(_LEFT, y + 17, label))
        body.append(_frame(left, y, whole * width / most, 24))
        body.append(_box(left, y + 5, part * width / most, 14, _INK))
        body.append(_text(left + max(part, whole) * width / most + 8, y + 17, figure))
        y += 34
    return _svg(name, title, says, y + 4, body)


def spans(
    name: str,
    title: str,
    says: str,
    first: date,
    last: date,
    rows: Iterable[tuple[str, date, datetime | None, datetime | None, bool]],
) -> Markup:
    """A time line of rows: (name, begun, earliest end, latest end, whether something in it has no end yet).

    first, last: the days that it shows. Filled until the earliest end, hatched until the latest, an arrow for what
    waits.
    """
    left, right, y = 120, _WIDTH - 20, 30
    days = max(1, (last - first).days + 1)

    def x(day: date) -> float:
        return left + max(0, min(days, (day - first).days)) * (right - left) / days

    weeks = [first + timedelta(days=number) for number in range(0, days + 1, 7)]
    heads = [_text(x(week), 14, _short(week), "middle") for week in weeks]
    lines = []
    for label, begun, early, late, waits in rows:
        lines.append(_text(_LEFT, y + 13, label))
        start = x(begun)
        sure = x(begun if early is None else early.date())
        end = sure if late is None else x(late.date())
        if sure > start:
            lines.append(_box(start, y + 2, sure - start, 13, _INK))
        if end > sure:
            lines.append(_hatched(name, sure, y + 2, end - sure, 13))
        if waits:
            lines.append(_arrow(max(end, start), y + 8, right + 12))
        y += 22
    rules = [_line(x(week), 20, x(week), y, _RULE) for week in weeks]
    return _svg(name, title, says, y + 6, [_hatch(name), *rules, *heads, *lines])


def _short(day: date) -> str:
    return f"{day.day} {day:%b}"


def _svg(name: str, title: str, says: str, height: float, body: Iterable[str]) -> Markup:
    return Markup(
        f'<svg role="img" aria-labelledby="{escape(name)}-title {escape(name)}-says" viewBox="0 0 {_WIDTH} {height:g}"'
        f' width="{_WIDTH}" height="{height:g}" font-family="sans-serif" font-size="13" fill="{_INK}">'
        f'<title id="{escape(name)}-title">{escape(title)}</title>'
        f'<desc id="{escape(name)}-says">{escape(says)}</desc>{"".join(body)}</svg>'
    )


def _text(x: float, y: float, text: str, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _box(x: float, y: float, width: float, height: float, fill: str) -> str:
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{fill}"/>'


def _frame(x: float, y: float, width: float, height: float) -> str:
    shape = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
    return f'<rect {shape} fill="none" stroke="{_INK}" stroke-width="1.5"/>'


def _hatched(name: str, x: float, y: float, width: float, height: float) -> str:
    shape = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
    return f'<rect {shape} fill="url(#{escape(name)}-hatch)" stroke="{_INK}"/>'


def _hatch(name: str) -> str:
    turned = 'width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"'
    return (
        f'<defs><pattern id="{escape(name)}-hatch" {turned}><rect width="5" height="5" fill="#fff"/>'
        f'<line x1="0" y1="0" x2="0" y2="5" stroke="{_INK}" stroke-width="2"/></pattern></defs>'
    )


def _line(x: float, y: float, to_x: float, to_y: float, ink: str = _INK) -> str:
    return f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{to_x:.1f}" y2="{to_y:.1f}" stroke="{ink}"/>'


def _arrow(x: float, y: float, end: float) -> str:
    shaft = f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{end:.1f}" y2="{y:.1f}" stroke="{_INK}" stroke-dasharray="5 3"/>'
    head = f'<path d="M{end:.1f} {y:.1f} l-7 -4 v8 z" fill="{_INK}"/>'
    return shaft + head
