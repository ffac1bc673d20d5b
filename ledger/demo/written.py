"""The slip document that a clerk of the story would write for a visit, and the pictures that lie beside it.

Decides: what stands where in a document, and the day's price sheet. Leaves the worth of the goods to the program:
a document is first written without offers, checked, and then given the offers that came out.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from ledger.demo import pictures
from ledger.demo.bench import Members
from ledger.demo.setting import local
from ledger.demo.visits import Offered, Visit
from ledger.measures import Money, money
from ledger.moments import local_text
from ledger.slip.writing import decimal_text

SIGNATURE = "signature.png"
_CURRENCY = "USD"


def document(visit: Visit) -> Members:
    """The visit as a slip document without offers, declaration and payout."""
    at = local(visit.at)
    return {
        "format": "slip/0",
        "occurred_at": local_text(at),
        "channel": visit.channel,
        **({"place": visit.place} if visit.place else {}),
        "staff": visit.staff,
        "tray": {"number": str(at.day % 9 + 1), "articles": sum(_articles(one.item) for one in visit.tray)},
        "parties": [visit.seller, *visit.others],
        "items": [_item(line, one, visit) for line, one in enumerate(visit.tray, 1)],
        "spot": _price_sheet(at),
        **({"parcel": visit.parcel} if visit.parcel else {}),
    }


def _articles(item: Members) -> int:
    return 1 if item["kind"] == "lot" else int(item["pieces"])


def _item(line: int, offered: Offered, visit: Visit) -> Members:
    item = offered.item
    at = (local(visit.at) - timedelta(minutes=6)).isoformat()
    shown = [{"file": f"item-{line}.jpg", "shows": "count" if item["kind"] == "lot" else "overall"}]
    if item.get("marks"):
        shown.append({"file": f"item-{line}-mark.jpg", "shows": "mark"})
    return {
        **item,
        "pictures": [] if visit.ending == "refused" else shown,
        "weighings": [{**weighing, "at": at, "by": visit.staff} for weighing in item["weighings"]],
        "evidence": [{**test, "at": at, "by": visit.staff} for test in item["evidence"]],
    }


def _price_sheet(at: datetime) -> list[Members]:
    """The owner's prices of the day: invented, and moving a little from day to day."""
    drift = at.toordinal() * 37 % 41 - 20
    prices = {"gold": 2_650_00 + drift * 115, "silver": 31_20 + drift, "platinum": 985_00 + drift * 40}
    return [
        {
            "metal": metal,
            "price": decimal_text(Money(_CURRENCY, minor)),
            "currency": _CURRENCY,
            "unit": "ozt",
            "source": "the owner's price sheet of the day (invented)",
            "moment": at.replace(hour=9, minute=0).isoformat(),
        }
        for metal, minor in prices.items()
    ]


def with_offers(visit: Visit, plain: Members, worth: Mapping[int, Money | None], words: str) -> Members:
    """The document with what was offered and answered, the clerk's conclusions, the declaration and the payout.

    worth: by line, what the program works out. words: of the declaration that the law asks for.
    """
    items = [
        {**item, **_answered(one, worth.get(line))}
        for line, (one, item) in enumerate(zip(visit.tray, plain["items"], strict=True), 1)
    ]
    total = sum((_minor(item["offer"]) for item in items if _is_taken(item)), 0)
    signature = {"on_paper": "the form that came with the goods"} if visit.ending == "signed elsewhere" else None
    declaration = {"text": words, "language": "en"} | ({"signature": signature} if signature else {})
    payout = {
        "instrument": visit.instrument,
        "payee": _payee(visit.seller),
        "amount": decimal_text(Money(_CURRENCY, total)),
        "currency": _CURRENCY,
    }
    reference = {"reference": visit.reference} if visit.reference else {}
    return {**plain, "items": items, "declaration": declaration, "payout": {**payout, **reference}}


def _answered(offered: Offered, worth: Money | None) -> Members:
    concluded = {"agrees": False, "because": offered.differs} if offered.differs else {"agrees": True}
    if not offered.answer:
        return {"conclusion": concluded}
    amount = money(_CURRENCY, offered.price, "price") if offered.price else _whole_dollars(offered, worth)
    offer = {"amount": decimal_text(amount), "currency": _CURRENCY, "answer": offered.answer}
    return {"conclusion": concluded, "offer": offer}


def _whole_dollars(offered: Offered, worth: Money | None) -> Money:
    assert worth is not None, f"nothing was shown that may be paid for: {offered.item['article']}"
    return Money(worth.currency, worth.minor // 100 * 100)


def _is_taken(item: Members) -> bool:
    return bool(item.get("offer", {}).get("answer") == "taken")


def _minor(offer: Members) -> int:
    return int(money(offer["currency"], offer["amount"], "offer").minor)


def _payee(seller: Members) -> str:
    name = seller["name"]
    return str(name.get("as_written") or f"{name['given']} {name['family']}")


def signed(priced: Members) -> Members:
    """The document after the seller signed it."""
    return {**priced, "declaration": {**priced["declaration"], "signature": {"file": SIGNATURE}}}


def pictures_of(visit: Visit) -> dict[str, bytes]:
    """Every picture that the visit's document names, by its file."""
    if visit.ending == "refused":
        return {}
    made: dict[str, bytes] = {}
    for line, one in enumerate(visit.tray, 1):
        colour = str(one.item["metal_colour"])
        made[f"item-{line}.jpg"] = pictures.drawing(one.drawn_as or one.item["article"], colour)
        for mark in one.item.get("marks", ())[:1]:
            made[f"item-{line}-mark.jpg"] = pictures.mark_drawing(mark["text"], colour)
    for party in (visit.seller, *visit.others):
        for capture in party["captures"]:
            if "file" in capture:
                made[capture["file"]] = _capture(capture["what"], party)
    if visit.ending == "signed":
        made[SIGNATURE] = pictures.signature(_payee(visit.seller))
    return made


def _capture(what: str, party: Members) -> bytes:
    name = _payee(party)
    if what == "photo":
        return pictures.face(name)
    if what == "print":
        return pictures.thumb(name)
    shown: dict[str, Any] = party["documents"][0]
    return pictures.card(shown["type"].replace("-", " "), shown["issuer"], shown["number"])
