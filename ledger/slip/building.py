"""Builds the values of `document` from a document that the schema has passed.

Decides: how each member becomes a value: text to days, moments, exact weights and money. What still can be wrong here
is a value that only its neighbours show to be wrong (more decimals than the currency has, a weight beyond measure).
Leaves to others: the form of members (`checking`, `schema`); the way back (`writing`).

>>> weighing({"what": "gross", "value": "2.5", "unit": "dwt"}, "w").weight.mg
Milligrams(3888)
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any, TypeVar

from ledger import measures, moments
from ledger.assay import evidence
from ledger.assay.tolerances import Made
from ledger.errors import InputError
from ledger.identity import names
from ledger.measures import Money, Spot, Weight
from ledger.slip import document as d

Members = Mapping[str, Any]
T = TypeVar("T")


def slip(doc: Members) -> d.Slip:
    """The slip of a document that the schema has passed. Raises: InputError at the first wrong value."""
    return d.Slip(
        format=doc["format"],
        occurred_at=moments.parse_local(doc["occurred_at"], "occurred_at"),
        occurred_text=doc["occurred_at"],
        channel=doc["channel"],
        place=doc.get("place"),
        staff=doc["staff"],
        tray=d.Tray(**doc["tray"]),
        parties=_each(party, "parties")(doc["parties"]),
        items=_each(item, "items")(doc["items"]),
        spot=_each(spot, "spot")(doc.get("spot", [])),
        parcel=_given(parcel, doc.get("parcel"), "parcel"),
        declaration=_given(declaration, doc.get("declaration"), "declaration"),
        payout=_given(payout, doc.get("payout"), "payout"),
        notes=doc.get("notes"),
        place_kind=doc.get("place_kind"),
        traded_for=_given(trade, doc.get("traded_for"), "traded_for"),
        answers=answers(doc.get("answers", []), "answers"),
    )


def faults(doc: Members) -> tuple[InputError, ...]:
    """The first wrong value of each party, item, spot price and of the payout."""
    found = []
    for build, members, path in _pieces(doc):
        try:
            build(members, path)
        except InputError as fault:
            found.append(fault)
    return tuple(found)


def _pieces(doc: Members) -> Iterator[tuple[Callable[[Any, str], object], Any, str]]:
    for name, build in (("parties", party), ("items", item), ("spot", spot)):
        for number, members in enumerate(doc.get(name, ()), 1):
            yield build, members, f"{name}[{number}]"
    for name, make in (("payout", payout), ("traded_for", trade), ("answers", answers)):
        if name in doc:
            yield make, doc[name], name


def _given(build: Callable[[Any, str], T], members: Any, path: str) -> T | None:
    return None if members is None else build(members, path)


def _known(build: Callable[[Any], T], given: Any) -> T | d.NotKnown | None:
    """A value that may be not known or not said. `build` never sees the object that says so."""
    return None if given is None else _sure(build, given)


def _sure(build: Callable[[Any], T], given: Any) -> T | d.NotKnown:
    """A value that must be said, if only as not known."""
    if isinstance(given, dict) and "not_known" in given:
        return d.NotKnown(given["not_known"])
    return build(given)


def _as_is(given: Any) -> Any:
    return given


def _all_known(members: Members) -> dict[str, Any]:
    return {name: _known(_as_is, given) for name, given in members.items()}


def _tuple_of(make: Callable[..., T]) -> Callable[[list[Members]], tuple[T, ...]]:
    return lambda members: tuple(make(**one) for one in members)


def party(members: Members, path: str) -> d.Party:
    """One party. Raises: InputError for a document's number in which nothing can be compared."""
    return d.Party(
        role=members["role"],
        kind=members["kind"],
        name=_sure(lambda given: d.Name(**given), members["name"]),
        birth_date=_known(date.fromisoformat, members.get("birth_date")),
        address=_known(_address, members.get("address")),
        phones=_known(_tuple_of(d.Phone), members.get("phones")),
        email=_known(_as_is, members.get("email")),
        workplace=_known(_as_is, members.get("workplace")),
        documents=_each(_document, f"{path}.documents")(members.get("documents", [])),
        personally_known=_given(lambda given, _: d.PersonallyKnown(**given), members.get("personally_known"), path),
        description=_known(lambda given: d.Description(**_all_known(given)), members.get("description")),
        vehicle=_known(lambda given: d.Vehicle(**given), members.get("vehicle")),
        captures=_tuple_of(d.Capture)(members.get("captures", [])),
        dealer=_given(lambda given, _: d.Dealer(**_all_known(given)), members.get("dealer"), path),
        estate=_given(lambda given, _: d.Estate(**_all_known(given)), members.get("estate"), path),
        observed=_given(lambda given, _: d.Observed(**_all_known(given)), members.get("observed"), path),
        authority=_given(lambda given, _: d.Authority(**given), members.get("authority"), path),
        answers=answers(members.get("answers", []), f"{path}.answers"),
    )


def _address(members: Members) -> d.Address:
    return d.Address(**{**members, "lines": tuple(members["lines"])})


def _document(members: Members, path: str) -> d.Document:
    number = _sure(_as_is, members["number"])
    if isinstance(number, str):
        names.number_key(number, f"{path}.number")  # the book's index could not hold it otherwise
    return d.Document(
        type=members["type"],
        issuer=members["issuer"],
        number=number,
        issued=_known(date.fromisoformat, members.get("issued")),
        expires=_known(date.fromisoformat, members.get("expires")),
        picture=members.get("picture"),
        how_read=members.get("how_read"),
        country=members.get("country"),
        compared=members.get("compared"),
    )


def item(members: Members, path: str) -> d.Item:
    """One item. Raises: InputError for a weight, an amount or a test whose figures do not go together."""
    plain: dict[str, Any] = {name: members[name] for name in _ITEM_PLAIN if name in members}
    known: dict[str, Any] = {name: _known(_as_is, members.get(name)) for name in _ITEM_KNOWN}
    tests = members.get("evidence", ())
    evidence.read(list(tests), f"{path}.evidence")
    return d.Item(
        **plain,
        **known,
        sizes=_known(_each(size, f"{path}.sizes"), members.get("sizes")),
        marks=_known(_tuple_of(d.Mark), members.get("marks")),
        inscriptions=_known(_tuple_of(d.Inscription), members.get("inscriptions")),
        serials=_known(lambda given: tuple(d.Serial(**_all_known(one)) for one in given), members.get("serials")),
        stones=_known(_each(_stone, f"{path}.stones"), members.get("stones")),
        pictures=_tuple_of(d.Picture)(members.get("pictures", [])),
        weighings=_each(weighing, f"{path}.weighings")(members.get("weighings", [])),
        evidence=tuple(tests),
        conclusion=_given(lambda given, _: d.Conclusion(**given), members.get("conclusion"), path),
        offer=_given(_offer, members.get("offer"), f"{path}.offer"),
        answers=answers(members.get("answers", []), f"{path}.answers"),
        made=_known(lambda given: _made(given, f"{path}.made"), members.get("made")),
    )


def _made(members: Members, path: str) -> Members:
    Made.read(members, path)
    return members


def answers(members: list[Members], path: str) -> tuple[d.Answer, ...]:
    """Answers to the questions of rule files. Raises: InputError for an amount or weight that cannot be one."""
    return _each(_answer, path)(members)


def _answer(members: Members, path: str) -> d.Answer:
    match members["answer"]:
        case {"amount": _} as money:
            return d.Answer(members["question"], _money(money, f"{path}.answer"))
        case {"value": value, "unit": unit}:
            where = f"{path}.answer"
            return d.Answer(members["question"], _weight(value, unit, where, f"{where}.value"))
        case list() as texts:
            return d.Answer(members["question"], tuple(texts))
        case other:
            return d.Answer(members["question"], _sure(_as_is, other))


def _each(build: Callable[[Members, str], T], path: str) -> Callable[[list[Members]], tuple[T, ...]]:
    return lambda members: tuple(build(one, f"{path}[{n}]") for n, one in enumerate(members, 1))


_ITEM_PLAIN = (
    "kind", "goods", "article", "pieces", "style", "wearer", "seller_says", "model", "age_years", "melted_on_arrival",
    "assayed", "consent",
)  # fmt: skip
_ITEM_KNOWN = ("metal_colour", "obtained", "maker", "damage", "alteration", "contents")


def weighing(members: Members, path: str) -> d.Weighing:
    """One weighing. Raises: InputError for a weight beyond what any scale shows."""
    rest = {name: given for name, given in members.items() if name not in ("value", "unit")}
    return d.Weighing(**rest, weight=_weight(members["value"], members["unit"], path, f"{path}.value"))


def _weight(value: str, unit: str, path: str, value_path: str) -> Weight:
    try:
        return measures.weigh(value, unit, path)
    except InputError:  # figure and unit are good, so it is the product that no scale shows
        wanted = "a weight of at most a thousand tonnes"
        raise InputError(field=value_path, given=value, wanted=wanted) from None


def _stone(members: Members, path: str) -> d.Stone:
    carats = members.get("carats")
    rest = {name: given for name, given in members.items() if name not in ("count", "carats")}
    return d.Stone(
        **rest,
        count=_sure(_as_is, members["count"]),
        carats=None if carats is None else _weight(carats, "ct", path, f"{path}.carats"),
    )


# Micrometres in one unit of length. Source: the international inch is 25.4 mm exactly (NIST Handbook 44, Appendix C).
_LENGTHS = {"mm": 1_000, "cm": 10_000, "in": 25_400}


def size(members: Members, path: str) -> d.Size:
    """One measurement, with micrometres beside it where its unit or system is a formula.

    ISO and European ring sizes are the inner circumference in millimetres (ISO 8653); a United States ring size n is
    36.5 + 2.55 n millimetres around (common practice, from memory). Other systems go by tables and stay as entered.
    """
    value, unit, system = members["value"], members.get("unit"), members.get("system")
    um: int | None = None
    if unit is not None:
        um = measures.nearest(measures.decimal(value, f"{path}.value") * _LENGTHS[unit])
    elif system in ("iso", "eu", "us"):
        figure = measures.decimal(value, f"{path}.value")
        um = measures.nearest(figure * 1_000 if system != "us" else 36_500 + figure * 2_550)
    return d.Size(members["what"], value, unit, system, um)


def _offer(members: Members, path: str) -> d.Offer:
    return d.Offer(_money(members, path), members["answer"])


def _money(members: Members, path: str) -> Money:
    return measures.money(members["currency"], members["amount"], f"{path}.amount")


def spot(members: Members, path: str) -> Spot:
    """One spot price. Raises: InputError for a price of nothing."""
    if measures.decimal(members["price"], f"{path}.price") == 0:
        raise InputError(field=f"{path}.price", given=members["price"], wanted="a price above zero")
    return Spot(**{**members, "unit": measures.unit(members["unit"], f"{path}.unit")})


def parcel(members: Members, path: str) -> d.Parcel:
    """How a parcel came."""
    at = moments.parse_moment(members["received_at"], f"{path}.received_at")
    return d.Parcel(**{**members, "received_at": at})


def declaration(members: Members, path: str) -> d.Declaration:
    """The seller's statement."""
    signature = _given(lambda given, _: d.Signature(**given), members.get("signature"), path)
    return d.Declaration(**{**members, "signature": signature})


def trade(members: Members, path: str) -> d.Trade:
    """What the seller takes in goods. Raises: InputError for more decimals than the currency has."""
    return d.Trade(_money(members, path), members.get("goods"))


def payout(members: Members, path: str) -> d.Payout:
    """The payout agreed. Raises: InputError for more decimals than the currency has."""
    due, cash = members.get("due"), members.get("cash_part")
    return d.Payout(
        instrument=members["instrument"],
        payee=members["payee"],
        money=_money(members, path),
        due=None if due is None else date.fromisoformat(due),
        reference=members.get("reference"),
        payee_kind=members.get("payee_kind"),
        delivery=members.get("delivery"),
        cash_part=None if cash is None else measures.money(members["currency"], cash, f"{path}.cash_part"),
        paid_by_weight=members.get("paid_by_weight"),
    )
