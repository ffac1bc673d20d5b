"""Fills the papers of one slip from the book: the page to sign, the stub, the labels, the purchase report.

Every paper that leaves the shop carries the newest seal, so that whoever keeps it can hold the book against it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import figures, gathering, holding, leaving, wording
from ledger.acts.closing import short
from ledger.acts.gathering import Whole
from ledger.assay.assessments import CONSTRUCTION_WORDS, STANDING_WORDS
from ledger.book import reading
from ledger.book.pages import Book
from ledger.chain import seals
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law import holds as law
from ledger.law.answers import Duty
from ledger.measures import grams
from ledger.moments import parse_local, parse_moment
from ledger.shop.facts import ShopFacts
from ledger.slip import describing
from ledger.slip.document import Item
from reports import declaration, goods, label, purchase, stub
from reports.page import Imprint

SELLER = "the seller named on the slip"


def imprint(
    connection: sa.Connection,
    book: Book,
    shop: ShopFacts,
    entry: Entry | None,
    *,
    copy: str,
    recipient: str,
    at: datetime,
) -> Imprint:
    """What every page of a paper carries. Raises: InputError while the book has no seal."""
    note = reading.newest_seal(connection, book.origin)
    if note is None:
        raise InputError(
            field="seal", given="none", wanted="a seal of this book; make one with `counterfoil book seal`"
        )
    opened = reading.entry_at(connection, book.origin, 0)
    return Imprint(
        shop=shop.name,
        licence=shop.licence,
        address=shop.address,
        book=book.origin,
        entry=None if entry is None else entry.seq,
        leaf="" if entry is None else entry.leaf.hex(),
        seal_note=note,
        seal_short=short(note),
        fingerprint=seals.fingerprint(seals.read_vkey(opened.public["vkey"]).public),
        copy=copy,
        recipient=recipient,
        at=at,
    )


def slip_page(connection: sa.Connection, book: Book, number: int, sheet: str) -> bytes:
    """The frozen slip for the seller's signature."""
    whole = gathering.whole(connection, book, number)
    slip = whole.slip
    paper = declaration.SlipPage(
        imprint=_imprint(connection, whole, "Shop's copy, to be signed", SELLER, whole.presented.entry),
        slip=number,
        presented=whole.presented.entry.leaf.hex(),
        occurred=wording.at(slip.occurred_at),
        seller=parties(whole, asked_by_all(whole)),
        items=stub_lines(whole),
        total=str(slip.total_taken or ""),
        payout=_payout(whole),
        declaration=slip.declaration.text if slip.declaration else "",
        language=slip.declaration.language if slip.declaration else "",
        signature_lines=("Seller", "For the shop"),
    )
    return declaration.draw(paper, sheet)


def stub_paper(connection: sa.Connection, book: Book, number: int, sheet: str) -> bytes:
    """The seller's copy of a recorded slip. Raises: InputError when it is not recorded."""
    whole = _recorded(connection, book, number)
    paper = stub.Stub(
        imprint=_imprint(connection, whole, "Seller's copy", SELLER),
        slip=number,
        occurred=wording.at(whole.slip.occurred_at),
        items=stub_lines(whole),
        total=str(whole.slip.total_taken or ""),
        payout=_payout(whole),
        may_leave=_slip_leaves(whole),
        corrections=(
            *(f"Corrected by entry {each.seq}: {each.part}." for each in whole.corrections),
            *([] if whole.undone is None else [f"Undone by entry {whole.undone.entry.seq}: the goods went back."]),
        ),
    )
    return stub.draw(paper, sheet)


def labels(connection: sa.Connection, book: Book, number: int) -> bytes:
    """A bag label for every item that was bought. Raises: InputError when there is none."""
    whole = _recorded(connection, book, number)
    made = [
        label.Label(
            imprint=_imprint(connection, whole, "Bag label", "the bag"),
            item=f"{number}/{line}",
            description=one.words,
            weight=wording.weight(item.paid_on),
            received=wording.at(whole.slip.occurred_at),
            may_leave=wording.leaves(law.Leave(one.plain, one.cautious, one.waiting_for), len(one.orders)),
            basis="; ".join(hold.source for hold in _holds(connection, whole, line)),
            place=one.place,
        )
        for line, item in whole.slip.taken
        for one in [holding.standing_of(connection, book, number, line)]
    ]
    return label.draw(made)


def purchase_report(
    connection: sa.Connection,
    book: Book,
    number: int,
    sheet: str,
    *,
    copy: str,
    recipient: str,
) -> bytes:
    """One slip in full for the shop itself, fields in the order in which all layers ask."""
    whole = _recorded(connection, book, number)
    asked = asked_by_all(whole)
    return purchase.draw(purchase_values(connection, whole, copy=copy, recipient=recipient, asked=asked), sheet)


def asked_by_all(whole: Whole) -> tuple[str, ...]:
    """Names of the facts that all layers ask for, in their order."""
    return tuple(field.fact for field in whole.duties.asks)


def hidden_from(whole: Whole, recipient: str = "") -> frozenset[str]:
    """Names of the facts that the rule files forbid to show to a recipient, by its id, or leave off its copy.

    Without a recipient: those that nobody may be shown.
    """
    omitted = (
        fact for form in whole.duties.forms for copy in form.copies if copy.keeper == recipient for fact in copy.omits
    )
    return frozenset((*whole.duties.hidden_from(recipient), *omitted))


def purchase_values(
    connection: sa.Connection,
    whole: Whole,
    *,
    copy: str,
    recipient: str,
    asked: tuple[str, ...],
    hidden: frozenset[str] = frozenset(),
    authority: str = "",
) -> purchase.PurchaseReport:
    """What a purchase report shows.

    asked: names of facts, in the order of the paper. hidden: names of facts whose captures are not shown either.
    authority: name of the jurisdiction whose rule asks for this copy; then it tells of bought items only.
    """
    slip, told = whole.slip, whole.told
    shown = slip.taken if authority else tuple(enumerate(slip.items, 1))
    return purchase.PurchaseReport(
        imprint=_imprint(connection, whole, copy, recipient),
        slip=whole.number,
        jurisdiction=authority or "; ".join(file.name for file in whole.files),
        occurred=wording.at(slip.occurred_at),
        recorded=wording.at(whole.recorded_at),
        fields=(*wording.answered(whole.duties, told, asked, "shop", "slip", *_PARTIES), *_co_sellers(whole, asked)),
        items=tuple(item_values(connection, whole, told, line, item, asked) for line, item in shown),
        payout=_payout_fields(whole),
        total=str(slip.total_taken or "nothing"),
        duties=tuple(dict.fromkeys(_with_source(duty) for duty in whole.duties.duties if duty.state != "met")),
        rule_files=tuple((file.name, file.digest) for file in whole.files),
        declaration=slip.declaration.text if slip.declaration else "",
        signature=_signature(whole),
        captures=tuple(
            _picture(name, value)
            for name, value in whole.parts.items()
            if _is_picture(value) and not name.startswith("item/") and f"seller.captures.{value['shows']}" not in hidden
        ),
        presented=whole.presented.entry.leaf.hex(),
        corrections=corrections(whole),
    )


def _with_source(duty: Duty) -> str:
    return duty.says if duty.source in duty.says else f"{duty.source}: {duty.says}"


_PARTIES = ("seller", "principal", "guardian")


def parties(whole: Whole, asked: tuple[str, ...]) -> tuple[goods.Field, ...]:
    """What is asked of the seller, of whom he acts for and of his guardian, then of each further seller."""
    return (*wording.answered(whole.duties, whole.told, asked, *_PARTIES), *_co_sellers(whole, asked))


def _co_sellers(whole: Whole, asked: tuple[str, ...]) -> tuple[goods.Field, ...]:
    """What is asked of every seller, answered for each further one."""
    told = whole.told
    return tuple(
        replace(field, label=f"{field.label} (seller {party['party']})")
        for party in told.get("co_sellers", ())
        for field in wording.answered(whole.duties, told, asked, f"party/{party['party']}")
    )


def corrections(whole: Whole) -> tuple[goods.Correction, ...]:
    """Corrections of a slip, old beside new, member by member where only some changed."""
    made = []
    for each in whole.corrections:
        old, new = each.was, each.now
        if isinstance(old, Mapping) and isinstance(new, Mapping):
            changed = [name for name in {**old, **new} if new.get(name) != old.get(name)]
            old, new = ({name: one.get(name) for name in changed} for one in (old, new))
        at = wording.at(parse_moment(each.at, "at").astimezone(whole.slip.occurred_at.tzinfo))
        made.append(
            goods.Correction(each.part, wording.said(old), wording.said(new), each.seq, at, each.by, each.because)
        )
    if whole.undone is not None:
        made.append(_undone(whole, whole.undone))
    return tuple(made)


def _undone(whole: Whole, void: reading.Opened) -> goods.Correction:
    """A report of a purchase that was undone says so where it says what was corrected."""
    at = wording.at(parse_local(str(void.entry.occurred_at), "at"))
    undone = "undone: the goods went back to the seller"
    because = void.get("reason", {}).get("because", wording.NOT_RECORDED)
    return goods.Correction("the purchase", "bought", undone, void.entry.seq, at, void.entry.by, because)


def item_values(
    connection: sa.Connection,
    whole: Whole,
    told: Mapping[str, Any],
    line: int,
    item: Item,
    asked: tuple[str, ...],
) -> goods.Item:
    """An item in full: fields, weighings, tests with their figures, assessment, offer, picture digests."""
    recorded = whole.assessment(line)
    offer = item.offer
    return goods.Item(
        line=line,
        title=describing.one_line(item),
        fields=(*_corrected(whole, line), *wording.answered(whole.duties, told, asked, f"item/{line}")),
        weighings=tuple(
            goods.Weighing(
                each.what,
                f"{each.weight.text} {each.weight.unit}",
                f"{grams(each.weight.mg)} g",
                each.scale or wording.NOT_RECORDED,
                figures.when(each.at or "", whole.slip.occurred_at.tzinfo),
                each.paid_on,
            )
            for each in item.weighings
        ),
        tests=tuple(figures.test_of(test, whole.slip.occurred_at.tzinfo) for test in item.evidence),
        judgement=None if recorded is None else _judgement(whole, line, recorded),
        conclusion=_conclusion(item, whole),
        offer="" if offer is None else str(offer.money),
        taken=offer is not None and offer.answer == "taken",
        may_leave=_leaves(connection, whole, line) if offer is not None and offer.answer == "taken" else "",
        pictures=tuple(
            _picture(name, value)
            for name, value in whole.parts.items()
            if name.startswith(f"item/{line}/picture/") and _is_picture(value)
        ),
    )


def _corrected(whole: Whole, line: int) -> Iterator[goods.Field]:
    """What of an item was corrected, said before the lines it corrects: those stay as they were entered."""
    for one in corrections(whole):
        if one.what.startswith(f"item/{line}/"):
            yield goods.Field(f"Corrected by entry {one.entry}", f"should read {one.new}, not {one.old}")


def stub_lines(whole: Whole) -> tuple[stub.StubLine, ...]:
    """The items as the seller sees them."""
    return tuple(
        stub.StubLine(
            line=line,
            description=describing.one_line(item),
            weight=wording.weight(item.paid_on),
            amount="" if item.offer is None else str(item.offer.money),
            taken=item.offer is not None and item.offer.answer == "taken",
        )
        for line, item in enumerate(whole.slip.items, 1)
    )


def _recorded(connection: sa.Connection, book: Book, number: int) -> Whole:
    whole = gathering.whole(connection, book, number)
    if whole.purchase is None:
        raise InputError(field="slip", given=f"slip {number}, {whole.row.state}", wanted="a slip that was recorded")
    return whole


def _imprint(connection: sa.Connection, whole: Whole, copy: str, recipient: str, entry: Entry | None = None) -> Imprint:
    shown = entry or (whole.purchase or whole.presented).entry
    at = whole.slip.occurred_at
    return imprint(connection, whole.book, whole.shop, shown, copy=copy, recipient=recipient, at=at)


def _payout(whole: Whole) -> str:
    return "" if whole.slip.payout is None else wording.payout(whole.slip.payout)


def _payout_fields(whole: Whole) -> tuple[goods.Field, ...]:
    payout = whole.slip.payout
    if payout is None:
        return ()
    return (
        goods.Field("Instrument", payout.instrument),
        goods.Field("Amount", str(payout.money)),
        goods.Field("Payee", payout.payee),
        goods.Field("Reference", payout.reference),
    )


def _slip_leaves(whole: Whole) -> str:
    """The latest moment from which any of the goods may leave, as it stood when the slip was recorded."""
    return wording.leaves(law.leave(whole.holds))


def _holds(connection: sa.Connection, whole: Whole, line: int) -> Sequence[law.Hold]:
    return leaving.holds_of(connection, whole.book, whole.number, line)


def _leaves(connection: sa.Connection, whole: Whole, line: int) -> str:
    return wording.leaves(law.leave(_holds(connection, whole, line)))


def _signature(whole: Whole) -> str:
    signature = whole.slip.declaration.signature if whole.slip.declaration else None
    if signature is None:
        return "none recorded"
    if signature.not_taken is not None:
        return f"not taken: {signature.not_taken}"
    if signature.on_paper is not None:
        return f"on paper: {signature.on_paper}"
    kept = whole.parts["declaration/signature"]
    return f"picture kept, SHA-256 {kept['received']}"


def _is_picture(value: Any) -> bool:
    return isinstance(value, Mapping) and "file_received" in value


def _picture(name: str, value: Mapping[str, Any]) -> goods.Picture:
    return goods.Picture(f"{name}: {value['shows']}", value["received"], value["shown"])


def _judgement(whole: Whole, line: int, recorded: Mapping[str, Any]) -> goods.Judgement:
    return goods.Judgement(
        construction=CONSTRUCTION_WORDS.get(recorded["construction"], recorded["construction"]),
        interval=wording.interval(recorded),
        standing=STANDING_WORDS.get(recorded["standing"], recorded["standing"]),
        reasons=tuple(reason["text"] for reason in recorded["reasons"]),
        owed=tuple(f"{owed['test']}: {owed['decides']}" for owed in recorded["owed"]),
        strip=whole.strip(line),
    )


def _conclusion(item: Item, whole: Whole) -> str:
    if item.conclusion is None:
        return "none recorded"
    by = whole.slip.staff
    return f"agrees ({by})" if item.conclusion.agrees else f"differs because {item.conclusion.because} ({by})"
