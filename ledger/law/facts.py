"""The facts that a rule file may ask about: their names, their types, and how to read one.

Decides: the vocabulary, and when something is not known. Leaves to the slip, the assay and the shop to say
what the facts are; to `ledger.law.conditions` what follows from them. A fact that nobody stated, or that was
stated as not known with a reason, is an `Unknown`, never a default.

>>> FACTS["seller.age"].read({"seller": {"age": 41}})
41
>>> FACTS["seller.age"].read({"seller": {"age": {"not_known": "no birth date on the document"}}})
Unknown(reason='seller.age is not known: no birth date on the document', said=True)
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from ledger.errors import InputError
from ledger.law.calendars import WEEKDAYS
from ledger.measures import Money


class Unknown(NamedTuple):
    """A fact that is not known, and why."""

    reason: str
    said: bool
    """True if somebody said that it is not known; False if nothing was said"""


@dataclass(frozen=True)
class Fact:
    """One name of the vocabulary."""

    name: str
    type: str
    """text, word, flag, whole, count, money, fineness, weight, day, clock, list or any"""
    says: str
    words: tuple[str, ...] = ()
    path: tuple[str, ...] = ()
    unsaid: Unknown = field(init=False, repr=False, compare=False)
    """what is read where nobody said anything"""
    of_one: "Fact | None" = field(init=False, repr=False, compare=False)
    """of a fact of every document: the fact as one document has it"""
    check: Callable[[Any], Any] = field(init=False, repr=False, compare=False)
    """reads a value of the fact's type; None where it is of another"""

    def __post_init__(self) -> None:
        object.__setattr__(self, "unsaid", Unknown(f"{self.name} was not stated", False))
        rest = self.path[2:] if "document" in self.path[:2] else ()
        of_one = Fact(self.name, self.type, self.says, self.words, rest) if rest else None
        object.__setattr__(self, "of_one", of_one)
        object.__setattr__(self, "check", _CHECKS[self.type])

    @property
    def subject(self) -> str:
        """shop, slip, seller, principal, guardian, item, act, tally or past."""
        return self.path[0]

    def read(self, frame: Mapping[str, Any]) -> Any:
        """The fact in a frame of facts, or `Unknown`.

        frame: one mapping per subject ("shop", "slip", "seller", "item" ...).
        A fact of every document ("seller.document.number") is read as the list of them, unknown if one is.
        Raises: InputError where a value has another type than the vocabulary says.
        """
        if self.of_one is not None:
            return self._of_every(frame.get(self.path[0]), self.of_one)
        value: Any = frame
        for name in self.path:
            value = value.get(name) if isinstance(value, dict) else None
            if value is None:
                return self.unsaid
            if isinstance(value, dict) and "not_known" in value:
                return Unknown(f"{self.name} is not known: {value['not_known']}", True)
        found = self.check(value)
        if found is None or (self.words and value not in self.words):
            raise InputError(field=f"facts.{self.name}", given=value, wanted=self.wanted())
        return self.unsaid if found == "" else found

    def _of_every(self, seller: Any, of_one: "Fact") -> Any:
        documents = seller.get("documents") if isinstance(seller, dict) else None
        if not documents:
            return self.unsaid
        if isinstance(documents, dict):
            return Unknown(f"{self.name} is not known: {documents.get('not_known')}", True)
        values = [of_one.read(document) for document in documents]
        for value in values:
            if isinstance(value, Unknown):
                return value
        return values

    def wanted(self) -> str:
        """What a value of this fact must look like, for messages."""
        if self.type == "word" and self.words:
            return "one of " + ", ".join(self.words)
        return _WANTED[self.type]


# How a value of each type is read; None where it is of another type.


def _text(value: Any) -> str | None:
    if not isinstance(value, str):
        return None
    return value if value.strip() else ""


def _word(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def _flag(value: Any) -> bool | None:
    return value if isinstance(value, bool) else None


def _whole(value: Any) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _money(value: Any) -> Money | None:
    if isinstance(value, Money):
        return value
    if isinstance(value, dict) and set(value) == {"currency", "minor"} and isinstance(value["currency"], str):
        return Money(value["currency"], value["minor"])
    return None


def _day(value: Any) -> date | None:
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        return None


def _clock(value: Any) -> str | None:
    return value if isinstance(value, str) and re.fullmatch(CLOCK, value) else None


def _list(value: Any) -> Any:
    return value if isinstance(value, list | tuple) else None


def _any(value: Any) -> Any:
    return value


CLOCK = "([01][0-9]|2[0-3]):[0-5][0-9]|24:00"
"""the form of a clock time"""
_CHECKS: dict[str, Callable[[Any], Any]] = {
    "text": _text,
    "word": _word,
    "flag": _flag,
    "whole": _whole,
    "count": _whole,
    "money": _money,
    "fineness": _whole,
    "weight": _whole,
    "day": _day,
    "clock": _clock,
    "list": _list,
    "any": _any,
}
_WANTED = {
    "text": "text",
    "word": "a word",
    "flag": "true or false",
    "whole": "a whole number",
    "count": "a whole number",
    "money": "an amount with 'currency' and 'minor'",
    "fineness": "whole parts per million",
    "weight": "whole milligrams",
    "day": "a day such as 2026-11-24",
    "clock": "a clock time such as 09:30",
    "list": "a list",
    "any": "anything",
}

CHANNELS = ("counter", "parcel", "event", "home", "kiosk")
INSTRUMENTS = ("cash", "cheque", "transfer", "card", "store-credit", "money-order", "other")
SELLER_KINDS = ("person", "dealer", "estate")
ITEM_KINDS = ("single", "set", "lot")
PLACE_KINDS = ("licensed-premises", "dwelling", "hotel-room", "vehicle", "event-place", "by-carrier", "other")
PAYEE_KINDS = ("seller", "principal", "other")
DELIVERIES = ("in-person", "posted-to-residence", "posted-elsewhere", "electronic")
FINGERS = (
    *(f"{side}-{name}" for name in ("thumb", "index", "middle", "ring", "little") for side in ("right", "left")),
    "other-finger",
)
TAKERS = ("buyer", "carrier", "refiner", "original-seller", "owner-shop", "authority", "true-owner", "other")
ACTS = (
    "offer",
    "sell",
    "hand-over",
    "return",
    "use",
    "alter",
    "melt",
    "mix",
    "move",
    "send-out",
    "surrender",
)
GOODS = (
    "jewelry",
    "watch",
    "tableware",
    "coin",
    "bullion",
    "medal",
    "dental",
    "industrial",
    "gem",
    "other",
)

_PERSON = (
    ("name", "text", "full name"),
    ("birth_date", "day", "date of birth"),
    ("age", "whole", "whole years on the day of the slip"),
    ("address", "any", "where the person lives"),
    ("address.street", "text", "street and number"),
    ("address.city", "text", "city or town of residence"),
    ("address.county", "text", "county of residence"),
    ("address.state", "text", "state or region of residence"),
    ("address.postcode", "text", "postal code"),
    ("address.country", "text", "country of residence"),
    ("phone", "text", "telephone number"),
    ("email", "text", "e-mail address"),
    ("workplace", "text", "where the person works"),
    ("sex", "text", "sex"),
    ("race", "text", "race, as the law's form asks it"),
    ("height", "text", "height"),
    ("weight", "text", "weight of the person"),
    ("build", "text", "build"),
    ("hair", "text", "hair"),
    ("eyes", "text", "eyes"),
    ("marks", "text", "scars, marks and the like"),
    ("vehicle", "text", "vehicle and its plate"),
    ("obtained", "text", "how the seller came by the goods"),
    ("personally_known", "flag", "whether the shop knows the person"),
    ("intoxicated", "flag", "whether the person appears drunk or drugged"),
    ("known_offender", "flag", "whether the person is on the list that the law names"),
    ("declared_dealer", "flag", "whether a dealer's signed declaration was given"),
    ("sworn", "flag", "whether the statement was sworn"),
    ("estate_papers", "flag", "whether papers that appoint an estate's fiduciary were shown"),
    ("documents", "count-list", "the documents shown"),
    ("document.type", "text", "kind of each document"),
    ("document.number", "text", "number of each document"),
    ("document.issuer", "text", "who issued each document"),
    ("document.issued", "day", "when each document was issued"),
    ("document.expires", "day", "when each document expires"),
    ("captures.photo", "any", "picture of the person"),
    ("captures.print", "any", "finger print"),
    ("captures.signature", "any", "signature"),
    ("captures.document-front", "any", "picture of the document's front"),
    ("captures.document-back", "any", "picture of the document's back"),
)

_ITEM = (
    ("article", "text", "what it is: ring, chain, spoon"),
    ("pieces", "count", "how many pieces"),
    ("pictures", "count", "how many pictures were taken"),
    ("metal_colour", "text", "colour of the metal as it looks"),
    ("construction", "text", "solid, layered, plated, weighted and so on, as assessed"),
    ("fineness", "fineness", "fineness as concluded or assessed"),
    ("claimed_fineness", "fineness", "fineness that the mark claims"),
    ("marked", "flag", "whether it bears a mark of fineness"),
    ("marks", "list", "marks as read"),
    ("serials", "list", "serial numbers as read"),
    ("serials_works", "list", "numbers of a watch's works"),
    ("serials_case", "list", "numbers of a watch's case"),
    ("serial_obliterated", "flag", "whether a serial number was removed or made unreadable"),
    ("altered", "flag", "whether it appears altered"),
    ("melted_on_arrival", "flag", "whether it came already melted"),
    ("assayed", "flag", "whether it was assayed before it came"),
    ("permissions", "list", "permissions of an authority in force for it, by id"),
    ("description", "text", "description in words"),
    ("inscriptions", "list", "inscriptions, word for word"),
    ("stones", "list", "stones in groups"),
    ("sizes", "list", "sizes"),
    ("maker", "text", "maker"),
    ("model", "text", "model"),
    ("wearer", "text", "for whom it was made"),
    ("style", "text", "style or pattern"),
    ("damage", "text", "damage"),
    ("age_years", "whole", "age of the article in years"),
    ("weight", "text", "weight as the scale showed it"),
    ("gross_weight", "weight", "gross weight"),
    ("net_weight", "weight", "net weight"),
    ("fine_weight", "weight", "weight of pure metal"),
    ("evidence", "any", "tests and what they showed"),
    ("assessment", "any", "what the tests together support"),
    ("price", "money", "what the shop pays for it"),
    ("melt_value", "money", "value of the pure metal at the day's spot price"),
)

_SLIP = (
    ("place", "text", "where the purchase happens"),
    ("staff", "text", "who serves"),
    ("payee", "text", "who is paid"),
    ("total", "money", "what is paid in all"),
    ("items", "count", "number of items taken"),
    ("articles", "count", "number of pieces taken"),
    ("occurred", "text", "local date and time"),
    ("tray", "text", "number of the tray"),
    ("number", "whole", "number of the slip"),
    ("declaration", "any", "the seller's statement"),
    ("traded_for", "money", "price of what the seller takes in exchange"),
    ("cash_part", "money", "what is paid in cash, where it is not all"),
    ("paid_by_weight", "flag", "whether the price is reckoned by weight"),
    ("clock", "clock", "local clock time of the purchase (worked out)"),
    ("day", "day", "local day of the purchase (worked out)"),
)

_SHOP = (
    ("state", "text", "state or region of the shop"),
    ("county", "text", "county of the shop"),
    ("municipality", "text", "city or town of the shop"),
    ("record_medium", "text", "bound book, cards or electronic"),
    ("reporting_mode", "text", "how the shop reports"),
    ("county_population", "whole", "inhabitants of the shop's county"),
    ("licences", "list", "licences that the shop holds"),
    ("permissions", "list", "permissions of an authority in force for the shop, by id"),
)

_ACT = (
    ("to", "text", "to whom or where"),
    ("identity_checked", "flag", "whether the identity of whoever takes it was checked"),
    ("buyer_recorded", "flag", "whether the buyer's data are recorded"),
    ("permit", "text", "permit under which it is done"),
    ("state", "text", "state or region where it goes"),
    ("permissions", "list", "permissions in force for the act, by id"),
)

# Where the name that an owner reads differs from the key that holds it.
_KEYS = {
    "fineness": "fineness_ppm",
    "claimed_fineness": "claimed_ppm",
    "gross_weight": "gross_mg",
    "net_weight": "net_mg",
    "fine_weight": "fine_mg",
}


def _vocabulary() -> dict[str, Fact]:
    found: list[Fact] = []

    def add(subject: str, name: str, kind: str, says: str, words: tuple[str, ...] = ()) -> None:
        path = (subject, *_KEYS.get(name, name).split("."))
        found.append(Fact(f"{subject}.{name}", kind, says, words, path))

    for subject, rows in (
        ("shop", _SHOP),
        ("slip", _SLIP),
        ("seller", _PERSON),
        ("principal", _PERSON[:6]),
        ("guardian", _PERSON[:6]),
        ("item", _ITEM),
        ("act", _ACT),
    ):
        for name, kind, says in rows:
            add(subject, name, "list" if kind == "count-list" else kind, says)
    add("slip", "channel", "word", "how the goods came", CHANNELS)
    add("slip", "instrument", "word", "how the seller is paid", INSTRUMENTS)
    add("seller", "kind", "word", "who sells: person, dealer or estate", SELLER_KINDS)
    add("seller", "acts_for", "word", "for whom the seller acts", ("self", "principal"))
    add("item", "kind", "word", "one article, a matched set or a scrap lot", ITEM_KINDS)
    add("item", "goods", "word", "what class of goods", GOODS)
    add("item", "metal", "word", "main precious metal")
    add("slip", "weekday", "word", "local day of the week of the purchase (worked out)", WEEKDAYS)
    add("slip", "place_kind", "word", "what kind of place the purchase happens in", PLACE_KINDS)
    add("slip", "payee_kind", "word", "who is paid", PAYEE_KINDS)
    add("slip", "delivery", "word", "how the payment reaches the payee", DELIVERIES)
    add("guardian", "written_authority", "flag", "whether a parent or guardian agreed in writing")
    add("act", "kind", "word", "what is about to be done", ACTS)
    add("act", "taker", "word", "who takes it", TAKERS)
    return {fact.name: fact for fact in sorted(found, key=lambda fact: fact.name)}


FACTS: Mapping[str, Fact] = _vocabulary()

DERIVED = frozenset({"slip.clock", "slip.weekday", "slip.day"})
"""Facts that are worked out from the moment of the purchase and never handed in."""

AT_SIGNING = frozenset({"seller.captures.signature"})
"""Facts that come when the seller signs the frozen slip."""

EMPTY_IS_NOTHING = frozenset({"seller.documents", "item.pieces", "item.pictures", "slip.items", "slip.articles"})
"""Facts of which none is as good as nothing said, where a rule asks for them."""


def shown(value: Any) -> Any:
    """A fact as a trace holds it: JSON values only."""
    if isinstance(value, str | int):
        return value
    if isinstance(value, Unknown):
        return {"not_known": value.reason}
    if isinstance(value, Money):
        return value.record()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {str(key): shown(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [shown(inner) for inner in value]
    return value


def doubts_in(asked: Mapping[str, Any]) -> str:
    """The reasons why facts that were used are not known, as one fragment. asked: facts as a trace holds them."""
    reasons = [value["not_known"] for value in asked.values() if isinstance(value, dict) and "not_known" in value]
    return "; ".join(reasons) or "amounts of different currencies cannot be compared"
