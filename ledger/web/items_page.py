"""The items of a slip as the page shows them: what the line said, what the tests support, what may be offered.

Decides: what stands beside which item. Leaves to `slip.editing` what a button does, to `web.evidence_form` the fields
of a test, to the acts what anything is worth.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from ledger.acts import wording
from ledger.acts.examining import Examined
from ledger.assay import strip
from ledger.assay.assessments import Assessment
from ledger.assay.value import Valuation
from ledger.measures import UNITS, grams, thousandths
from ledger.slip import describing, editing, schema
from ledger.slip.shorthand import Left
from ledger.web import evidence_form

PICTURES: Final = (
    ("overall", "the whole article, with a scale in the frame"),
    ("mark", "the mark, filling the frame"),
    ("inscription", "the inscription, in raking light"),
    ("back", "the other face"),
    ("inside", "the inside of the band or lid"),
    ("clasp", "the clasp"),
    ("stone", "the stones"),
    ("damage", "what is damaged"),
    ("contents", "what is inside"),
    ("count", "all pieces, so that they can be counted"),
    ("scale", "the article on the scale, figures readable"),
)
"""What a picture of an article should show; one article to a frame, the camera straight above it."""


def _choices(node: schema.Node, name: str) -> tuple[tuple[str, str], ...]:
    """The words that a member of the slip's schema may be, a blank one first."""
    return (("", ""), *((word, word.replace("-", " ")) for word in node["properties"][name]["enum"]))


_RING, _MEASURE = schema.SIZE["anyOf"]
CHOICES: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "kind": (("single", "single article"), ("set", "matched set"), ("lot", "scrap lot")),
    "goods": tuple((word, word) for word in schema.GOODS),
    "colour": (("", ""), *((word, word) for word in schema.COLOURS)),
    "unit": (("", ""), *((unit, unit) for unit in UNITS)),
    "weighed": _choices(schema.WEIGHING, "what"),
    "basis": _choices(schema.STONE, "basis"),
    "serial": _choices(schema.SERIAL, "of"),
    "size": (("", ""), ("ring", "ring size"), *_choices(_MEASURE, "what")[1:]),
    "system": _choices(_RING, "system"),
    "length_unit": _choices(_MEASURE, "unit"),
    "yes_no": (("", ""), ("yes", "yes"), ("no", "no")),
    "consent": (("", "not asked"), ("given", "agrees"), ("refused", "does not agree")),
    "agrees": (("", ""), ("yes", "agree"), ("no", "differ, because")),
    "answer": (("", "not answered"), ("taken", "taken"), ("declined", "declined")),
    "test": (("", ""), *evidence_form.KINDS),
}


@dataclass(frozen=True)
class Weighed:
    """What the tests of an item support, in words and as a picture."""

    headline: str
    picture: Markup
    words: str
    payable: str
    owed: tuple[str, ...]
    conflicts: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """One item on the page."""

    place: int
    path: str
    number: int
    left: tuple[Left, ...]
    read: bool
    """a line of shorthand was read for it"""
    says: str
    """the description in words, in the order of asking"""
    lacks: tuple[str, ...]
    rows: Mapping[str, int]
    """rows to show of each list: those written and one more"""
    tests: tuple[evidence_form.Test, ...]
    weighed: Weighed | None
    worth: str
    suggested: str
    leaves: str
    pictures: tuple[tuple[str, str], ...]
    """file and what it shows"""
    open: bool
    """a field inside is wrong: the fields stand open"""


_LISTS: Final = ("marks", "inscriptions", "serials", "stones", "sizes", "weighings", "pictures", "evidence")


def places(fields: Mapping[str, str]) -> tuple[int, ...]:
    """The items that are written, by their place on the page; line n of the document is the nth of them."""
    written = {name.split(".")[1] for name, value in fields.items() if name.startswith("items.") and value.strip()}
    return tuple(sorted(int(place) for place in written if place.isdigit()))


def rows(fields: Mapping[str, str], examined: Examined | None, faults: Sequence[Mapping[str, str]]) -> tuple[Row, ...]:
    """Every item of the page, written or still blank."""
    lines = {place: line for line, place in enumerate(places(fields), 1)}
    return tuple(
        _row(place, fields, examined, lines.get(place), faults) for place in range(editing.items_shown(fields))
    )


def _row(
    place: int,
    fields: Mapping[str, str],
    examined: Examined | None,
    line: int | None,
    faults: Sequence[Mapping[str, str]],
) -> Row:
    path = f"items.{place}"
    item = assessment = value = None
    leaves = ""
    if examined is not None and line is not None and line <= len(examined.slip.items):
        item = examined.slip.items[line - 1]
        assessment, value = examined.assessments.get(line), examined.valuations.get(line)
        leaves = wording.leaves(examined.duties.leave(line)) if item.taken else ""
    shown = {name: editing.size_of(fields, f"{path}.{name}") + 1 for name in _LISTS}
    pictures = range(shown["pictures"] - 1)
    return Row(
        place=place,
        path=path,
        number=place + 1,
        left=editing.left(fields, place),
        read=bool(fields.get(f"ui.read.{place}")),
        says=describing.in_words(item) if item is not None else "",
        lacks=describing.missing(item) if item is not None else (),
        rows=shown,
        tests=evidence_form.tests(fields, path),
        weighed=weighed(assessment, f"strip-{place}") if assessment is not None else None,
        worth=worth(value) if value is not None else "",
        suggested=value.offer.digits if value is not None and value.offer is not None else "",
        leaves=leaves,
        pictures=tuple(
            (fields.get(f"{path}.pictures.{n}.file", ""), fields.get(f"{path}.pictures.{n}.shows", ""))
            for n in pictures
        ),
        open=any(_inside(fault["path"], path) for fault in faults),
    )


def _inside(fault: str, path: str) -> bool:
    outside = (".evidence", ".offer", ".conclusion", ".pictures")
    return fault.startswith(path + ".") and not fault.startswith(tuple(path + name for name in outside))


def weighed(assessment: Assessment, name: str) -> Weighed:
    """An assessment in words and as a strip; name: begins the ids inside the picture."""
    picture = strip.strip(assessment)
    payable = ""
    if assessment.payable is not None:
        bound = ", at most" if assessment.upper_bound else ""
        payable = f"May be paid for: {assessment.metal} {assessment.payable.words()} per thousand{bound}."
    return Weighed(
        headline=assessment.headline(),
        picture=Markup(strip.svg(picture, name)),  # every text inside is escaped where it is drawn
        words=strip.words(picture),
        payable=payable,
        owed=tuple(
            f"{one.words()}: decides {one.decides}" + (" (leaves a mark: ask the seller first)" if one.consent else "")
            for one in assessment.owed
        ),
        conflicts=tuple(f"Suspected: {one.replace('-', ' ')}" for one in assessment.suspicions)
        + tuple(
            one.what + (f"; settled by {one.settled_by}" if one.settled_by else "") for one in assessment.conflicts
        ),
    )


def worth(value: Valuation) -> str:
    """What the metal of an item is worth, in a sentence."""
    if value.offer is None or value.fine_paid_mg is None:
        return f"Not worked out: {value.why_not}"
    fine = f"{grams(value.fine_paid_mg)} g fine at {thousandths(value.paid_fineness_ppm or 0)} per thousand"
    estimated = " Its net weight is an estimate: the stones were not weighed." if value.estimated else ""
    return f"{fine}, melt value {value.melt_value}, by the shop's rate {value.offer}.{estimated}"
