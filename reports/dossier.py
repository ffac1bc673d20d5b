"""The dossier: the whole history of one item, drawn for one inquiry.

Decides: the item and its evidence first, then every event in the order given, each old line struck through above
the line that replaced it; what was held back from this recipient is said, not left out in silence.
Leaves to others: which events and persons this recipient may see (acts).
"""

from dataclasses import dataclass

from reports import goods
from reports.fonts import setting_type
from reports.goods import Field, Item
from reports.page import BODY, FOOT, SMALL, Imprint, Sheet, Text, short_leaf


@dataclass(frozen=True)
class Event:
    """One entry about the item. struck: lines that this event replaced, printed with a stroke through them."""

    at: str
    entry: int
    kind: str
    sentences: tuple[str, ...]
    struck: tuple[str, ...] = ()
    by: str = ""
    leaf: str = ""


@dataclass(frozen=True)
class Dossier:
    """One item for one recipient on one legal basis. seller empty: not shown, and withheld says why."""

    imprint: Imprint
    item: Item
    slip: int
    recipient: str
    basis: str
    seller: tuple[Field, ...]
    events: tuple[Event, ...]
    rule_files: tuple[tuple[str, str], ...]
    withheld: tuple[str, ...] = ()


def draw(dossier: Dossier, sheet: str = "letter") -> bytes:
    """The dossier as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(dossier) as case:
        number = f"{dossier.slip}/{dossier.item.line}"
        page = Sheet(case, f"Dossier of item {number}", dossier.imprint, sheet)
        page.pairs([("Made for", dossier.recipient, True), ("On the basis of", dossier.basis, False)])
        goods.put_item(page, dossier.slip, dossier.item)
        page.heading("History, in time order", keep=60)
        for event in dossier.events:
            _put_event(page, event)
        if dossier.seller:
            page.heading("Seller")
            goods.put_fields(page, dossier.seller)
        if dossier.withheld:
            page.heading("Not shown to this recipient")
            for sentence in dossier.withheld:
                page.text(sentence, BODY)
        goods.put_rule_files(page, dossier.rule_files)
        page.notice("Cautions", (goods.LAW_CAUTION, goods.ASSAY_CAUTION, goods.KEY_CAUTION, goods.LIMITS))
        return page.finish()


def _put_event(page: Sheet, event: Event) -> None:
    left = [Text(event.at), Text(f"entry {event.entry}")]
    if event.by:
        left.append(Text(f"by {event.by}"))
    right = [Text(event.kind, BODY, bold=True)]
    right += [Text(line, BODY, struck=True) for line in event.struck]
    right += [Text(sentence, BODY) for sentence in event.sentences]
    if event.leaf:
        right.append(Text(f"leaf {short_leaf(event.leaf)}", FOOT))
    page.beside(left, right)
    page.space(SMALL / 2)
