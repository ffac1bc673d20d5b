"""A report in the forms that programs read, and its fields after corrections.

The values are those of the paper, so that what a recipient must not be shown is in no form of a report.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from ledger.acts import wording
from ledger.acts.gathering import Whole
from ledger.errors import InputError
from ledger.measures import Money
from ledger.moments import local_text
from reports import goods, niem, tabular
from reports.purchase import PurchaseReport

FORMS: Mapping[str, Mapping[str, Callable[[tabular.Paper], bytes]]] = {
    "csv": {".csv": tabular.csv_of, "-cover.csv": tabular.cover_csv},
    "json": {".json": tabular.json_of},
    "niem": {".xml": niem.niem_of},
}
"""forms beside the paper, each with its files: the end of a file's name, and what makes it"""


def files(paper: tabular.Paper, forms: Sequence[str]) -> dict[str, bytes]:
    """The files of a report in these forms, by the ends of their names. Raises: InputError for another form."""
    made: dict[str, bytes] = {}
    for form in forms:
        if form not in FORMS:
            raise InputError(field="form", given=form, wanted=f"one of {', '.join(FORMS)}")
        made |= {ending: write(paper) for ending, write in FORMS[form].items()}
    return made


def for_programs(whole: Whole, values: PurchaseReport) -> PurchaseReport:
    """The values of a purchase with what a program needs beside: fields as they read now, the exact moment."""
    told = whole.told_today
    kinds = {item["line"]: str(item.get("goods", "")) for item in told["items"]}
    return replace(
        values,
        fields=_anew(whole, values.fields),
        items=tuple(replace(item, fields=_anew(whole, item.fields), goods=kinds[item.line]) for item in values.items),
        occurred_at=local_text(whole.slip_today.occurred_at),
        undone="" if whole.undone is None else f"Undone by entry {whole.undone.entry.seq}: the goods went back.",
    )


def _anew(whole: Whole, fields: tuple[goods.Field, ...]) -> tuple[goods.Field, ...]:
    if not whole.corrections:
        return fields
    return tuple(wording.read_anew(field, whole.told_today) for field in fields)


_LOOKS = {"sex", "race", "height", "weight", "build", "hair", "eyes", "marks"}
_OF_THE_SLIP = ("visit", "payout", "notes", "parcel", "spot")


def tells_of(part: str, hidden: frozenset[str]) -> bool:
    """Whether a part of a slip holds a fact that is hidden, by the facts' names; rather once too often than too seldom.

    >>> tells_of("seller/document/1", frozenset({"seller.document.number"}))
    True
    >>> tells_of("seller/name", frozenset({"seller.document.number"})), tells_of("item/1/price", frozenset())
    (False, False)
    """
    subject, _, rest = part.partition("/")
    if subject in ("party", "item"):
        rest = rest.partition("/")[2]
    word = rest.partition("/")[0]
    kind = {"party": "seller", "seller": "seller", "item": "item"}.get(subject, "slip")
    facts = (fact.replace(".captures.", ".") for fact in hidden if fact.startswith(f"{kind}."))
    words = {fact.split(".")[1] for fact in facts}
    if kind == "item":
        return "price" in words if word == "price" else bool(words - {"price"})
    if kind == "slip":
        return "declaration" in words if subject == "declaration" else bool(words) and subject in _OF_THE_SLIP
    if word == "description":
        return bool(words & _LOOKS)
    return any(word.startswith(one) or one.startswith(word) for one in words)


def withheld(correction: goods.Correction, hidden: frozenset[str]) -> goods.Correction:
    """A correction as its recipient may see it: of a part with something hidden only that there was one."""
    if not tells_of(correction.what, hidden):
        return correction
    return replace(correction, old="not shown to this recipient", new="not shown to this recipient")


def shown_to(values: PurchaseReport, hidden: frozenset[str]) -> PurchaseReport:
    """The values without a declaration that is hidden, and without corrections inside an article that tell of it."""
    items = values.items
    if tells_of("item/1/description", hidden):
        items = tuple(replace(item, fields=tuple(one for one in item.fields if one.fact)) for item in items)
    if "slip.declaration" in hidden:
        values = replace(values, declaration="", signature="")
    return replace(values, items=items)


def totals(wholes: Iterable[Whole]) -> tuple[str, ...]:
    """What was paid for purchases, one text for each currency, in the order of the currencies' names."""
    paid: dict[str, Money] = {}
    for whole in wholes:
        one = whole.slip.total_taken
        if one is not None:
            paid[one.currency] = one if one.currency not in paid else paid[one.currency] + one
    return tuple(str(paid[currency]) for currency in sorted(paid))
