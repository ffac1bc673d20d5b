"""The blocks that several papers share: a field asked by a rule, an item with its evidence, a correction.

Decides: how a field that the rules require and nobody filled is shown (as missing, in bold), how a test stands
beside its figures, how an old line stays readable under its correction.
Leaves to others: which fields there are and in which order (acts, from the rule file).

>>> field_row(Field("Birth date", None, required=True, source="Sample Code 4-2"))
('Birth date', 'MISSING (required by Sample Code 4-2)', True)
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ledger.assay.strip import Strip
from reports import strip as strips
from reports.page import BODY, FOOT, SMALL, Column, Row, Sheet

LAW_CAUTION = (
    "Law: the rule files named here are a person's reading of the law on a date. The law in force decides: compare"
    " them with it, and ask a licensed lawyer or the authority before relying on them."
)
ASSAY_CAUTION = (
    "Assay: an assessment says what the tests together support. It is not a certified assay; where more hangs on it,"
    " ask an assay office or a refiner."
)
KEY_CAUTION = (
    "Proof: a signature by a key on the shop's own machine binds only against outsiders. What keeps the book from being"
    " rewritten or cut are its seals in the hands of others: on stubs, reports, dossiers and extracts."
)
LIMITS = (
    "Limits: a purchase never entered leaves no trace, the machine's clock is as good as what confirms it from outside,"
    " and a document or barcode that was read does not prove who showed it."
)


@dataclass(frozen=True)
class Field:
    """One thing a rule file asks. value None: missing; a value not known comes as text with its reason.

    fact, about: the name that rules give it, and whose it is ("seller", "party/2", "item/1"). members: the single
    values of which `value` is made, each with the path of its name ("street", "1/colour"). reads: the field as it reads
    after all corrections, where that differs. A paper prints none of the four: it shows corrections by themselves.
    """

    label: str
    value: str | None
    required: bool = False
    source: str = ""
    fact: str = ""
    about: str = ""
    members: tuple[tuple[str, str], ...] = ()
    reads: "Field | None" = None

    @property
    def today(self) -> "Field":
        """The field after all corrections."""
        return self.reads or self


@dataclass(frozen=True)
class Weighing:
    """One weighing: what ("gross"), as the scale showed it, in grams, on which scale, when."""

    what: str
    shown: str
    grams: str
    scale: str
    at: str
    paid_on: bool


@dataclass(frozen=True)
class Test:
    """One test and its figures."""

    __test__ = False  # not for pytest

    name: str
    instrument: str
    by: str
    at: str
    where: str
    figures: tuple[str, ...]


@dataclass(frozen=True)
class Judgement:
    """The assessment in words, with its strip."""

    construction: str
    interval: str
    standing: str
    reasons: tuple[str, ...]
    owed: tuple[str, ...]
    strip: Strip | None


@dataclass(frozen=True)
class Picture:
    """A picture by what it shows and the SHA-256 (hex) of the bytes as received and of the copy shown."""

    shows: str
    received: str
    shown: str


@dataclass(frozen=True)
class Item:
    """One item of a slip with all that is known of it."""

    line: int
    title: str
    fields: tuple[Field, ...]
    weighings: tuple[Weighing, ...]
    tests: tuple[Test, ...]
    judgement: Judgement | None
    conclusion: str
    offer: str
    taken: bool
    may_leave: str
    pictures: tuple[Picture, ...]
    goods: str = ""
    """what it is to the rules: jewelry, coin...; not printed"""


@dataclass(frozen=True)
class Correction:
    """A later entry that corrects a line; the old line stays readable."""

    what: str
    old: str
    new: str
    entry: int
    at: str
    by: str
    because: str


def field_row(field: Field) -> tuple[str, str, bool]:
    """Label, value and whether the value is printed bold."""
    if field.value is not None:
        return field.label, field.value, False
    if field.required:
        return field.label, f"MISSING (required by {field.source})" if field.source else "MISSING (required)", True
    return field.label, "not recorded", False


def put_fields(sheet: Sheet, fields: Sequence[Field], indent: float = 0) -> None:
    """The fields in the order given."""
    sheet.pairs([field_row(field) for field in fields], indent=indent)


def put_item(sheet: Sheet, slip: int, item: Item) -> None:
    """An item in full: fields, weighings, tests with their figures, assessment, offer, picture digests."""
    state = "" if item.taken else " (not bought)"
    sheet.heading(f"Item {slip}/{item.line}{state}: {item.title}", keep=60)
    put_fields(sheet, item.fields)
    if item.weighings:
        put_weighings(sheet, item.weighings)
    if item.tests:
        put_tests(sheet, item.tests)
    if item.judgement:
        put_judgement(sheet, item.judgement)
    rows = [("Conclusion of the shop", item.conclusion), ("Offer", item.offer), ("May leave from", item.may_leave)]
    if not item.taken and item.offer:
        rows[1] = ("Offer", f"{item.offer}, declined")
    sheet.pairs([(label, value, False) for label, value in rows if value])
    put_pictures(sheet, item.pictures)


def put_weighings(sheet: Sheet, weighings: Sequence[Weighing]) -> None:
    """Every weighing; the one paid on says so."""
    columns = (
        Column("Weighed", 1.3),
        Column("Scale showed", 1.3, True),
        Column("In grams", 1.2, True),
        Column("Scale", 1.6),
        Column("When", 2.4),
        Column("", 0.9),
    )
    rows = [Row((w.what, w.shown, w.grams, w.scale, w.at, "paid on" if w.paid_on else "")) for w in weighings]
    sheet.space(3)
    sheet.table(columns, rows, SMALL, 1.5)


def put_tests(sheet: Sheet, tests: Sequence[Test]) -> None:
    """Every test with its instrument, person, moment, place and figures."""
    columns = (Column("Test", 1.2), Column("Where", 1.1), Column("Figures", 2.6), Column("With, by, when", 2.1))
    rows = [
        Row((t.name, t.where, "\n".join(t.figures), "\n".join(filter(None, (t.instrument, t.by, t.at))))) for t in tests
    ]
    sheet.space(3)
    sheet.table(columns, rows, SMALL, 3)


def put_judgement(sheet: Sheet, judgement: Judgement) -> None:
    """The assessment, its strip, its reasons and the tests still owed."""
    rows = [
        ("Assessment", judgement.construction, True),
        ("Fineness supported", judgement.interval, False),
        ("Against the mark", judgement.standing, False),
    ]
    sheet.need(3 * BODY * 1.25)
    sheet.pairs([row for row in rows if row[1]])
    if judgement.strip is not None:
        strips.draw(sheet, judgement.strip)
    for title, sentences in (("Reasons", judgement.reasons), ("Tests owed", judgement.owed)):
        if sentences:
            sheet.pairs([(title if not number else "", text, False) for number, text in enumerate(sentences)])


def put_pictures(sheet: Sheet, pictures: Sequence[Picture], title: str = "Pictures, by SHA-256 of their bytes") -> None:
    """The digest of each picture, in full, so that a copy can be compared."""
    if not pictures:
        return
    sheet.space(3)
    sheet.need(3 * FOOT * 1.25)
    sheet.text(title, SMALL, bold=True)
    for picture in pictures:
        sheet.need(2 * FOOT * 1.25)
        sheet.text(f"{picture.shows}", SMALL)
        sheet.text(f"received {picture.received}", FOOT, indent=10)
        if picture.shown and picture.shown != picture.received:
            sheet.text(f"shown {picture.shown}", FOOT, indent=10)


def put_corrections(sheet: Sheet, corrections: Sequence[Correction]) -> None:
    """Each old line struck through, the new one below it, with entry, person and reason."""
    if not corrections:
        return
    sheet.heading("Corrections")
    for correction in corrections:
        sheet.need(4 * BODY * 1.25)
        sheet.text(correction.what, SMALL, bold=True)
        sheet.text(correction.old, BODY, indent=10, struck=True)
        sheet.text(correction.new, BODY, indent=10)
        sheet.text(
            f"Entry {correction.entry}, {correction.at}, by {correction.by}: {correction.because}", SMALL, indent=10
        )
        sheet.y -= 3


def put_rule_files(sheet: Sheet, rule_files: Sequence[tuple[str, str]]) -> None:
    """Which rule files governed, by the SHA-256 of their bytes."""
    if not rule_files:
        return
    sheet.space(3)
    sheet.need(3 * SMALL * 1.25)
    sheet.text("Rule files that governed, by SHA-256 of their bytes", SMALL, bold=True)
    for name, digest in rule_files:
        sheet.need(2 * FOOT * 1.25)
        sheet.text(name, SMALL)
        sheet.text(digest, FOOT, indent=10)
