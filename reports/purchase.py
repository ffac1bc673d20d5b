"""The purchase report: one slip in full, in the order its rule file asks.

Decides: the order of the blocks, and that a required field nobody filled is printed as missing.
Leaves to others: which fields, in which order and whether required (acts, from the rule file).
"""

from dataclasses import dataclass

from reports import goods
from reports.fonts import setting_type
from reports.goods import Correction, Field, Item, Picture
from reports.page import BODY, FOOT, SMALL, Imprint, Sheet


@dataclass(frozen=True)
class PurchaseReport:
    """A recorded slip with everything this recipient may see."""

    imprint: Imprint
    slip: int
    jurisdiction: str
    occurred: str
    recorded: str
    fields: tuple[Field, ...]
    items: tuple[Item, ...]
    payout: tuple[Field, ...]
    total: str
    duties: tuple[str, ...]
    rule_files: tuple[tuple[str, str], ...]
    declaration: str
    signature: str
    captures: tuple[Picture, ...] = ()
    presented: str = ""
    corrections: tuple[Correction, ...] = ()
    title: str = ""
    """as the rule names it that asks for this copy"""
    report: str = ""
    """id of the report, where this is one"""
    occurred_at: str = ""
    """RFC 9557 text of `occurred`; not printed"""
    undone: str = ""
    """that the purchase was undone; the paper says so among the corrections"""


def draw(report: PurchaseReport, sheet: str = "letter") -> bytes:
    """The purchase report as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(report) as case:
        page = Sheet(case, report.title or f"Purchase report {report.slip}", report.imprint, sheet)
        page.pairs(
            [
                *([("Report", report.report, False)] if report.report else []),
                ("Slip", str(report.slip), True),
                ("Fields as asked by", report.jurisdiction, False),
                ("Happened", report.occurred, False),
                ("Entered in the book", report.recorded, False),
            ]
        )
        goods.put_corrections(page, report.corrections)
        page.heading("What the rules ask")
        goods.put_fields(page, report.fields)
        for item in report.items:
            goods.put_item(page, report.slip, item)
        page.heading("Payout")
        goods.put_fields(page, report.payout)
        page.pairs([("Total", report.total, True)])
        _put_declaration(page, report)
        goods.put_pictures(page, report.captures, "Captures of the parties, by SHA-256 of their bytes")
        if report.duties:
            page.heading("Duties, each with its source")
            for duty in report.duties:
                page.text(duty, SMALL)
                page.space(2)
        goods.put_rule_files(page, report.rule_files)
        page.notice("Cautions", (goods.LAW_CAUTION, goods.ASSAY_CAUTION, goods.KEY_CAUTION, goods.LIMITS))
        return page.finish()


def _put_declaration(page: Sheet, report: PurchaseReport) -> None:
    if not report.declaration:
        return
    page.heading("Declaration of the seller")
    page.text(report.declaration, BODY)
    page.space(3)
    page.pairs([("Signature", report.signature or "none recorded", False)])
    if report.presented:
        page.text(f"Signed over the presented slip, leaf hash {report.presented}", FOOT)
