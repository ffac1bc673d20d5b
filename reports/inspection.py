"""What an inspector is shown and signs: the register with stock and reports, the shelf check, the findings.

Decides: that a register goes in number order with voids under a stroke, that what a paper leaves out is said on it,
and that findings stand over the signatures with the entry after which they were sealed.
Leaves to others: what may be shown, and the checks themselves (acts).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import KEY_CAUTION, LAW_CAUTION, LIMITS
from reports.page import BODY, FOOT, SMALL, Column, Imprint, Row, Sheet, in_fours

_LEFT_OUT = (
    "This folder holds purchase records and the articles in them. It does not hold who sold or bought, prices, orders,"
    " inquiries or requests of authorities; other numbers of entries belong to those and to the shop's daily routine."
)
_NOTHING_SINCE = "nothing: no entry was made since the last inspection"
_SIGNED = (
    "The inspection is an entry of the book, sealed right after the entry named above. Whoever keeps this paper can"
    " show later whether anything before it was changed."
)


@dataclass(frozen=True)
class Shown:
    """Everything since the last inspection. Each line is a row of texts under the heads of its list."""

    imprint: Imprint
    at: str
    covers: tuple[int, int]
    """first and last number of the entries that the register goes over"""
    register: tuple[tuple[tuple[str, ...], bool], ...]
    """cells, and whether they are struck"""
    stock: tuple[tuple[str, ...], ...]
    reports: tuple[tuple[str, ...], ...]
    rules: tuple[tuple[str, ...], ...]
    counts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ShelfSheet:
    """Shelf against book, both ways."""

    imprint: Imprint
    at: str
    place: str
    found: int
    missing: tuple[tuple[str, str, str, str], ...]
    """item, article, place, state"""
    strays: tuple[tuple[str, str], ...]
    """code and why"""
    away: tuple[tuple[str, str, str, str], ...]
    twice: tuple[str, ...]


@dataclass(frozen=True)
class Findings:
    """One inspection, to be signed."""

    imprint: Imprint
    officer: str
    agency: str
    power: str
    scope: str
    at: str
    present: str
    after: tuple[int, str]
    """number and leaf of the entry before"""
    findings: tuple[tuple[str, str], ...]
    """what, and the day to cure it by"""
    said: str
    shown: tuple[str, ...]
    sample: tuple[str, ...]
    signature: str


def draw(shown: Shown, sheet: str = "letter") -> bytes:
    """The register with stock, reports and rule files as a PDF. Raises: InputError for a character no font has."""
    with setting_type(shown) as case:
        page = Sheet(case, "For inspection", shown.imprint, sheet)
        first, last = shown.covers
        page.pairs(
            [
                ("Made", shown.at, True),
                ("Covers", f"entries {first} to {last} of the book" if first <= last else _NOTHING_SINCE, True),
                *((name, count, False) for name, count in shown.counts),
            ]
        )
        page.heading("Register, in number order", keep=60)
        rows = [Row(cells, struck=struck) for cells, struck in shown.register]
        _put(page, _REGISTER, rows, "No purchase record was made since.")
        page.heading("Stock on hand", keep=60)
        _put(page, _STOCK, [Row(one) for one in shown.stock], "Nothing is in stock.")
        page.heading("Reports and their receipts", keep=60)
        _put(page, _REPORTS, [Row(one) for one in shown.reports], "No report was due.")
        page.heading("Rule files in force", keep=60)
        _put(page, _RULES, [Row(_in_lines(one)) for one in shown.rules], "No rule file is in force.")
        page.notice("What this folder holds, and what it does not", (_LEFT_OUT, LAW_CAUTION, KEY_CAUTION, LIMITS))
        return page.finish()


def draw_shelf(shelf: ShelfSheet, sheet: str = "letter") -> bytes:
    """The two-way sheet as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(shelf) as case:
        page = Sheet(case, "Shelf check, both ways", shelf.imprint, sheet)
        page.pairs(
            [
                ("Made", shelf.at, True),
                ("Place", shelf.place, False),
                ("Articles with their entry", str(shelf.found), False),
                ("Entries without article", str(len(shelf.missing)), True),
                ("Articles without entry", str(len(shelf.strays)), True),
                ("Scanned twice", ", ".join(shelf.twice) or "none", False),
            ]
        )
        page.heading("Entries without article", keep=60)
        _put(page, _ARTICLES, [Row(one) for one in shelf.missing], "None.")
        page.heading("Articles without entry", keep=60)
        _put(page, _STRAYS, [Row(one) for one in shelf.strays], "None.")
        page.heading("The shop's, and by the book elsewhere", keep=60)
        _put(page, _ARTICLES, [Row(one) for one in shelf.away], "None.")
        page.signatures(["Checked by", "For the shop"])
        page.notice("How to check this paper", (KEY_CAUTION,))
        return page.finish()


def draw_findings(findings: Findings, sheet: str = "letter") -> bytes:
    """The paper of an inspection as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(findings) as case:
        page = Sheet(case, "Inspection", findings.imprint, sheet)
        number, leaf = findings.after
        page.pairs(
            [
                ("Officer", findings.officer, True),
                ("Agency", findings.agency, True),
                ("On the power of", findings.power, False),
                ("Scope", findings.scope, False),
                ("When", findings.at, False),
                ("For the shop", findings.present, False),
                ("Sealed right after", f"entry {number}, leaf {in_fours(leaf)}", False),
                ("Shown or handed over", "\n".join(map(in_fours, findings.shown)) or "nothing with a digest", False),
            ]
        )
        page.heading("Found", keep=60)
        _put(page, _FINDINGS, [Row(one) for one in findings.findings], "Nothing was found amiss.")
        if findings.said:
            page.heading("What the shop says to it", keep=40)
            page.text(findings.said, BODY)
        if findings.sample:
            page.heading("Sample, drawn by the inspector's seed", keep=40)
            for sentence in findings.sample:
                page.text(sentence, SMALL)
        page.text(f"Signature: {findings.signature}", SMALL)
        page.signatures(["Inspector, name and number", "For the shop"])
        page.notice("What this paper fixes", (_SIGNED, KEY_CAUTION))
        return page.finish()


def _put(page: Sheet, columns: Sequence[Column], rows: Sequence[Row], none: str) -> None:
    if rows:
        page.table(columns, rows, FOOT, 2)
    else:
        page.text(none, BODY)


def _in_lines(cells: tuple[str, ...]) -> tuple[str, ...]:
    """A rule file's row with its long name broken where a reader would."""
    return tuple(f"{cell[:32]}\n{cell[32:]}" if cell.endswith(".toml") else cell for cell in cells)


_REGISTER = (
    Column("Entry", 0.7, True),
    Column("Slip", 0.6, True),
    Column("Item", 0.8),
    Column("What", 1.4),
    Column("Recorded", 1.6),
    Column("By", 0.9),
    Column("Says", 5),
)
_STOCK = (
    Column("Item", 0.8),
    Column("Article", 4),
    Column("Gross", 1, True),
    Column("Received", 1.5),
    Column("Place", 1),
    Column("State", 1),
    Column("May leave from", 2),
)
_REPORTS = (
    Column("Report", 2.9),
    Column("Title", 2),
    Column("Recipient", 1.7),
    Column("Period", 1.6),
    Column("Due", 1.5),
    Column("State", 1.4),
    Column("Sent", 1.3),
    Column("Received", 1.3),
)
_RULES = (
    Column("Jurisdiction", 2.2),
    Column("Name", 2.4),
    Column("File", 3.4),
    Column("Compared", 1.1),
    Column("By", 1),
)
_ARTICLES = (Column("Item", 0.8), Column("Article", 4.5), Column("Place", 1.5), Column("State", 1.2))
_STRAYS = (Column("Scanned", 3), Column("Why it has no entry", 4))
_FINDINGS = (Column("Finding", 5), Column("To be cured by", 1.5))
