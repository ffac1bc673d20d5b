"""The sheet every paper is set on: head and foot of every page, columns, tables, page x of y.

Decides: margins, sizes of type (nothing under 8 point, no grey, no line under 0.8 point: it must survive a fax),
what stands on every page (shop and licence, copy and recipient, book, entry, seal in short and as QR, key).
Leaves to others: what a paper says (its own module), which font draws a character (fonts).

>>> moment(datetime(2026, 11, 24, 10, 15, tzinfo=ZoneInfo("America/New_York")))
'Tue 24 Nov 2026 10:15 America/New_York'
>>> in_fours("3f2a91c044d1")
'3f2a 91c0 44d1'
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from ledger.errors import InputError
from reports import codes
from reports.fonts import Case, Line, reads_right_to_left
from reports.printing import RULE, Pages

SHEETS: dict[str, tuple[float, float]] = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
"""width and height in points. Source: ISO 216 (A4 210 x 297 mm), ANSI/ASME Y14.1 (Letter 8.5 x 11 inches)."""

MARGIN = 40.0
BODY, SMALL, FOOT = 10.0, 9.0, 8.0
_LEADING = 1.25
_GUTTER = 12.0
_TALLEST_HEAD = 0.35
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Imprint:
    """What every page of a paper carries."""

    shop: str
    licence: str
    address: tuple[str, ...]
    book: str
    """origin of the book, counterfoil/<32 hex>"""
    entry: int | None
    """seq of the entry shown; None for a paper about many entries"""
    leaf: str
    """lower hex leaf hash of that entry; "" without one"""
    seal_note: str
    """the newest seal, the whole signed note; "" where the book has none yet"""
    seal_short: str
    fingerprint: str
    """64 hex digits of the book's key"""
    copy: str
    recipient: str
    at: datetime
    """the record's moment, aware; dates the file"""


@dataclass(frozen=True)
class Column:
    """A column of a table. share: part of the width; right: figures, set to the right edge."""

    title: str
    share: float
    right: bool = False


@dataclass(frozen=True)
class Row:
    """A row of a table, a text for each column; struck: printed with a line through it."""

    cells: tuple[str, ...]
    struck: bool = False
    bold: bool = False


@dataclass(frozen=True)
class Text:
    """Text of one size and weight; struck: printed with a line through it."""

    text: str
    size: float = SMALL
    bold: bool = False
    struck: bool = False


def moment(at: datetime) -> str:
    """A moment as the papers write it: day, local time and zone. at: aware."""
    zone = at.tzinfo.key if isinstance(at.tzinfo, ZoneInfo) else at.strftime("UTC%z")
    return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]} {at.year} {at:%H:%M} {zone}"


def in_fours(digits: str) -> str:
    """Digits in groups of four, as a person reads them aloud."""
    return " ".join(digits[start : start + 4] for start in range(0, len(digits), 4))


def short_leaf(leaf: str) -> str:
    """The first twenty digits of a leaf hash in groups of four: what a person compares by eye."""
    return in_fours(leaf[:20])


def sheet_size(name: str) -> tuple[float, float]:
    """Width and height in points of "a4" or "letter". Raises: InputError."""
    if name not in SHEETS:
        raise InputError(field="sheet", given=name, wanted=" or ".join(repr(known) for known in SHEETS))
    return SHEETS[name]


class Sheet:
    """A paper being set, from the top of its first page downwards. `y` is where the next thing goes."""

    def __init__(self, case: Case, title: str, imprint: Imprint, sheet: str, file_title: str = "") -> None:
        self.case, self._heading, self._imprint = case, title, imprint
        size = sheet_size(sheet)
        self.pages = Pages(case, size, file_title or title, imprint.at)
        self.left, self.width = MARGIN, size[0] - 2 * MARGIN
        self.right = self.left + self.width
        self._top, self._bottom = size[1] - 34, 34 + 3 * FOOT * _LEADING + 8
        self._head = self._head_lines()
        tall = sum(size * _LEADING for size, _, _ in self._head)
        if tall > _TALLEST_HEAD * size[1]:
            raise InputError(
                field="imprint",
                given=f"{len(self._head)} lines",
                wanted="shop, licence, address and recipient short enough for the head of a page",
            )
        self.page, self.y = -1, 0.0
        self.new_page()

    # What every page carries

    def _head_lines(self) -> list[tuple[float, bool, Line]]:
        imprint, case = self._imprint, self.case
        room = self.width - codes.qr_side(imprint.seal_note) - 6
        lines: list[tuple[float, bool, Line]] = []
        for text, size, bold, gap in (
            (imprint.shop, 12.0, True, False),
            (imprint.licence or "No licence is recorded for this day", SMALL, False, False),
            (", ".join(imprint.address), SMALL, False, False),
            (self._heading, 16.0, True, True),
            (f"{imprint.copy}, for {imprint.recipient}", BODY, False, False),
        ):
            if text:
                wrapped = case.wrap(text, size, room, bold)
                lines.extend((size, gap and not number, line) for number, line in enumerate(wrapped))
        return lines

    def new_page(self) -> None:
        """Turns to a fresh page with its head."""
        self.page = self.pages.add()
        y = self._top
        for size, gap, line in self._head:
            y -= size * _LEADING + (8 if gap else 0)
            self.pages.text(self.page, self.left, y, size, line)
        y -= 7
        if self._imprint.seal_note:
            side, quiet = codes.qr_side(self._imprint.seal_note), 4 * codes.QR_MODULE_PT
            self.pages.qr(self.page, self._imprint.seal_note, self.right - side + quiet, self._top + quiet)
            y = min(y, self._top - side + 2 * quiet - 5)
        self.pages.line(self.page, self.left, y, self.right, y, 1.5)
        self.y = y - 6

    def _feet(self) -> None:
        imprint, case = self._imprint, self.case
        entry = (
            "entries up to the seal"
            if imprint.entry is None
            else f"entry {imprint.entry}, leaf {short_leaf(imprint.leaf)}"
        )
        texts = (
            f"Book {imprint.book}   {entry}",
            f"Seal {imprint.seal_short}   the square code above holds the whole seal"
            if imprint.seal_note
            else "Seal: none had been made yet",
            f"Key {in_fours(imprint.fingerprint)}",
        )
        foot = self._bottom - 8
        for page in range(len(self.pages)):
            self.pages.line(page, self.left, foot, self.right, foot)
            for number, text in enumerate(texts):
                y = foot - (number + 1) * FOOT * _LEADING
                self.pages.text(page, self.left, y, FOOT, case.line(text, FOOT))
            count = case.line(f"page {page + 1} of {len(self.pages)}", SMALL, True)
            y = foot - 2 * FOOT * _LEADING
            self.pages.text(page, self.right - count.width, y, SMALL, count)

    def finish(self) -> bytes:
        """The file, every page with its foot."""
        self._feet()
        return self.pages.pdf()

    # Blocks

    @property
    def full(self) -> float:
        """Height of an empty page's body, in points."""
        return self._top - self._bottom - 100

    def need(self, height: float) -> None:
        """Turns the page unless height points are left on this one."""
        if self.y - height < self._bottom:
            self.new_page()

    def space(self, height: float) -> None:
        """White, which a page's end may swallow."""
        self.y = max(self.y - height, self._bottom)

    def text(self, text: str, size: float = BODY, bold: bool = False, indent: float = 0, struck: bool = False) -> None:
        """A paragraph over the width."""
        for paragraph in text.split("\n"):
            lines = self.case.wrap(paragraph, size, self.width - indent, bold)
            self.lines(lines, size, indent, struck, reads_right_to_left(paragraph))

    def lines(
        self,
        lines: Sequence[Line],
        size: float = BODY,
        indent: float = 0,
        struck: bool = False,
        to_the_right: bool = False,
    ) -> None:
        """Lines one under the other; they may run over to the next page."""
        for line in lines:
            self.need(size * _LEADING)
            self.y -= size * _LEADING
            x = self.right - line.width if to_the_right else self.left + indent
            self.put(line, x, size, struck)

    def put(self, line: Line, x: float, size: float, struck: bool = False, base_size: float = 0) -> None:
        """A line with its baseline a little above the current height (base_size: of larger type beside it)."""
        base = self.y + (base_size or size) * 0.28
        self.pages.text(self.page, x, base, size, line)
        if struck and line.width:
            middle = base + size * 0.28
            self.pages.line(self.page, x, middle, x + line.width, middle, 1)

    def heading(self, text: str, keep: float = 40) -> None:
        """A heading over a rule, kept together with the first lines that follow (keep: points)."""
        self.space(8)
        self.need(11.5 * _LEADING + 4 + keep)
        self.text(text, 11.5, bold=True)
        self.y -= 2
        self.rule()

    def rule(self, weight: float = RULE) -> None:
        """A line over the width."""
        self.y -= 1
        self.pages.line(self.page, self.left, self.y, self.right, self.y, weight)
        self.y -= 3

    def pairs(self, rows: Sequence[tuple[str, str, bool]], label_share: float = 0.3, indent: float = 0) -> None:
        """Label and value side by side: (label, value, bold value)."""
        for label, value, bold in rows:
            self.beside([Text(label)], [Text(value, BODY, bold)], label_share, indent)

    def beside(self, left: Sequence[Text], right: Sequence[Text], left_share: float = 0.3, indent: float = 0) -> None:
        """Two columns of text that begin at one height and break over pages together."""
        left_width = (self.width - indent) * left_share
        right_width = self.width - indent - left_width - 8
        lefts, rights = self._set(left, left_width - 4), self._set(right, right_width)
        count = max(len(lefts), len(rights))
        self.need(min(count, 3) * BODY * _LEADING)
        for number in range(count):
            self.need(BODY * _LEADING)
            self.y -= BODY * _LEADING
            for lines, x in ((lefts, self.left + indent), (rights, self.left + indent + left_width + 8)):
                if number < len(lines):
                    line, text = lines[number]
                    self.put(line, x, text.size, text.struck, base_size=BODY)
        self.y -= 1.5

    def _set(self, texts: Sequence[Text], width: float) -> list[tuple[Line, Text]]:
        return [(line, text) for text in texts for line in self.case.wrap(text.text, text.size, width, text.bold)]

    def signatures(self, titles: Sequence[str]) -> None:
        """Room and a line for each to sign on, with the day beside it."""
        for title in titles:
            self.need(44)
            self.y -= 30
            for x, width, label in ((0.0, 0.62, title), (0.66, 0.34, "Day")):
                left = self.left + self.width * x
                self.pages.line(self.page, left, self.y, left + self.width * width, self.y, 1)
                self.pages.text(self.page, left, self.y - SMALL * 1.2, SMALL, self.case.line(label, SMALL))
            self.y -= 14

    def table(self, columns: Sequence[Column], rows: Sequence[Row], size: float = SMALL, gap: float = 3) -> None:
        """A table whose head is repeated on every page; a row is split only where a page cannot hold it."""
        shares = sum(column.share for column in columns)
        widths = [self.width * column.share / shares for column in columns]
        lefts = [self.left + sum(widths[:number]) for number in range(len(widths))]
        leading = size * _LEADING
        inner = [*(width - _GUTTER for width in widths[:-1]), widths[-1]]
        heads = [self.case.wrap(c.title, size, w, True) for c, w in zip(columns, inner, strict=True)]
        wrap, pages, bottom = self.case.wrap, self.pages, self._bottom
        first = [
            len(wrap(text, size, w, row.bold)) for row in rows[:1] for text, w in zip(row.cells, inner, strict=True)
        ]
        head = (max(map(len, heads)) + 1) * leading + 6
        below = self.full - head  # what a page holds of a row
        self.need(head + min(max(first, default=0) * leading, below))
        self._table_head(columns, heads, lefts, inner, size)
        rights = [column.right for column in columns]
        for row in rows:
            cells = [wrap(text, size, width, row.bold) for text, width in zip(row.cells, inner, strict=True)]
            count = max(map(len, cells))
            if self.y - min(count * leading, below) < bottom:
                self.new_page()
                self._table_head(columns, heads, lefts, inner, size)
            for number in range(count):
                if self.y - leading < bottom:
                    self.new_page()
                    self._table_head(columns, heads, lefts, inner, size)
                self.y -= leading
                base = self.y + size * 0.28
                for cell, left, width, right in zip(cells, lefts, inner, rights, strict=True):
                    if number < len(cell):
                        line = cell[number]
                        x = left + width - line.width if right else left
                        pages.text(self.page, x, base, size, line)
                        if row.struck and line.width:
                            middle = base + size * 0.28
                            pages.line(self.page, x, middle, x + line.width, middle, 1)
            self.y -= gap
        self.rule()

    def _table_head(
        self, columns: Sequence[Column], heads: list[list[Line]], lefts: list[float], widths: list[float], size: float
    ) -> None:
        for number in range(max(map(len, heads))):
            self.y -= size * _LEADING
            for column, head, left, width in zip(columns, heads, lefts, widths, strict=True):
                if number < len(head):
                    x = left + width - head[number].width if column.right else left
                    self.put(head[number], x, size)
        self.rule(1.2)

    def notice(self, title: str, sentences: Sequence[str], size: float = SMALL) -> None:
        """Sentences in a box, kept on one page where a page can hold them."""
        lines = [self.case.wrap(sentence, size, self.width - 16) for sentence in sentences]
        height = (sum(map(len, lines)) + 1) * size * _LEADING + 2 * len(lines) + 14
        if height > self.full:
            self.heading(title)
            for group in lines:
                self.lines(group, size)
            return
        self.space(8)
        self.need(height)
        top = self.y
        self.y -= 5
        self.lines([self.case.line(title, size, True)], size, 8)
        for group in lines:
            self.y -= 2
            self.lines(group, size, 8)
        self.y -= 7
        self.pages.box(self.page, self.left, self.y, self.width, top - self.y)
        self.y -= 2
