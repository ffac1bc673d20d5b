"""What goes to an authority: a period's purchases in full, or the report that there were none.

Decides: the order of the blocks, where the shop signs.
Leaves to others: which slips belong to the period and what may be shown of each (law, through the acts).
"""

from dataclasses import dataclass

from reports import goods
from reports.fonts import setting_type
from reports.goods import Correction, Field, Item
from reports.page import BODY, Imprint, Sheet


@dataclass(frozen=True)
class ReportRecord:
    """One purchase of the period."""

    slip: int
    entry: int
    occurred: str
    fields: tuple[Field, ...]
    items: tuple[Item, ...]
    occurred_at: str = ""
    """RFC 9557 text of `occurred`; not printed"""
    undone: str = ""
    """that the purchase was undone; the paper says so among the corrections"""


@dataclass(frozen=True)
class WeeklyReport:
    """The purchases of one period for one recipient. source: the law that asks for it; title: as its rule names it.

    totals: what was paid for them, a text for each currency.
    """

    imprint: Imprint
    report: str
    period: str
    recipient: str
    jurisdiction: str
    due: str
    source: str
    records: tuple[ReportRecord, ...]
    rule_files: tuple[tuple[str, str], ...]
    corrections: tuple[Correction, ...] = ()
    title: str = ""
    totals: tuple[str, ...] = ()


@dataclass(frozen=True)
class NilReport:
    """Says that a period had nothing to report. counts: (what, how many), such as slips refused or withdrawn."""

    imprint: Imprint
    report: str
    period: str
    recipient: str
    jurisdiction: str
    due: str
    source: str
    counts: tuple[tuple[str, str], ...]
    rule_files: tuple[tuple[str, str], ...]
    title: str = ""


_CAUTIONS = (goods.LAW_CAUTION, goods.ASSAY_CAUTION, goods.KEY_CAUTION, goods.LIMITS)


def draw_weekly(report: WeeklyReport, sheet: str = "letter") -> bytes:
    """The report of a period as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(report) as case:
        page = Sheet(case, report.title or f"Report {report.report}", report.imprint, sheet)
        items = sum(len(record.items) for record in report.records)
        counts = [("Purchases", str(len(report.records))), ("Items", str(items))]
        _put_top(page, report, (*counts, *(("Paid in all", total) for total in report.totals)))
        goods.put_corrections(page, report.corrections)
        for record in report.records:
            page.heading(f"Slip {record.slip}", keep=80)
            page.pairs([("Happened", record.occurred, False), ("Entry in the book", str(record.entry), False)])
            goods.put_fields(page, record.fields)
            for item in record.items:
                goods.put_item(page, record.slip, item)
        _put_end(page, report.rule_files, _CAUTIONS)
        return page.finish()


def draw_nil(report: NilReport, sheet: str = "letter") -> bytes:
    """The nil report as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(report) as case:
        page = Sheet(case, report.title or f"Nil report {report.report}", report.imprint, sheet)
        _put_top(page, report, report.counts)
        page.heading("Nothing to report")
        page.text(
            f"In the period {report.period} the shop's book holds no purchase that {report.source} asks the shop"
            f" to report to {report.recipient}.",
            BODY,
        )
        _put_end(page, report.rule_files, (goods.LAW_CAUTION, goods.KEY_CAUTION, goods.LIMITS))
        return page.finish()


def _put_top(page: Sheet, report: WeeklyReport | NilReport, counts: tuple[tuple[str, str], ...]) -> None:
    rows = [
        *([("Report", report.report)] if report.title else []),
        ("To", report.recipient),
        ("Period", report.period),
        ("Asked by", f"{report.source}, {report.jurisdiction}"),
        ("Due", report.due),
        *counts,
    ]
    page.pairs([(label, value, label == "Period") for label, value in rows])


def _put_end(page: Sheet, rule_files: tuple[tuple[str, str], ...], cautions: tuple[str, ...]) -> None:
    goods.put_rule_files(page, rule_files)
    page.signatures(("For the shop: name and signature",))
    page.notice("Cautions", cautions)
