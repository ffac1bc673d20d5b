"""The stub: what the seller takes home, and with it a seal that the shop cannot take back.

Decides: what a seller needs to see of a purchase, and the words that say what the stub proves.
Leaves to others: the amounts and the seal (acts), head and foot (page).

>>> item_rows(12, (StubLine(1, "Ring", "6.30 g", "USD 212.40", True),), "USD 212.40")[0].cells
('12/1', 'Ring', '6.30 g', 'USD 212.40')
"""

from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import ASSAY_CAUTION, KEY_CAUTION, LAW_CAUTION, LIMITS
from reports.page import BODY, SMALL, Column, Imprint, Row, Sheet, in_fours, short_leaf


@dataclass(frozen=True)
class StubLine:
    """One item as the seller sees it. amount: text with its currency; taken False: the offer was declined."""

    line: int
    description: str
    weight: str
    amount: str
    taken: bool


@dataclass(frozen=True)
class Stub:
    """A recorded slip as the seller's copy shows it."""

    imprint: Imprint
    slip: int
    occurred: str
    items: tuple[StubLine, ...]
    total: str
    payout: str
    may_leave: str
    corrections: tuple[str, ...] = ()


ITEM_COLUMNS = (Column("Item", 0.7), Column("Description", 4), Column("Weight", 1.2, True), Column("Amount", 1.3, True))


def item_rows(slip: int, items: tuple[StubLine, ...], total: str) -> list[Row]:
    """Rows for ITEM_COLUMNS, a declined offer named as such, the total last."""
    rows = [
        Row((f"{slip}/{item.line}", item.description, item.weight, item.amount if item.taken else "not sold"))
        for item in items
    ]
    return [*rows, Row(("", "Total", "", total), bold=True)]


def draw(stub: Stub, sheet: str = "letter") -> bytes:
    """The stub as a PDF. Raises: InputError for a character that no font has."""
    imprint = stub.imprint
    with setting_type(stub) as case:
        page = Sheet(case, f"Stub of slip {stub.slip}", imprint, sheet)
        page.pairs([("Sold to the shop", stub.occurred, False)], 0.25)
        page.space(4)
        page.table(ITEM_COLUMNS, item_rows(stub.slip, stub.items, stub.total), BODY, 2)
        rows = [("Payout", stub.payout), ("The goods stay here", stub.may_leave)]
        page.pairs([(label, value, False) for label, value in rows if value], 0.25)
        for text in stub.corrections:
            page.text(text, BODY)
        page.heading("Keep this stub", keep=120)
        page.text(
            "It shows that the shop's book held this purchase. Whoever holds it can have the book checked against it:"
            " if the entry was changed, or the book was cut short or written anew, the check fails.",
            BODY,
        )
        page.space(3)
        page.pairs(
            [
                ("Entry", "" if imprint.entry is None else str(imprint.entry), True),
                ("Its leaf hash, in short", short_leaf(imprint.leaf), True),
                ("Newest seal, in short", imprint.seal_short, True),
                ("Key fingerprint", in_fours(imprint.fingerprint), False),
                ("To check", f"counterfoil book verify --against {imprint.seal_short}", False),
            ],
            0.25,
        )
        page.notice("What this paper is not", (LAW_CAUTION, ASSAY_CAUTION, KEY_CAUTION, LIMITS), SMALL)
        return page.finish()
