"""The fineness strip: one picture of an article's evidence, on an axis from 0 to 1000 parts per thousand.

Decides: which bars, which claim and which remaining band are drawn, the picture for the screen and the same in words.
Leaves to the papers drawing the same numbers as vectors. Black on white; a band that only the surface bears out is
hatched, one that a test below the surface bears out is solid.

>>> from ledger.assay.evidence import read
>>> from ledger.assay.weighing import weigh
>>> reading = {"test": "xrf", "unit": "per-mille", "readings": [{"elements": {"Au": "584", "Ag": "119", "Cu": "297"}}]}
>>> picture = strip(weigh(read([reading]), marks=[("14K", "")]))
>>> (picture.remains.low_ppm, picture.hatched, picture.claim_low_ppm)
(574000, True, 580333)
"""

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from ledger.assay.assessments import Assessment, Bar, Interval, Owed, headline
from ledger.measures import thousandths


@dataclass(frozen=True)
class Strip:
    """The numbers of one fineness strip, parts per million."""

    title: str
    metal: str
    """empty: not known"""
    bars: tuple[Bar, ...]
    claim_label: str
    """the mark as read; empty: none"""
    claim_ppm: int | None
    claim_low_ppm: int | None
    """the claim less the tolerance that the law allows"""
    remains: Interval | None
    """what all tests of the metal seen leave"""
    hatched: bool
    """only the surface bears `remains` out"""
    payable: Interval | None
    upper_bound: bool
    scale_ppm: int = 1_000_000
    claim_of_layer: bool = False
    """the claim is of a layer's fineness, not of the whole"""
    claim_least_ppm: int | None = None
    """the claim less the largest tolerance, of an older or foreign law, where that may govern it"""


def strip(assessment: Assessment) -> Strip:
    """The fineness strip of an assessment."""
    return strip_of(assessment.record())


def strip_of(record: Mapping[str, Any]) -> Strip:
    """The fineness strip of an assessment as the book holds it: what was recorded, however tests are weighed today.

    record: as `Assessment.record` gives it.
    """
    claim, payable = record.get("claim", {}), record.get("payable")
    metal, seen = record.get("metal"), _interval(record.get("seen"))
    fine, upper_bound = claim.get("fineness_ppm"), bool(payable and payable["upper_bound"])
    bars = tuple(Bar(**bar) for bar in record["bars"])
    owed = Owed(**record["owed"][0]).words() if record["owed"] else ""
    confidence = record["confidence"]["words"]
    # What may be paid for by net weight or melt rests on a test that saw below the surface; a declared layer rests on
    # its mark, and the shell of weighted ware was weighed, but read at its surface.
    deep = payable is not None and not upper_bound and payable["on"] != "shell"
    return Strip(
        title=headline(record["construction"], confidence, metal, seen, record["standing"], owed),
        metal=metal or "",
        bars=bars,
        claim_label=claim.get("text", ""),
        claim_ppm=fine,
        claim_low_ppm=None if fine is None else fine - claim["tolerance_ppm"],
        claim_least_ppm=fine - claim["tolerance_most_ppm"] if "tolerance_most_ppm" in claim else None,
        claim_of_layer=claim.get("construction") in ("layered", "plated"),
        remains=seen,
        hatched=seen is not None and not (deep or _seen_below(bars, metal)),
        payable=_interval(payable),
        upper_bound=upper_bound,
    )


def _interval(record: Mapping[str, Any] | None) -> Interval | None:
    return None if record is None else Interval(record["low_ppm"], record["high_ppm"])


def _seen_below(bars: tuple[Bar, ...], metal: str | None) -> bool:
    """Whether a reading, streak or melt from below the surface stands behind the interval."""
    return any(not bar.surface and bar.test != "density" and bar.metal == metal for bar in bars)


def bar_label(picture: Strip, bar: Bar) -> str:
    """What stands beside a bar: the test, the part where it names one, the metal where it is not that of the strip."""
    metal = f": {bar.metal}" if bar.metal != picture.metal else ""
    return _of_part(bar) + metal


def _of_part(bar: Bar) -> str:
    return f"{bar.label} ({bar.part})" if bar.part and bar.part not in bar.label else bar.label


_LEFT, _WIDTH, _ROW, _TOP = 250, 520, 20, 34
_PAGE = _LEFT + _WIDTH + 30


def svg(picture: Strip, name: str = "strip") -> str:
    """The strip as an SVG document: black on white, with a title and a description that a screen reader reads.

    name: begins the ids inside; two strips on one page need two names, of letters, digits and hyphens.
    Shape: one <svg> element, no scripts, no outside references; the same strip gives the same text.
    """
    rows = len(picture.bars)
    foot = _TOP + _ROW * (rows + 2)
    body = [_axis(foot), *_claim(picture, foot)]
    hatch = f"url(#{name}-hatch)"
    for place, bar in enumerate(picture.bars):
        fill = hatch if bar.surface else "#777"
        body.append(_band(_TOP + _ROW * place, bar_label(picture, bar), bar.low_ppm, bar.high_ppm, fill))
    y = _TOP + _ROW * rows
    if picture.remains:
        label = f"Remains, {picture.metal}"
        fill = hatch if picture.hatched else "#000"
        body.append(_band(y, label, picture.remains.low_ppm, picture.remains.high_ppm, fill))
    else:
        body.append(_text(4, y + 14, "Remains: not known"))
    y += _ROW
    if picture.payable:
        label = "May be paid for" + (", at most" if picture.upper_bound else "")
        fill = hatch if picture.upper_bound else "#000"
        body.append(_band(y, label, picture.payable.low_ppm, picture.payable.high_ppm, fill))
    else:
        body.append(_text(4, y + 14, "May be paid for: nothing yet"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{name}-title {name}-desc"'
        f' viewBox="0 0 {_PAGE} {foot + 50}" font-family="sans-serif" font-size="12">'
        f'<title id="{name}-title">{escape(picture.title)}</title>'
        f'<desc id="{name}-desc">{escape(words(picture))}</desc>{_hatch(name)}'
        f'<rect width="{_PAGE}" height="{foot + 50}" fill="#fff"/>{"".join(body)}</svg>'
    )


def _hatch(name: str) -> str:
    turned = 'width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"'
    return (
        f'<defs><pattern id="{name}-hatch" {turned}><rect width="5" height="5" fill="#fff"/>'
        '<line x1="0" y1="0" x2="0" y2="5" stroke="#000" stroke-width="2"/></pattern></defs>'
    )


def _x(ppm: int) -> str:
    return f"{_LEFT + ppm * _WIDTH / 1_000_000:.2f}"


def _text(x: float | str, y: float, text: str, anchor: str = "start") -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}">{escape(text)}</text>'


def _axis(foot: int) -> str:
    ticks = [
        f'<line x1="{_x(ppm)}" y1="{_TOP - 6}" x2="{_x(ppm)}" y2="{foot}" stroke="#bbb"/>'
        + _text(_x(ppm), foot + 14, str(ppm // 1000), "middle")
        for ppm in range(0, 1_000_001, 100_000)
    ]
    rule = f'<line x1="{_x(0)}" y1="{foot}" x2="{_x(1_000_000)}" y2="{foot}" stroke="#000"/>'
    unit = _text(_x(500_000), foot + 29, "parts per thousand", "middle")
    return "".join(ticks) + rule + unit + _text(4, foot + 44, _KEY)


_KEY = "Hatched: seen at the surface only, or claimed only. Dashed: the mark. Grey: its tolerance; dotted: the largest."
"""What the shapes of the picture mean."""


def _claim(picture: Strip, foot: int) -> list[str]:
    if picture.claim_ppm is None or picture.claim_low_ppm is None:
        return [_text(4, 16, f"Mark: {picture.claim_label or 'none weighed against'}")]
    low, high = _x(picture.claim_low_ppm), _x(picture.claim_ppm)
    allowed = f'<rect x="{low}" y="20" width="{float(high) - float(low):.2f}" height="{foot - 20}" fill="#ddd"/>'
    lines = [allowed, _dashed(high, foot, "6 3")]
    if picture.claim_least_ppm is not None:
        lines.append(_dashed(_x(picture.claim_least_ppm), foot, "1 4"))
    means = "layer of" if picture.claim_of_layer else "="
    # Beside the line near the ends of the axis, above it elsewhere: the label must not run off the page.
    anchor = "end" if picture.claim_ppm > 750_000 else "start" if picture.claim_ppm < 250_000 else "middle"
    return [*lines, _text(high, 14, f"{picture.claim_label} {means} {thousandths(picture.claim_ppm)}", anchor)]


def _dashed(x: str, foot: int, dashes: str) -> str:
    style = f'stroke="#000" stroke-width="1.5" stroke-dasharray="{dashes}"'
    return f'<line x1="{x}" y1="20" x2="{x}" y2="{foot}" {style}/>'


def _band(y: int, label: str, low: int, high: int, fill: str) -> str:
    # A band narrower than two units would vanish on paper; it is drawn two wide, its figures stand beside it.
    start, width = float(_x(low)), max(2.0, float(_x(high)) - float(_x(low)))
    figures = f"{thousandths(low)} to {thousandths(high)}"
    beside = (start + width + 5, "start") if high <= 750_000 else (start - 5, "end")
    if high > 750_000 and low < 250_000:
        beside = (start + width / 2, "middle")
    halo = 'stroke="#fff" stroke-width="3" paint-order="stroke"'
    return (
        f'<rect x="{start:.2f}" y="{y + 4}" width="{width:.2f}" height="12" fill="{fill}" stroke="#000"/>'
        + _text(4, y + 14, label if len(label) <= 40 else label[:39] + "…")
        + f'<text x="{beside[0]:.2f}" y="{y + 14}" text-anchor="{beside[1]}" {halo}>{figures}</text>'
    )


def words(picture: Strip) -> str:
    """The strip as sentences: each bar with its figures, the claim, what remains and what may be paid for."""
    said = []
    if picture.claim_ppm is not None and picture.claim_low_ppm is not None:
        tolerance = picture.claim_ppm - picture.claim_low_ppm
        less = f", {thousandths(picture.claim_low_ppm)} with the legal tolerance" if tolerance else ""
        layer = "a layer of " if picture.claim_of_layer else ""
        least = picture.claim_least_ppm
        older = "" if least is None else f", {thousandths(least)} where an older or foreign law governs it"
        said.append(f"Mark {picture.claim_label}: {layer}{thousandths(picture.claim_ppm)} per thousand{less}{older}.")
    elif picture.claim_label:
        said.append(f"Mark {picture.claim_label}: no fineness of the whole.")
    else:
        said.append("No mark to weigh against.")
    for bar in picture.bars:
        depth = ", surface only" if bar.surface else ""
        said.append(f"{_of_part(bar)}: {bar.metal} {thousandths(bar.low_ppm)} to {thousandths(bar.high_ppm)}{depth}.")
    if picture.remains:
        depth = ", at the surface only" if picture.hatched else ""
        said.append(f"Remains: {picture.metal} {picture.remains.words()}{depth}.")
    else:
        said.append("Remains: not known.")
    if picture.payable:
        most = ", at most, by the mark" if picture.upper_bound else ""
        said.append(f"May be paid for: {picture.payable.words()}{most}.")
    else:
        said.append("May be paid for: nothing yet.")
    return " ".join(said)
