"""The hold list: what must stay in the shop, until when and by what law or order.

Decides: the columns, and that a hold by an order stands out without naming who ordered it.
Leaves to others: when each item may leave (law, through the acts).

>>> _row(HoldLine("9/2", "Locket", "safe A", "20 Feb", "when lifted", "order", order=True)).cells[-1]
'BY ORDER\\norder'
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import KEY_CAUTION, LAW_CAUTION
from reports.page import BODY, SMALL, Column, Imprint, Row, Sheet


@dataclass(frozen=True)
class HoldLine:
    """One item. cautious: the later reading where the law is arguable; order: an authority's order holds it."""

    item: str
    description: str
    place: str
    received: str
    may_leave: str
    basis: str
    cautious: str = ""
    order: bool = False


@dataclass(frozen=True)
class HoldList:
    """All held items at one moment, and those whose hold has ended and that are still here."""

    imprint: Imprint
    as_of: str
    lines: tuple[HoldLine, ...]
    free: tuple[HoldLine, ...] = ()


_COLUMNS = (
    Column("Item", 0.8),
    Column("Description", 3),
    Column("Place", 1.2),
    Column("Received", 1.5),
    Column("May leave from", 2),
    Column("Basis", 2),
)


def draw(holds: HoldList, sheet: str = "letter") -> bytes:
    """The hold list as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(holds) as case:
        page = Sheet(case, "Hold list", holds.imprint, sheet)
        page.pairs([("As of", holds.as_of, True), ("Items held", str(len(holds.lines)), False)])
        page.heading("May not leave, be altered or be mixed with others", keep=60)
        _put(page, holds.lines, "Nothing is held.")
        page.heading("No hold any more, still in the shop", keep=60)
        _put(page, holds.free, "None.")
        page.notice("Cautions", (LAW_CAUTION, KEY_CAUTION))
        return page.finish()


def _put(page: Sheet, lines: Sequence[HoldLine], none: str) -> None:
    if lines:
        page.table(_COLUMNS, [_row(line) for line in lines], SMALL, 3)
    else:
        page.text(none, BODY)


def _row(line: HoldLine) -> Row:
    leaves = f"{line.may_leave}\ncautious reading: {line.cautious}" if line.cautious else line.may_leave
    basis = f"BY ORDER\n{line.basis}" if line.order else line.basis
    return Row((line.item, line.description, line.place, line.received, leaves, basis), bold=line.order)
