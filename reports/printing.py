"""Pages become a PDF file: text, lines, boxes, codes; the same values give the same bytes.

Decides: how each shape is written, which date the file carries (the record's, never the clock's), that its
metadata says nothing personal.
Leaves to others: what stands where (page), which font draws what (fonts).
"""

import hashlib
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

from reports import codes
from reports.fonts import REGULAR, Case, Line, Piece

RULE = 0.8
"""Width in points of the thinnest line that is drawn: a standard fax has a dot every 0.7 point (ITU-T T.4)."""

_Said = dict[tuple[str, str], list[tuple[str, str]]]
"""pieces already put into the file's own encoding: (font, text) -> what the operators need"""
# Source: ISO 32000-1, 7.3.4.2: bytes of a literal string that are not plain ASCII are written in octal.
_ESCAPED = [chr(byte) if 32 <= byte < 127 and chr(byte) not in "\\()" else f"\\{byte:03o}" for byte in range(256)]


class Pages:
    """Finished pages as lists of things to draw; drawn only when their number is known."""

    def __init__(self, case: Case, size: tuple[float, float], title: str, at: datetime) -> None:
        self.case, self.size, self._title, self._at = case, size, title, at
        self.texts: list[list[tuple[float, float, float, Line]]] = []
        """each page's lines of text as (x, y, size, line)"""
        self._shapes: list[list[tuple[Any, ...]]] = []

    def __len__(self) -> int:
        return len(self.texts)

    def add(self) -> int:
        """A new empty page; the result is its index."""
        self.texts.append([])
        self._shapes.append([])
        return len(self.texts) - 1

    def text(self, page: int, x: float, y: float, size: float, line: Line) -> None:
        """One line of text with its baseline at (x, y)."""
        self.texts[page].append((x, y, size, line))

    def line(self, page: int, x1: float, y1: float, x2: float, y2: float, weight: float = RULE) -> None:
        """A straight black line."""
        self._shapes[page].append(("line", x1, y1, x2, y2, weight))

    def box(self, page: int, x: float, y: float, width: float, height: float, weight: float = RULE) -> None:
        """The outline of a box; (x, y) is its lower left corner."""
        self._shapes[page].append(("box", x, y, width, height, weight))

    def frame(self, page: int, x: float, y: float, width: float, height: float, weight: float = RULE) -> None:
        """The outline of a box that is white inside and so hides what was drawn before it."""
        self._shapes[page].append(("frame", x, y, width, height, weight))

    def bar(self, page: int, x: float, y: float, width: float, height: float) -> None:
        """A filled black box."""
        self._shapes[page].append(("bar", x, y, width, height))

    def qr(self, page: int, text: str, x: float, top: float, module_pt: float = codes.QR_MODULE_PT) -> None:
        """A QR code with its upper left corner at (x, top)."""
        self._shapes[page].append(("qr", text, x, top, module_pt))

    def bars(self, page: int, text: str, x: float, y: float, width: float, height: float) -> None:
        """A Code128, centred in the width."""
        self._shapes[page].append(("bars", text, x, y, width, height))

    def pdf(self) -> bytes:
        """The file. Nothing in it depends on the clock, the environment or the order of earlier papers."""
        from reportlab.pdfgen.canvas import Canvas

        out = BytesIO()
        canvas = Canvas(out, pagesize=self.size, invariant=1, pageCompression=1, initialFontName=REGULAR, lang="en")
        _date(canvas, self._at)
        canvas.setTitle(self._title)
        canvas.setAuthor("")
        canvas.setSubject("")
        canvas.setCreator("counterfoil")
        forms: dict[tuple[str, float], str] = {}
        said: _Said = {}
        for texts, shapes in zip(self.texts, self._shapes, strict=True):
            for shape in shapes:
                _draw_shape(canvas, shape, forms)
            _draw_texts(canvas, self.case, texts, said)
            canvas.showPage()
        canvas.save()
        return out.getvalue()


def _date(canvas: Any, at: datetime) -> None:
    """The record's date for the file, as SOURCE_DATE_EPOCH would set it, without touching the environment.

    reportlab would otherwise mix the environment's own SOURCE_DATE_EPOCH into the file's identifier.
    """
    utc = at.astimezone(UTC)
    stamp = canvas._doc._timeStamp
    stamp.t, stamp.lt, stamp.dhh, stamp.dmm, stamp.tzname = utc.timestamp(), utc.timetuple(), 0, 0, "UTC"
    stamp.YMDhms = tuple(utc.timetuple())[:6]
    canvas._doc.signature = hashlib.md5(f"counterfoil {utc.isoformat()}".encode(), usedforsecurity=False)


def _draw_texts(canvas: Any, case: Case, texts: list[tuple[float, float, float, Line]], said: _Said) -> None:
    """A page's text as one block of operators. reportlab's own text calls take four times as long per word."""
    block, font = ["BT"], ("", 0.0)
    for x, y, size, line in texts:
        for piece in line.pieces:
            shown = said.get((piece.font, piece.text))
            if shown is None:
                shown = said[piece.font, piece.text] = _encoded(case, piece, canvas._doc)
            at = f"1 0 0 1 {x + piece.right * size / 1000:.2f} {y + piece.up * size / 1000:.2f} Tm"
            for name, text in shown:
                if (name, size) != font:
                    font = (name, size)
                    block.append(f"{name} {size:g} Tf")
                block.append(f"{at} ({text}) Tj")
                at = ""
            x += piece.width * size / 1000
    block.append("ET")
    canvas.addLiteral("\n".join(block))


def _encoded(case: Case, piece: Piece, document: Any) -> list[tuple[str, str]]:
    """A piece's characters as the file's own fonts number them: (font in the file, escaped bytes)."""
    font = case.font(piece.font)
    return [
        (font.getSubsetInternalName(subset, document), "".join([_ESCAPED[byte] for byte in numbers]))
        for subset, numbers in font.splitString(piece.text, document)
    ]


def _draw_shape(canvas: Any, shape: tuple[Any, ...], forms: dict[tuple[str, float], str]) -> None:
    kind, *rest = shape
    if kind == "line":
        canvas.setLineWidth(rest[4])
        canvas.line(*rest[:4])
    elif kind == "box":
        canvas.setLineWidth(rest[4])
        canvas.rect(*rest[:4], stroke=1, fill=0)
    elif kind == "frame":
        canvas.setLineWidth(rest[4])
        canvas.setFillGray(1)
        canvas.rect(*rest[:4], stroke=1, fill=1)
        canvas.setFillGray(0)
    elif kind == "bar":
        canvas.rect(*rest, stroke=0, fill=1)
    elif kind == "qr":
        _draw_form(canvas, forms, *rest)
    else:
        codes.draw_bars(canvas, *rest)


def _draw_form(canvas: Any, forms: dict[tuple[str, float], str], text: str, x: float, top: float, pt: float) -> None:
    """A QR code, stored in the file once however many pages show it."""
    name = forms.get((text, pt))
    side = codes.qr_side(text, pt)
    if name is None:
        name = forms[text, pt] = f"qr{len(forms)}"
        canvas.beginForm(name, 0, 0, side, side)
        codes.draw_qr(canvas, text, 0, side, pt)
        canvas.endForm()
    canvas.saveState()
    canvas.translate(x, top - side)
    canvas.doForm(name)
    canvas.restoreState()
