"""The frozen slip that the seller signs.

Decides: that goods, amounts, the declaration in the law's words and the presented entry's leaf hash stand above the
signatures: everything that a signature stands for, on one paper.
Leaves to others: the words of the declaration (rule file) and what is asked of the seller (law).
"""

from dataclasses import dataclass

from reports import goods
from reports.fonts import setting_type
from reports.goods import Field
from reports.page import BODY, SMALL, Imprint, Sheet, short_leaf
from reports.stub import ITEM_COLUMNS, StubLine, item_rows


@dataclass(frozen=True)
class SlipPage:
    """A presented slip. presented: leaf hash in full (hex); print_boxes: which prints the law asks for."""

    imprint: Imprint
    slip: int
    presented: str
    occurred: str
    seller: tuple[Field, ...]
    items: tuple[StubLine, ...]
    total: str
    payout: str
    declaration: str
    language: str
    signature_lines: tuple[str, ...]
    print_boxes: tuple[str, ...] = ()


_BOX_WIDTH, _BOX_HEIGHT = 79.0, 90.0
"""28 by 32 mm, room for one rolled print. Source: common practice, no published source."""


def draw(slip: SlipPage, sheet: str = "letter") -> bytes:
    """The slip for signature as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(slip) as case:
        page = Sheet(case, f"Slip {slip.slip}, for signature", slip.imprint, sheet, f"Slip {slip.slip}")
        page.pairs([("Happened", slip.occurred, False)], 0.25)
        page.heading("Seller")
        goods.put_fields(page, slip.seller)
        page.heading("Goods and amounts", keep=60)
        page.table(ITEM_COLUMNS, item_rows(slip.slip, slip.items, slip.total), BODY, 2)
        page.pairs([("Payout agreed", slip.payout, False)], 0.25)
        page.heading("Declaration", keep=40 + 44 * len(slip.signature_lines))
        page.text(slip.declaration, BODY)
        page.space(3)
        page.text(
            f"Language of the declaration: {slip.language}. This slip is entry {slip.imprint.entry} of the book; its"
            f" leaf hash begins {short_leaf(slip.presented)}. I sign these words and this number.",
            SMALL,
        )
        page.signatures(slip.signature_lines)
        _put_boxes(page, slip.print_boxes)
        page.notice("Cautions", (goods.LAW_CAUTION, goods.ASSAY_CAUTION))
        return page.finish()


def _put_boxes(page: Sheet, titles: tuple[str, ...]) -> None:
    if not titles:
        return
    page.need(_BOX_HEIGHT + 24)
    page.y -= _BOX_HEIGHT + 6
    for number, title in enumerate(titles):
        x = page.left + number * (_BOX_WIDTH + 14)
        page.pages.box(page.page, x, page.y, _BOX_WIDTH, _BOX_HEIGHT, 1)
        page.pages.text(page.page, x, page.y - SMALL * 1.2, SMALL, page.case.line(title, SMALL))
    page.y -= 16
