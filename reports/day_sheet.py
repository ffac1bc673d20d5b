"""The day sheet: every item of one day on a line, with the day's counts.

Decides: the columns, and that a voided line stays readable under a stroke.
Leaves to others: which lines belong to the day (acts).

>>> _row(DayLine(41, 12, 1, "10:15", "Ring", "6.30 g", "", "USD 212.40", "", "void")).struck
True
"""

from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import ASSAY_CAUTION, KEY_CAUTION, LAW_CAUTION
from reports.page import BODY, FOOT, Column, Imprint, Row, Sheet


@dataclass(frozen=True)
class DayLine:
    """One item bought, declined or voided that day. state: "" or "void", "corrected", "not sold"..."""

    entry: int
    slip: int
    line: int
    time: str
    description: str
    weight: str
    fineness: str
    amount: str
    may_leave: str
    state: str = ""


@dataclass(frozen=True)
class DaySheet:
    """One day of the book. counts: (what, how many) in the order they are printed."""

    imprint: Imprint
    day: str
    lines: tuple[DayLine, ...]
    counts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...] = ()


_COLUMNS = (
    Column("Entry", 0.9),
    Column("Item", 0.9),
    Column("Time", 0.8),
    Column("Description", 4.2),
    Column("Weight", 1.3, True),
    Column("Fineness", 1.5),
    Column("Amount", 1.5, True),
    Column("May leave from", 1.8),
)


def draw(day: DaySheet, sheet: str = "letter") -> bytes:
    """The day sheet as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(day) as case:
        page = Sheet(case, f"Day sheet, {day.day}", day.imprint, sheet, "Day sheet")
        page.pairs([(what, count, False) for what, count in day.counts])
        page.space(4)
        if day.lines:
            page.table(_COLUMNS, [_row(line) for line in day.lines], FOOT, 2)
        else:
            page.text("No item was bought on this day.", BODY, bold=True)
        for note in day.notes:
            page.text(note, BODY)
        page.notice("Cautions", (LAW_CAUTION, ASSAY_CAUTION, KEY_CAUTION))
        return page.finish()


def _row(line: DayLine) -> Row:
    description = f"{line.description} ({line.state})" if line.state else line.description
    cells = (
        str(line.entry),
        f"{line.slip}/{line.line}",
        line.time,
        description,
        line.weight,
        line.fineness,
        line.amount,
        line.may_leave,
    )
    return Row(cells, struck=line.state == "void")
