"""The receipt for goods that an authority takes, or that are given up: what, to whom, on what power, what must follow.

Decides: that each article stands on a line of its own with its weight and its number in the book, and that a signature
says only that the goods changed hands. Leaves to others: whether they may go, and what follows by when.
"""

from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import KEY_CAUTION
from reports.page import BODY, SMALL, Column, Imprint, Row, Sheet

_MEANS = (
    "Whoever signs says that the goods named changed hands at the time named, in the condition named. Nobody gives up"
    " or admits a right to them by signing; what the law of the place says of that is for counsel to read."
)


@dataclass(frozen=True)
class Line:
    """One article."""

    item: str
    description: str
    weight: str
    place: str


@dataclass(frozen=True)
class Receipt:
    """Goods that left the shop's hands together."""

    imprint: Imprint
    outcome: str
    """seized | surrendered"""
    at: str
    taken_by: str
    officer: str
    case: str
    power: str
    receipt: str
    condition: str
    to_claimant: str
    goods: tuple[Line, ...]
    follow_up: tuple[tuple[str, str], ...] = ()


def draw(receipt: Receipt, sheet: str = "letter") -> bytes:
    """The receipt as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(receipt) as case:
        page = Sheet(case, f"Receipt: goods {receipt.outcome}", receipt.imprint, sheet)
        page.pairs(
            [
                ("When", receipt.at, True),
                ("Taken by", receipt.taken_by, True),
                ("Officer and agency", receipt.officer, False),
                ("Case", receipt.case or "none named", False),
                ("On the power of", receipt.power, False),
                ("Receipt", receipt.receipt, False),
                ("Packed and sealed", receipt.condition, False),
                *([("Given to the claimant", receipt.to_claimant, False)] if receipt.to_claimant else []),
            ]
        )
        page.heading("The goods", keep=60)
        rows = [Row((one.item, one.description, one.weight, one.place)) for one in receipt.goods]
        page.table(_GOODS, rows, SMALL)
        page.heading("What must follow, as the papers of the case say", keep=40)
        if receipt.follow_up:
            page.table(_FOLLOWS, [Row(one) for one in receipt.follow_up], SMALL)
        else:
            page.text("The papers of the case name no date.", BODY)
        page.signatures(["Received by", "Given by, for the shop"])
        page.notice("What this receipt means", (_MEANS, KEY_CAUTION))
        return page.finish()


_GOODS = (Column("Item", 0.8), Column("Article", 4.4), Column("Weight", 1.1, True), Column("Lay in", 1.6))
_FOLLOWS = (Column("What", 4), Column("By", 2))
