"""What the law room and the assay room read of a slip: nested plain values, under the names they know.

Decides: which member of a slip is which fact. What nobody said is left out, what is not known keeps its reason, and a
list that was looked at and found empty is an answer; none of them becomes a default.
Leaves to others: what a fact means (`ledger.law.facts` holds the vocabulary), facts of the shop, the day's prices.

    facts = facts_of(slip, shop={"state": "Tamarack"}, assessments={1: assessment})
    ledger.law.duties.weigh(files, facts, at=slip.occurred_at)
"""

from collections.abc import Callable, Mapping
from typing import Any

from ledger.assay import marks as assay_marks
from ledger.assay.assessments import Assessment
from ledger.assay.value import Valuation
from ledger.identity import ages, kinds
from ledger.measures import Money, Weight
from ledger.slip import describing, writing
from ledger.slip.document import (
    Address,
    Answer,
    Capture,
    Description,
    Document,
    Item,
    Known,
    NotKnown,
    Party,
    Serial,
    Slip,
    Vehicle,
)

Facts = dict[str, Any]


def facts_of(
    slip: Slip,
    *,
    shop: Mapping[str, Any],
    assessments: Mapping[int, Assessment] | None = None,
    values: Mapping[int, Valuation] | None = None,
    every_item: bool = False,
) -> Facts:
    """The facts of one slip, by subject: shop, slip, seller, co_sellers, principal, guardian, items.

    shop: the shop's own facts, taken as they are.
    assessments, values: what assay says, by line from one; a line may be missing.
    every_item: also items whose offer was not taken or is not made yet, for the margin of a draft; else only what
    the shop buys.
    Shape: dicts, lists, texts, whole numbers, truth values; money as {"currency", "minor"}; days as ISO text.
    """
    bought = [(line, item) for line, item in enumerate(slip.items, 1) if every_item or item.taken]
    obtained = "; ".join(item.obtained for _, item in bought if isinstance(item.obtained, str))
    facts: Facts = {
        "shop": dict(shop),
        "slip": _slip(slip, bought),
        "seller": _seller(slip) | ({"obtained": obtained} if obtained else {}),
        "items": [_item(line, item, (assessments or {}).get(line), (values or {}).get(line)) for line, item in bought],
    }
    co_sellers = []
    for number, party in enumerate(slip.parties[1:], 2):
        if party.role == "co-seller":
            co_sellers.append(_party(party, slip) | {"party": number})
        elif party.role in ("principal", "guardian"):
            facts.setdefault(party.role, _party(party, slip))
    return facts | ({"co_sellers": co_sellers} if co_sellers else {})


def evidence_of(item: Item) -> Facts:
    """What assay weighs of one item, as a document holds it: evidence, marks, weights, colour, kind, stones, making."""
    return {name: writing.plain(value) for name in _WEIGHED if (value := getattr(item, name)) is not None}


_WEIGHED = ("evidence", "marks", "weighings", "metal_colour", "stones", "made", "consent", "kind")


def _said(**members: Any) -> Facts:
    """Members that were said; what is not known keeps its reason."""
    return {
        name: writing.plain(value) if isinstance(value, NotKnown) else value
        for name, value in members.items()
        if value is not None
    }


def _with(make: Callable[[Any], Any], known: Any) -> Any:
    """The fact made of a value; what is not known or was not said passes through."""
    return known if known is None or isinstance(known, NotKnown) else make(known)


def _slip(slip: Slip, bought: list[tuple[int, Item]]) -> Facts:
    payout, declaration = slip.payout, slip.declaration
    return _said(
        channel=slip.channel,
        place=slip.place,
        place_kind=slip.place_kind,
        staff=slip.staff,
        tray=slip.tray.number,
        occurred=slip.occurred_text,
        items=len(bought),
        articles=sum(item.pieces for _, item in bought),
        instrument=payout and payout.instrument,
        payee=payout and payout.payee,
        payee_kind=payout and payout.payee_kind,
        delivery=payout and payout.delivery,
        total=payout and payout.money.record(),
        cash_part=_cash_part(slip),
        paid_by_weight=payout and payout.paid_by_weight,
        traded_for=slip.traded_for and slip.traded_for.money.record(),
        answers=_answers(slip.answers),
        declaration=declaration
        and _said(
            text=declaration.text,
            language=declaration.language,
            signed=declaration.signature and declaration.signature.not_taken is None,
        ),
    )


def _cash_part(slip: Slip) -> Facts | None:
    """How much of the payout is cash: what was said, else all of it or nothing as its instrument tells."""
    if (payout := slip.payout) is None:
        return None
    if payout.cash_part is not None:
        return payout.cash_part.record()
    return payout.money.record() if payout.instrument == "cash" else Money(payout.money.currency, 0).record()


def _answers(answers: tuple[Answer, ...]) -> Facts | None:
    """The answers to the questions of rule files, by id, in the kinds of value that their conditions read."""
    return {each.question: _answer(each) for each in answers} or None


def _answer(answer: Answer) -> Any:
    match answer.answer:
        case Money() as money:
            return money.record()
        case Weight() as weight:
            return int(weight.mg)
        case other:
            return writing.plain(other)


def _seller(slip: Slip) -> Facts:
    """The seller, with what the declaration says of his oath."""
    sworn = slip.declaration and slip.declaration.sworn
    return _party(slip.seller, slip) | _said(sworn=sworn)


def _party(party: Party, slip: Slip) -> Facts:
    observed = party.observed
    principal = any(other.role == "principal" for other in slip.parties)
    return _said(
        kind=party.kind,
        name=_with(lambda name: name.full, party.name),
        birth_date=_with(lambda birth: birth.isoformat(), party.birth_date),
        age=_with(lambda birth: ages.age_on(birth, slip.local_day), party.birth_date),
        address=_with(_address, party.address),
        phone=_with(lambda phones: phones[0].number if phones else None, party.phones),
        email=party.email,
        workplace=party.workplace,
        **{name: _of_looks(party.description, name) for name in _LOOKS},
        vehicle=_with(_vehicle, party.vehicle),
        personally_known=party.personally_known is not None,
        intoxicated=observed and observed.intoxicated,
        known_offender=observed and observed.known_offender,
        declared_dealer=party.dealer is not None and party.dealer.declaration is not None,
        acts_for="principal" if principal and party.role == "seller" else "self",
        estate_papers=False if party.estate is None else _with(lambda _: True, party.estate.authority),
        written_authority=party.authority and party.authority.written,
        documents=[_document(document, slip) for document in party.documents],
        captures=_captures(party.captures) | _signature(party, slip),
        answers=_answers(party.answers),
    )


_LOOKS = ("sex", "race", "height", "weight", "build", "hair", "eyes", "marks")


def _of_looks(looks: Known[Description], name: str) -> Any:
    return getattr(looks, name) if isinstance(looks, Description) else looks


def _address(address: Address) -> Facts:
    return _said(
        text=address.one_line,
        street=", ".join(address.lines),
        city=address.city,
        county=address.county,
        state=address.region,
        postcode=address.postcode,
        country=address.country,
    )


def _vehicle(vehicle: Vehicle) -> str:
    words = (vehicle.year, vehicle.colour, vehicle.make, vehicle.model, vehicle.plate, vehicle.region)
    return " ".join(word for word in words if word)


def _document(document: Document, slip: Slip) -> Facts:
    kind = kinds.KINDS[document.type]
    return _said(
        type=document.type,
        number=document.number,
        issuer=document.issuer,
        issued=_with(lambda day: day.isoformat(), document.issued),
        expires=_with(lambda day: day.isoformat(), document.expires),
        current=_with(lambda day: day >= slip.local_day, document.expires),
        government=kind.government,
        photo=kind.photo if document.picture is None else document.picture,
        descriptive=kind.descriptive,
        how_read="compared" if document.compared else document.how_read,
    )


def _captures(captures: tuple[Capture, ...]) -> Facts:
    """What was captured; one that was taken outweighs others of its kind that were not."""
    found: Facts = {}
    for capture in captures:
        if capture.file is not None:
            found[capture.what] = _taken(capture, captures)
        else:
            found.setdefault(capture.what, {"not_known": capture.not_taken})
    return found


def _signature(party: Party, slip: Slip) -> Facts:
    """The seller's signature under the statement, which is the signature that rules ask for unless one was captured."""
    signature = slip.declaration.signature if slip.declaration is not None else None
    if signature is None or party is not slip.seller or any(one.what == "signature" for one in party.captures):
        return {}
    return {"signature": True if signature.not_taken is None else {"not_known": signature.not_taken}}


def _taken(capture: Capture, captures: tuple[Capture, ...]) -> Any:
    """True, or for a print its finger, as rules name fingers, with the reasons why others were not taken."""
    if capture.finger is None:
        return True
    others = [other for other in captures if other.what == capture.what and other.not_taken is not None]
    reasons = [": ".join(word for word in (other.finger, other.not_taken) if word) for other in others]
    finger = "-".join(capture.finger.casefold().replace("-", " ").split())
    return {"finger": finger} | ({"reason": "; ".join(reasons)} if reasons else {})


def _item(line: int, item: Item, assessment: Assessment | None, value: Valuation | None) -> Facts:
    claims = [claim for text in _texts(item) for claim in assay_marks.read(text) if claim.metal and claim.fineness]
    # A mark of which a letter is open claims some fineness, and none of those that it may be.
    claim = next((claim for claim in claims if not (claim.worn and claim.ambiguous)), None)
    paid = item.paid_on
    return _said(
        line=line,
        kind=item.kind,
        goods=item.goods,
        article=item.article,
        pieces=item.pieces,
        pictures=len(item.pictures),
        metal=(assessment and assessment.metal) or (claim and claim.metal),
        metal_colour=item.metal_colour,
        construction=assessment and assessment.construction,
        fineness_ppm=_fineness(assessment),
        claimed_ppm=claim and claim.fineness and int(claim.fineness),
        marked=_with(lambda _: bool(claims), item.marks),
        marks=_with(lambda _: _texts(item), item.marks),
        serials=_with(lambda found: [s.text for s in found if isinstance(s.text, str)], item.serials),
        serials_works=_with(lambda found: _numbers(found, "works"), item.serials),
        serials_case=_with(lambda found: _numbers(found, "case"), item.serials),
        serial_obliterated=_with(lambda found: any(s.condition in ("altered", "removed") for s in found), item.serials),
        altered=_with(lambda text: not describing.says_none(text), item.alteration),
        melted_on_arrival=item.melted_on_arrival,
        description=describing.in_words(item),
        inscriptions=_with(lambda found: [inscription.text for inscription in found], item.inscriptions),
        stones=_with(writing.plain, item.stones),
        sizes=_with(writing.plain, item.sizes),
        maker=item.maker,
        model=item.model,
        wearer=item.wearer,
        style=item.style,
        damage=item.damage,
        age_years=item.age_years,
        weight=paid and f"{paid.weight.text} {paid.weight.unit}",
        gross_mg=_with(int, item.gross_mg),
        net_mg=_with(int, item.net_mg),
        fine_mg=_with(int, value and value.fine_paid_mg),
        assayed=_assayed(item),
        answers=_answers(item.answers),
        permissions=[],  # an authority permits something about an item only once it is in the book; the acts add that
        evidence=[dict(test) for test in item.evidence] or None,
        assessment=assessment and assessment.headline(),
        price=item.offer and item.offer.money.record(),
        melt_value=_with(lambda money: money.record(), value and value.melt_value),
    )


def _numbers(serials: tuple[Serial, ...], of: str) -> list[str]:
    """The numbers of a watch's works or of its case."""
    return [one.text for one in serials if one.of == of and isinstance(one.text, str)]


def _assayed(item: Item) -> bool | None:
    """Whether the article was assayed, as was said; else only what its own evidence proves. None: nobody said."""
    if item.assayed is not None:
        return item.assayed
    return True if any(test["test"] == "melt" for test in item.evidence) else None


def _texts(item: Item) -> list[str]:
    return [mark.text for mark in item.marks] if isinstance(item.marks, tuple) else []


def _fineness(assessment: Assessment | None) -> int | None:
    """The one figure that an offer uses, else the lower end of what may be paid for."""
    if assessment is None:
        return None
    if assessment.paid_fineness_ppm is not None:
        return int(assessment.paid_fineness_ppm)
    return int(assessment.payable.low_ppm) if assessment.payable else None
