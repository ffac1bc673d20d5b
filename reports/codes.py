"""Codes a scanner reads back: QR for seals, Code128 for item numbers, both as black rectangles.

Decides: how wide a module is printed (wide enough for a fax or a 150 dpi scan) and the quiet zone around it.
Leaves to others: what stands in the code and where it lies on the page.

>>> len(modules("counterfoil"))
29
"""

from functools import lru_cache
from typing import Any

from ledger.errors import InputError

QR_MODULE_PT = 1.25
"""0.44 mm: 2.6 dots at 150 dpi, 3.5 at fine fax. Source: measured with zxing-cpp on 150 dpi pictures."""
BAR_PT = 1.7
"""0.6 mm for the narrow bar; bars of 0.25 mm could not be read at 150 dpi. Source: measured the same way."""
_QUIET = 4
"""Source: ISO/IEC 18004, 6.3.8: four modules of white on every side."""
_LONGEST = 1200


@lru_cache(maxsize=64)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The QR code's modules with its quiet zone, row by row from the top; True is black.

    Raises: InputError for text over 1,200 bytes, which a counter camera no longer reads.
    """
    import segno

    if len(text.encode()) > _LONGEST:
        raise InputError(
            field="QR code", given=f"{len(text.encode()):,} bytes", wanted=f"at most {_LONGEST:,} bytes of text"
        )
    # Level L keeps a whole seal small enough for a corner of the page. The mask is fixed: any mask is a valid
    # code (ISO/IEC 18004, 7.8), and trying all eight costs four times as long as the rest of the page.
    code = segno.make_qr(text, error="l", boost_error=True, encoding="utf-8" if not text.isascii() else None, mask=2)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix_iter(border=_QUIET))


def qr_side(text: str, module_pt: float = QR_MODULE_PT) -> float:
    """Width and height of the QR code in points, quiet zone and all; nothing to say takes no room."""
    return len(modules(text)) * module_pt if text else 0.0


def draw_qr(canvas: Any, text: str, left: float, top: float, module_pt: float = QR_MODULE_PT) -> None:
    """The QR code with its upper left corner at (left, top).

    One block of operators in whole modules, y downwards: reportlab's own rectangles cost three times as much.
    """
    block = ["q", f"{module_pt:g} 0 0 {-module_pt:g} {left:g} {top:g} cm"]
    for number, row in enumerate(modules(text)):
        start = None
        for column, black in enumerate((*row, False)):
            if black and start is None:
                start = column
            elif not black and start is not None:
                block.append(f"{start} {number} {column - start} 1 re")
                start = None
    canvas.addLiteral("\n".join([*block, "f", "Q"]))


def draw_bars(canvas: Any, text: str, left: float, bottom: float, width: float, height: float) -> None:
    """A Code128 of text, centred in width points; bars grow narrower only as far as 0.33 mm.

    Raises: InputError where the text is too long for that.
    """
    from reportlab.graphics.barcode.code128 import Code128

    units = Code128(text, barWidth=1, barHeight=height, quiet=True, lquiet=10, rquiet=10, humanReadable=False).width
    bar = min(BAR_PT, width / units)
    if bar < 0.94:
        raise InputError(field="item", given=text, wanted="a number short enough for the label's barcode")
    code = Code128(
        text, barWidth=bar, barHeight=height, quiet=True, lquiet=10 * bar, rquiet=10 * bar, humanReadable=False
    )
    code.drawOn(canvas, left + (width - code.width) / 2, bottom)
