"""The named parts that a slip becomes in the book: one for each thing that somebody may see without the rest.

Decides: which values lie in which part, and which part each picture is. Names and classes are the book's
(`ledger/chain/FORMAT.md`). What a seller signs is in the presented entry; what came after - the clerk's conclusions,
the signature, the duties - in the purchase entry. So that a hundred items fit into one entry, an item is five parts
and its pictures: marks, stones, sizes, numbers and weighings are in its description.
Leaves to others: salts and digests (`ledger.chain.parts`), keys (vault), which parts a recipient may see (acts).

    pictures(slip)                    what the face must read, part by part
    presented_parts(slip, ...)        [("visit", {...}), ("seller/name", {...}), ... ("item/1/description", {...}) ...]
    recorded_parts(slip, ...)         [("item/1/conclusion", {...}), ("declaration/signature", {...}), ("duties", ...)]
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from ledger.chain.parts import class_of
from ledger.errors import InputError
from ledger.measures import Money, Weight
from ledger.slip import writing
from ledger.slip.document import Answer, Capture, Item, Party, Size, Slip, Stone, Weighing

Named = tuple[str, Any]
"""A part's name and its value, of kinds that the book's canonical JSON has"""

SIGNATURE = "declaration/signature"


@dataclass(frozen=True)
class PictureAsked:
    """A picture that a slip names: the part it becomes, its file, the vault class of its key, what it shows."""

    part: str
    file: str
    cls: str
    shows: str


@dataclass(frozen=True)
class PictureRecord:
    """What the book keeps of one picture. Digests are lower hex SHA-256."""

    media_type: str
    bytes: int
    """how many, as received"""
    received: str
    """of the bytes as received"""
    shown: str
    """of the copy made for showing"""
    file_received: str
    """of the encrypted file, which is its name"""
    file_shown: str
    id: str
    """random; the encryption is bound to it"""
    cls: str
    """vault class of its key"""


Pictures = Mapping[str, PictureRecord]
"""part name -> record"""

UNREAD = PictureRecord("", 0, "", "", "", "", "", "")
"""stands for a picture that was locked away before and is not read again"""


def pictures(slip: Slip) -> tuple[PictureAsked, ...]:
    """Every picture that a slip names, in the order of its parts. The declaration's signature comes last."""
    asked = [
        PictureAsked(name, capture.file, class_of(name), capture.what)
        for prefix, party in _parties(slip)
        for name, capture in _captures(prefix, party)
        if capture.file is not None
    ]
    for line, item in enumerate(slip.items, 1):
        for number, picture in enumerate(item.pictures, 1):
            name = f"item/{line}/picture/{number}"
            asked.append(PictureAsked(name, picture.file, class_of(name), picture.shows))
    signature = slip.declaration and slip.declaration.signature
    if signature and signature.file is not None:
        asked.append(PictureAsked(SIGNATURE, signature.file, class_of(SIGNATURE), "signature"))
    return tuple(asked)


def presented_parts(
    slip: Slip,
    *,
    assessments: Mapping[int, Any],
    values: Mapping[int, Any],
    pictures: Pictures,
) -> list[Named]:
    """The parts of the presented entry: the whole frozen slip.

    assessments, values: by line from one, what assay says of each item, as JSON values; a line may be missing.
    pictures: by part name, for every file that `pictures(slip)` names, but the declaration's signature.
    Raises: InputError for a picture that was named and not handed in.
    """
    return [
        *_of_the_visit(slip),
        *(part for prefix, party in _parties(slip) for part in _of_a_party(prefix, party, pictures)),
        *_obtained(slip),
        *(
            part
            for line, item in enumerate(slip.items, 1)
            for part in _of_an_item(line, item, assessments.get(line), values.get(line), pictures)
        ),
        *_of_the_payment(slip),
    ]


def recorded_parts(slip: Slip, *, duties: Any, pictures: Pictures) -> list[Named]:
    """The parts of the purchase entry: only what came after presenting.

    duties: as `ledger.law` records them.
    Raises: InputError for a signature's file that was not handed in.
    """
    parts: list[Named] = [
        (f"item/{line}/conclusion", _members(item.conclusion))
        for line, item in enumerate(slip.items, 1)
        if item.conclusion is not None
    ]
    signature = slip.declaration and slip.declaration.signature
    if signature and signature.file is not None:
        parts.append((SIGNATURE, _picture(SIGNATURE, signature.file, "signature", pictures)))
    elif signature:
        parts.append((SIGNATURE, {"shows": "signature", **_members(signature)}))
    return [*parts, ("duties", duties)]


def _parties(slip: Slip) -> Iterator[tuple[str, Party]]:
    for number, party in enumerate(slip.parties, 1):
        yield "seller" if number == 1 else f"party/{number}", party


def _of_the_visit(slip: Slip) -> Iterator[Named]:
    tray = {"number": slip.tray.number, "articles": slip.tray.articles}
    visit = {
        "occurred_at": slip.occurred_text,
        "channel": slip.channel,
        "place": slip.place,
        "place_kind": slip.place_kind,
        "staff": slip.staff,
        "tray": tray,
        "answers": _plain(slip.answers) or None,
    }
    yield "visit", {name: value for name, value in visit.items() if value is not None}
    if slip.notes is not None:
        yield "notes", slip.notes
    if slip.parcel is not None:
        yield "parcel", _plain(slip.parcel)
    if slip.spot:
        yield "spot", [_plain(spot) for spot in slip.spot]


def _of_a_party(prefix: str, party: Party, pictures: Pictures) -> Iterator[Named]:
    yield f"{prefix}/role", {"role": party.role, "kind": party.kind}
    for name in _PARTY_FIELDS:
        if (value := getattr(party, name)) is not None:
            yield f"{prefix}/{name}", _plain(value)
    if party.answers:
        yield f"{prefix}/answers", _plain(party.answers)
    for number, document in enumerate(party.documents, 1):
        yield f"{prefix}/document/{number}", _plain(document)
    for name, capture in _captures(prefix, party):
        about = {"finger": capture.finger, "document": capture.document}
        said = {key: value for key, value in about.items() if value is not None}
        if capture.file is not None:
            yield name, {**said, **_picture(name, capture.file, capture.what, pictures)}
        else:
            yield name, {**said, "shows": capture.what, "not_taken": capture.not_taken}


_PARTY_FIELDS = (
    "name", "birth_date", "address", "phones", "email", "workplace", "personally_known", "description", "vehicle",
    "dealer", "estate", "observed", "authority",
)  # fmt: skip
_CAPTURED_AS = {"print": "print", "signature": "signature", "document-front": "scan", "document-back": "scan"}


def _captures(prefix: str, party: Party) -> Iterator[tuple[str, Capture]]:
    """Each capture of a party with its part name: prints and scans are forgotten apart from other pictures."""
    counted: dict[str, int] = {}
    for capture in party.captures:
        word = _CAPTURED_AS.get(capture.what, "photo")
        counted[word] = counted.get(word, 0) + 1
        yield f"{prefix}/{word}/{counted[word]}", capture


def _obtained(slip: Slip) -> Iterator[Named]:
    """How the seller says that he came by each item: one part, since it tells about him and not about the goods."""
    told = [
        {"line": line, "said": _plain(item.obtained)}
        for line, item in enumerate(slip.items, 1)
        if item.obtained is not None
    ]
    if told:
        yield "seller/obtained", told


def _of_an_item(line: int, item: Item, assessment: Any, value: Any, pictures: Pictures) -> Iterator[Named]:
    yield f"item/{line}/description", description(item)
    if item.inscriptions is not None:
        yield f"item/{line}/inscriptions", _plain(item.inscriptions)
    if item.evidence:
        yield f"item/{line}/evidence", [dict(test) for test in item.evidence]
    if assessment is not None:
        yield f"item/{line}/assessment", assessment
    price = {
        "offer": item.offer and item.offer.money.record(),
        "answer": item.offer and item.offer.answer,
        "value": value,
        "gross_mg": item.gross_mg and int(item.gross_mg),
        "net_mg": item.net_mg and int(item.net_mg),
    }
    if said := {name: inner for name, inner in price.items() if inner is not None}:
        yield f"item/{line}/price", said
    for number, picture in enumerate(item.pictures, 1):
        name = f"item/{line}/picture/{number}"
        yield name, _picture(name, picture.file, picture.shows, pictures)


_ELSEWHERE = ("obtained", "inscriptions", "pictures", "evidence", "conclusion", "offer", "answers")


def description(item: Item) -> dict[str, Any]:
    """What the description part of an item holds: everything seen, read, measured, weighed and answered, no price."""
    seen = {
        field.name: _plain(value)
        for field in fields(item)
        if field.name not in _ELSEWHERE and (value := getattr(item, field.name)) is not None
    }
    return {**seen, "answers": _plain(item.answers)} if item.answers else seen


def _of_the_payment(slip: Slip) -> Iterator[Named]:
    if (declaration := slip.declaration) is not None:
        words = {name: getattr(declaration, name) for name in ("text", "language", "read_by", "sworn")}
        yield "declaration/text", {name: value for name, value in words.items() if value is not None}
    if (payout := slip.payout) is not None:
        due = None if payout.due is None else payout.due.isoformat()
        how = {
            "instrument": payout.instrument,
            "due": due,
            "payee_kind": payout.payee_kind,
            "delivery": payout.delivery,
            "cash_part": payout.cash_part and payout.cash_part.record(),
            "paid_by_weight": payout.paid_by_weight,
        }
        yield "payout/method", {name: value for name, value in how.items() if value is not None}
        yield "payout/payee", payout.payee
        yield "payout/amount", payout.money.record()
        if payout.reference is not None:
            yield "payout/reference", payout.reference
    if (trade := slip.traded_for) is not None:
        goods = {} if trade.goods is None else {"goods": trade.goods}
        yield "payout/trade", {**trade.money.record(), **goods}


def _picture(part: str, file: str, shows: str, pictures: Pictures) -> dict[str, Any]:
    record = pictures.get(part)
    if record is None:
        raise InputError(field=part, given=file, wanted="a picture that lies beside the slip document")
    return {
        "shows": shows,
        "media_type": record.media_type,
        "bytes": record.bytes,
        "received": record.received,
        "shown": record.shown,
        "file_received": record.file_received,
        "file_shown": record.file_shown,
        "id": record.id,
        "class": record.cls,
    }


def _plain(value: Any) -> Any:
    """As the document writes it, but weights with our milligrams beside and sizes with our micrometres."""
    match value:
        case Weighing():
            return {**_weight(value.weight), **_members(value, but="weight")}
        case Stone(carats=Weight() as carats):
            return {**_members(value, but="carats"), "carats": _weight(carats)}
        case Size():
            return _members(value)
        case Answer(question=question, answer=answer):
            return {"question": question, "answer": _plain(answer)}
        case Money():
            return value.record()
        case Weight():
            return _weight(value)
        case tuple():
            return [_plain(inner) for inner in value]
        case _:
            return writing.plain(value)


def _weight(weight: Weight) -> dict[str, Any]:
    return {"value": weight.text, "unit": weight.unit, "weight_mg": int(weight.mg)}


def _members(value: Any, but: str = "") -> dict[str, Any]:
    return {
        field.name: writing.plain(inner)
        for field in fields(value)
        if field.name != but and (inner := getattr(value, field.name)) is not None
    }
