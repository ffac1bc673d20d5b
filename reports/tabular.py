"""A report to an authority as data: CSV for a spreadsheet, JSON for a program, with the covering sheet of both.

Decides: the columns and members, in the order in which the rule file asks; how a cell that a spreadsheet would run as
a formula is defused; that a field which was corrected shows how it reads now and how it was entered.
Leaves to others: what the recipient may be shown, which is settled in the values that come in: they are those of the
paper (acts); NIEM (its own module).

A cell that begins with `=`, `+`, `-`, `@`, a tab or a line end, or with an apostrophe, gets one apostrophe before it.
Whoever reads the file with a program takes one apostrophe off the front of a cell and has the exact text back.
Source: OWASP, CSV Injection, which names these characters and the apostrophe; RFC 4180 for quotes and line ends.

>>> defused("=HYPERLINK(1)"), defused("'tis"), defused("14K")
("'=HYPERLINK(1)", "''tis", '14K')
"""

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from reports.authority import NilReport, ReportRecord, WeeklyReport
from reports.goods import Correction, Field, Item
from reports.purchase import PurchaseReport

Paper = PurchaseReport | WeeklyReport | NilReport
"""a report to an authority, of one purchase, of a period, or that there was none"""

FORMAT = "report/0"
_RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "'")


@dataclass(frozen=True)
class Cover:
    """What stands on the covering sheet. totals: what was paid, one text for each currency, as "USD 218.50"."""

    report: str
    title: str
    recipient: str
    period: str
    jurisdiction: str
    source: str
    due: str
    shop: str
    licence: str
    address: tuple[str, ...]
    purchases: int
    items: int
    totals: tuple[str, ...]
    corrections: tuple[Correction, ...]
    rule_files: tuple[tuple[str, str], ...]
    book: str
    seal: str
    fingerprint: str


def cover_of(paper: Paper) -> Cover:
    """The covering sheet of a report, with counts and totals."""
    records = records_of(paper)
    if isinstance(paper, PurchaseReport):
        period, source, due = paper.occurred, "", ""
    else:
        period, source, due = paper.period, paper.source, paper.due
    return Cover(
        report=paper.report,
        title=paper.title,
        recipient=paper.imprint.recipient,
        period=period,
        jurisdiction=paper.jurisdiction,
        source=source,
        due=due,
        shop=paper.imprint.shop,
        licence=paper.imprint.licence,
        address=paper.imprint.address,
        purchases=len(records),
        items=sum(len(record.items) for record in records),
        totals=_totals(paper),
        corrections=() if isinstance(paper, NilReport) else paper.corrections,
        rule_files=paper.rule_files,
        book=paper.imprint.book,
        seal=paper.imprint.seal_short,
        fingerprint=paper.imprint.fingerprint,
    )


def records_of(paper: Paper) -> tuple[ReportRecord, ...]:
    """The purchases of a report; none of a nil report."""
    if isinstance(paper, NilReport):
        return ()
    if isinstance(paper, WeeklyReport):
        return paper.records
    entry = paper.imprint.entry
    assert entry is not None, "a purchase report is about the entry of its purchase"
    return (
        ReportRecord(
            slip=paper.slip,
            entry=entry,
            occurred=paper.occurred,
            fields=paper.fields,
            items=paper.items,
            occurred_at=paper.occurred_at,
            undone=paper.undone,
        ),
    )


def _totals(paper: Paper) -> tuple[str, ...]:
    if isinstance(paper, NilReport):
        return ()
    if isinstance(paper, WeeklyReport):
        return paper.totals
    return () if " " not in paper.total else (paper.total,)


def defused(text: str) -> str:
    """A cell that no spreadsheet runs as a formula."""
    return f"'{text}" if text.startswith(_RUNS) else text


_FIRST = ("Slip", "Entry", "Happened", "Item", "Goods")
_LAST = ("Bought for", "May leave from", "Pictures, SHA-256", "Changed since it was entered")


def csv_of(paper: Paper) -> bytes:
    """One line for each article, columns in the order in which the rules ask; a line of headings even for none.

    Shape: UTF-8 with a byte order mark, by which spreadsheets know the encoding; every cell in quotes; CRLF.
    """
    records = records_of(paper)
    columns = list(dict.fromkeys(column for record in records for column in _columns(record)))
    rows = [[*_FIRST, *(heading for _, _, heading in columns), *_LAST]]
    for record in records:
        for item in record.items:
            by_column = {column: field for fields in (record.fields, item.fields) for column, field in _headed(fields)}
            rows.append(
                [
                    str(record.slip),
                    str(record.entry),
                    record.occurred,
                    f"{record.slip}/{item.line}",
                    item.title,
                    *(_cell(by_column.get(column)) for column in columns),
                    item.offer,
                    item.may_leave,
                    " ".join(picture.received for picture in item.pictures),
                    "; ".join(_changes(record, item)),
                ]
            )
    return _written(rows)


def cover_csv(paper: Paper) -> bytes:
    """The covering sheet as two columns, what and value; a correction takes five lines. Shape: as `csv_of`."""
    cover = cover_of(paper)
    rows = [
        ["What", "Value"],
        ["Report", cover.report],
        ["Title", cover.title],
        ["To", cover.recipient],
        ["Period", cover.period],
        ["Asked by", ", ".join(filter(None, (cover.source, cover.jurisdiction)))],
        ["Due", cover.due],
        ["Shop", cover.shop],
        ["Licence", cover.licence],
        *(["Address", line] for line in cover.address),
        ["Purchases", str(cover.purchases)],
        ["Items", str(cover.items)],
        *(["Paid in all", total] for total in cover.totals),
    ]
    for one in cover.corrections:
        rows += [
            ["Corrected", one.what],
            ["Was", one.old],
            ["Is", one.new],
            ["By entry", f"{one.entry}, {one.at}, {one.by}"],
            ["Because", one.because],
        ]
    rows += [["Rule file, SHA-256", f"{name} {digest}"] for name, digest in cover.rule_files]
    rows += [["Book", cover.book], ["Seal", cover.seal], ["Key", cover.fingerprint]]
    return _written(rows)


def _written(rows: Sequence[Sequence[str]]) -> bytes:
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerows([[defused(cell) for cell in row] for row in rows])
    return sheet.getvalue().encode("utf-8-sig")


_Column = tuple[str, str, str]
"""fact, whose it is (all items share their columns), heading"""


def _columns(record: ReportRecord) -> Iterator[_Column]:
    for fields in (record.fields, *(item.fields for item in record.items)):
        for column, _ in _headed(fields):
            yield column


def _headed(fields: Sequence[Field]) -> Iterator[tuple[_Column, Field]]:
    """Each field that answers a question, with its column; what was corrected stands in a column of its own."""
    for field in fields:
        if field.fact:
            yield (field.fact, "" if field.about.startswith("item/") else field.about, field.label), field


def _cell(field: Field | None) -> str:
    """How a field reads now; one that is required and missing says so, as the paper does."""
    if field is None:
        return ""
    today = field.today
    if today.value is None:
        return "MISSING" if field.required else ""
    return today.value


def _changes(record: ReportRecord, item: Item) -> Iterator[str]:
    if record.undone:
        yield record.undone
    for field in (*record.fields, *item.fields):
        if field.reads is not None:
            yield f"{field.label}: entered as {field.value or 'not recorded'}"


def json_of(paper: Paper) -> bytes:
    """The whole report as one JSON document, format "report/0". Shape: UTF-8, two spaces of indent, a last line end."""
    cover = cover_of(paper)
    document = {
        "format": FORMAT,
        "nil": not cover.purchases,
        "cover": {**_plain(cover), "rule_files": [{"name": n, "sha256": d} for n, d in cover.rule_files]},
        "purchases": [_purchase(record) for record in records_of(paper)],
        **({"paper": _rest(paper)} if isinstance(paper, PurchaseReport) else {}),
    }
    return (json.dumps(document, ensure_ascii=False, indent=2) + "\n").encode()


def _plain(value: Any) -> Any:
    return json.loads(json.dumps(asdict(value)))


def _purchase(record: ReportRecord) -> dict[str, Any]:
    return {
        "slip": record.slip,
        "entry": record.entry,
        "occurred": record.occurred,
        "occurred_at": record.occurred_at,
        "undone": record.undone,
        "fields": [_field(field) for field in record.fields],
        "items": [_item(item) for item in record.items],
    }


def _rest(paper: PurchaseReport) -> dict[str, Any]:
    """What only the report of one purchase tells."""
    return {
        "recorded": paper.recorded,
        "payout": [_field(field) for field in paper.payout],
        "duties": list(paper.duties),
        "declaration": paper.declaration,
        "signature": paper.signature,
        "presented": paper.presented,
        "captures": [_plain(picture) for picture in paper.captures],
    }


def _field(field: Field) -> dict[str, Any]:
    """A field; `reads` where it reads otherwise now, `known` with the single values of it, by their names."""
    said: dict[str, Any] = {
        "label": field.label,
        "fact": field.fact,
        "about": field.about,
        "value": field.value,
        "required": field.required,
        "source": field.source,
    }
    if field.reads is not None:
        said["reads"] = field.reads.value
    if field.today.members:
        said["known"] = [{"name": name, "value": value} for name, value in field.today.members]
    return said


def _item(item: Item) -> dict[str, Any]:
    judgement = item.judgement
    return {
        "line": item.line,
        "title": item.title,
        "fields": [_field(field) for field in item.fields],
        "weighings": [_plain(weighing) for weighing in item.weighings],
        "tests": [_plain(test) for test in item.tests],
        "assessment": None
        if judgement is None
        else {
            "construction": judgement.construction,
            "interval": judgement.interval,
            "standing": judgement.standing,
            "reasons": list(judgement.reasons),
            "owed": list(judgement.owed),
        },
        "conclusion": item.conclusion,
        "offer": item.offer,
        "taken": item.taken,
        "may_leave": item.may_leave,
        "pictures": [_plain(picture) for picture in item.pictures],
    }
