"""The bag label: which item lies in the bag, since when, and the first moment it may leave.

Decides: the label's size and that it says nothing of the seller; its values have no place for such data.
Leaves to others: when the item may leave (law, through the acts).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ledger.errors import InputError
from reports import codes
from reports.fonts import setting_type
from reports.page import FOOT, SMALL, Imprint, short_leaf
from reports.printing import Pages

LABEL_SIZE = (288.0, 216.0)
"""4 by 3 inches (102 by 76 mm), in points."""
_EDGE = 9.0
_LONGEST = 300


@dataclass(frozen=True)
class Label:
    """One bag. item: "12/1", which the barcode holds; place: tray, shelf or safe."""

    imprint: Imprint
    item: str
    description: str
    weight: str
    received: str
    may_leave: str
    basis: str = ""
    place: str = ""


def draw(labels: Sequence[Label]) -> bytes:
    """The labels as a PDF, one to a page.

    Raises: InputError for no labels, a character that no font has, a number too long for its barcode.
    """
    if not labels:
        raise InputError(field="labels", given="none", wanted="at least one label")
    with setting_type(tuple(labels)) as case:
        title = f"Bag label {labels[0].item}" if len(labels) == 1 else "Bag labels"
        pages = Pages(case, LABEL_SIZE, title, labels[0].imprint.at)
        for number, label in enumerate(labels, 1):
            _one(pages, label, f"label {number} of {len(labels)}")
        return pages.pdf()


def scanned(label: Label) -> str:
    """What the square code of a label says: book, item and seal in short."""
    return f"{label.imprint.book} item/{label.item} {label.imprint.seal_short}"


def _one(pages: Pages, label: Label, count: str) -> None:
    imprint, page, (width, height) = label.imprint, pages.add(), LABEL_SIZE
    text = scanned(label)
    side = codes.qr_side(text)
    pages.qr(page, text, width - side, height)
    setter = _Setter(pages, page, height - 6)
    room = width - side - _EDGE
    setter.put(imprint.shop, SMALL, room, bold=True)
    setter.put(imprint.licence or "No licence is recorded for this day", FOOT, room)
    setter.put(f"Item {label.item}", 21, room, bold=True)
    wide = width - 2 * _EDGE
    setter.y = min(setter.y, height - side + 4)
    setter.put(label.description, SMALL, wide, most=3)
    setter.put(f"{label.weight}, received {label.received}", SMALL, wide)
    setter.put(label.place, SMALL, wide)
    top = setter.y - 4
    setter.y = top - 2
    setter.put("May leave from", FOOT, wide - 12, indent=6)
    setter.put(label.may_leave, 12, wide - 12, bold=True, indent=6, most=2)
    setter.put(label.basis, FOOT, wide - 12, indent=6, most=2)
    pages.box(page, _EDGE, setter.y - 4, wide, top - setter.y + 4, 1.5)
    foot = _Setter(pages, page, 7 + 3 * FOOT * 1.2)
    leaf = "" if imprint.entry is None else f"entry {imprint.entry}, leaf {short_leaf(imprint.leaf)}"
    foot.put(f"{imprint.copy}, for {imprint.recipient}   {count}", FOOT, wide)
    foot.put(imprint.book, FOOT, wide)
    foot.put(f"{leaf}   {imprint.seal_short}".strip(), FOOT, wide)
    room = setter.y - 4 - foot.top - 9
    pages.bars(page, label.item, _EDGE, foot.top + 3, wide, max(min(room, 40), 12))


class _Setter:
    """Lines from y downwards on one label; what does not fit is cut with three dots, the report has it whole."""

    def __init__(self, pages: Pages, page: int, y: float) -> None:
        self._pages, self._page, self._case, self.y, self.top = pages, page, pages.case, y, y

    def put(
        self, text: str, size: float, width: float, *, bold: bool = False, indent: float = 0, most: int = 1
    ) -> None:
        if not text:
            return
        lines = self._case.wrap(text, size, width, bold)
        kept = text[:_LONGEST]
        while len(lines) > most:
            kept = kept[:-1]
            lines = self._case.wrap(f"{kept} ...", size, width, bold)
        for line in lines:
            self.y -= size * 1.2
            self._pages.text(self._page, _EDGE + indent, self.y + size * 0.2, size, line)
