"""The slip as values: parties, items, offers, declaration and payout of one visit or one parcel.

Decides: the shape. Every value here is frozen, and whatever a field could not tell is said as `NotKnown` with its
reason; `None` means that nothing was said. Weights, money and dates are already exact values.
Leaves to others: reading (`reading`), contradictions (`completeness`), what the law asks (`ledger.law`).

>>> NotKnown("has none").reason
'has none'
>>> Name(family="Averill", given="Jonah").full
'Jonah Averill'
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeAlias, TypeVar

from ledger.measures import Milligrams, Money, Spot, Weight


@dataclass(frozen=True)
class NotKnown:
    """A value nobody could learn, and why."""

    reason: str


_T = TypeVar("_T")
Known: TypeAlias = _T | NotKnown | None
"""A value, the reason why there is none, or None where nothing was said."""


def value_of(known: Known[_T]) -> _T | None:
    """The value, or None where it is not known or was not said."""
    return None if isinstance(known, NotKnown) else known


def listed(known: Known[tuple[_T, ...]]) -> tuple[_T, ...]:
    """The members of a list, none where it is not known or was not said."""
    return known if isinstance(known, tuple) else ()


@dataclass(frozen=True)
class Tray:
    """The numbered tray of one slip and how many articles were counted on it."""

    number: str
    articles: int
    """every piece of a set counts, a scrap lot counts as one"""


@dataclass(frozen=True)
class Name:
    """A natural person's name. `family` holds the whole name of who has only one."""

    family: str
    given: str | None = None
    middle: str | None = None
    suffix: str | None = None
    as_written: str | None = None
    """as its bearer writes it, where order or script differ"""

    @property
    def full(self) -> str:
        """As papers print it."""
        in_order = (self.given, self.middle, self.family, self.suffix)
        return self.as_written or " ".join(word for word in in_order if word)


@dataclass(frozen=True)
class Address:
    """Where a party lives or has its place of business."""

    lines: tuple[str, ...]
    city: str
    region: str | None = None
    postcode: str | None = None
    country: str | None = None
    """two capital letters (ISO 3166-1)"""
    county: str | None = None

    @property
    def one_line(self) -> str:
        """As papers print it."""
        place = " ".join(word for word in (self.city, self.region, self.postcode) if word)
        return ", ".join(word for word in (*self.lines, place, self.country) if word)


@dataclass(frozen=True)
class Phone:
    """A telephone number and whether it is the home, work or mobile one."""

    number: str
    of: str | None = None


@dataclass(frozen=True)
class PersonallyKnown:
    """The clerk who knows the party personally, and how."""

    by: str
    how: str


@dataclass(frozen=True)
class Description:
    """What a person looks like, as seen or as stated."""

    sex: Known[str] = None
    race: Known[str] = None
    height: Known[str] = None
    weight: Known[str] = None
    build: Known[str] = None
    hair: Known[str] = None
    eyes: Known[str] = None
    complexion: Known[str] = None
    marks: Known[str] = None


@dataclass(frozen=True)
class Vehicle:
    """The vehicle a party came in."""

    plate: str | None = None
    region: str | None = None
    make: str | None = None
    model: str | None = None
    colour: str | None = None
    year: str | None = None


@dataclass(frozen=True)
class Document:
    """A document that was shown to prove identity."""

    type: str
    """one of `ledger.identity.kinds.KINDS`"""
    issuer: str
    number: str | NotKnown
    issued: Known[date] = None
    expires: Known[date] = None
    picture: bool | None = None
    """whether this one carries a photograph; None: as its kind usually does"""
    how_read: str | None = None
    country: str | None = None
    compared: bool | None = None
    """whether a person compared what was read with the document in hand; None where nobody said so"""


@dataclass(frozen=True)
class Capture:
    """A picture, print or signature of a party, or why it could not be taken."""

    what: str
    file: str | None = None
    not_taken: str | None = None
    finger: str | None = None
    document: int | None = None
    """which of the party's documents it shows, counted from one"""


@dataclass(frozen=True)
class Dealer:
    """What a party says that deals in these goods itself."""

    business: str
    licence: Known[str] = None
    issuer: str | None = None
    declaration: str | None = None


@dataclass(frozen=True)
class Estate:
    """For whose estate a fiduciary sells, in what capacity, and what proves it."""

    of: str
    capacity: str
    authority: Known[str] = None


@dataclass(frozen=True)
class Authority:
    """What a parent or guardian says that the seller may do, and whether it was given in writing."""

    written: bool
    says: str | None = None


@dataclass(frozen=True)
class Answer:
    """The answer to a question that a rule file declares."""

    question: str
    """its id in the rule file"""
    answer: bool | int | str | tuple[str, ...] | Money | Weight | NotKnown


@dataclass(frozen=True)
class Observed:
    """What the clerk saw or knows of a person that some rules ask."""

    intoxicated: Known[bool] = None
    known_offender: Known[bool] = None


@dataclass(frozen=True)
class Party:
    """Who takes part in a slip: the seller first, then anyone else."""

    role: str
    kind: str
    name: Name | NotKnown
    birth_date: Known[date] = None
    address: Known[Address] = None
    phones: tuple[Phone, ...] | NotKnown | None = None
    email: Known[str] = None
    workplace: Known[str] = None
    documents: tuple[Document, ...] = ()
    personally_known: PersonallyKnown | None = None
    description: Known[Description] = None
    vehicle: Known[Vehicle] = None
    captures: tuple[Capture, ...] = ()
    dealer: Dealer | None = None
    estate: Estate | None = None
    observed: Observed | None = None
    authority: Authority | None = None
    answers: tuple[Answer, ...] = ()


@dataclass(frozen=True)
class Parcel:
    """How goods came that were not brought over the counter."""

    carrier: str
    received_at: datetime
    tamper_band: str
    tracking: str | None = None


@dataclass(frozen=True)
class Size:
    """One measurement as entered; `um` is ours beside it."""

    what: str
    value: str
    unit: str | None = None
    system: str | None = None
    um: int | None = None
    """micrometres of a length, or of the inner circumference of a ring size; None where no formula says"""


@dataclass(frozen=True)
class Mark:
    """What is stamped on an article, as read, and where."""

    text: str
    where: str | None = None
    condition: str | None = None


@dataclass(frozen=True)
class Inscription:
    """What is engraved, letter for letter, and where."""

    text: str
    where: str | None = None


@dataclass(frozen=True)
class Serial:
    """A number and what it belongs to: a watch has one for the works and one for the case."""

    text: str | NotKnown
    of: str
    condition: str | None = None
    """worn, altered or removed; None: whole"""


@dataclass(frozen=True)
class Stone:
    """One group of like stones: colour and shape as seen, the species only as claimed or tested."""

    count: int | NotKnown
    colour: str | None = None
    shape: str | None = None
    cut: str | None = None
    setting: str | None = None
    position: str | None = None
    size: str | None = None
    """as measured, with its unit: '6.5 mm', '5 x 3 mm'"""
    species: str | None = None
    basis: str = "unknown"
    carats: Weight | None = None


@dataclass(frozen=True)
class Picture:
    """A picture of an item: the name of its file, and what it should show."""

    file: str
    shows: str


@dataclass(frozen=True)
class Weighing:
    """One weighing as the scale showed it."""

    what: str
    weight: Weight
    scale: str | None = None
    at: str | None = None
    by: str | None = None
    piece: int | None = None
    paid_on: bool = False


@dataclass(frozen=True)
class Conclusion:
    """What the person says after the assessment: agrees, or differs because."""

    agrees: bool
    because: str | None = None


@dataclass(frozen=True)
class Offer:
    """What the shop would pay for one item, and the seller's answer."""

    money: Money
    answer: str


@dataclass(frozen=True)
class Item:
    """One article, one matched set, or one scrap lot."""

    kind: str
    goods: str
    article: str
    pieces: int
    style: str | None = None
    wearer: str | None = None
    metal_colour: Known[str] = None
    seller_says: str | None = None
    obtained: Known[str] = None
    maker: Known[str] = None
    model: str | None = None
    age_years: int | None = None
    sizes: Known[tuple[Size, ...]] = None
    marks: Known[tuple[Mark, ...]] = None
    inscriptions: Known[tuple[Inscription, ...]] = None
    serials: Known[tuple[Serial, ...]] = None
    stones: Known[tuple[Stone, ...]] = None
    damage: Known[str] = None
    alteration: Known[str] = None
    contents: Known[str] = None
    melted_on_arrival: bool | None = None
    assayed: bool | None = None
    """whether an assayer vouches for its fineness, as for a bar with its paper"""
    made: Known[Mapping[str, str]] = None
    """country, from, to: where and when it was made, as far as that is known; the law of its marks hangs on it"""
    consent: str | None = None
    """given or refused: the seller's answer about tests that leave a mark; None: not asked"""
    pictures: tuple[Picture, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    evidence: tuple[Mapping[str, Any], ...] = ()
    conclusion: Conclusion | None = None
    offer: Offer | None = None
    answers: tuple[Answer, ...] = ()

    @property
    def taken(self) -> bool:
        """Whether the seller took an offer for it."""
        return self.offer is not None and self.offer.answer == "taken"

    @property
    def paid_on(self) -> Weighing | None:
        """The one weighing that the offer rests on."""
        return next((weighing for weighing in self.weighings if weighing.paid_on), None)

    @property
    def gross_mg(self) -> Milligrams | None:
        """The weight of the whole article: the weighing paid on if it is one of these, else the last such weighing."""
        if self.paid_on is not None and self.paid_on.what == "gross":
            return self.paid_on.weight.mg
        return next((w.weight.mg for w in reversed(self.weighings) if w.what == "gross"), None)

    @property
    def set_aside_mg(self) -> Milligrams:
        """Stones and foreign parts together, each as it was weighed last."""
        last = {w.what: w.weight.mg for w in self.weighings if w.what in ("stones", "foreign")}
        return Milligrams(sum(last.values()))

    @property
    def net_mg(self) -> Milligrams | None:
        """The weight paid on less stones and foreign parts; a net weighing paid on is taken as it is.

        None when no weighing is paid on, or when the parts set aside weigh more than the whole.
        """
        if self.paid_on is None:
            return None
        if self.paid_on.what == "net":
            return self.paid_on.weight.mg
        left = self.paid_on.weight.mg - self.set_aside_mg
        return Milligrams(left) if left >= 0 else None


@dataclass(frozen=True)
class Signature:
    """The picture of a signature, the paper that bears it, or why there is none."""

    file: str | None = None
    on_paper: str | None = None
    not_taken: str | None = None


@dataclass(frozen=True)
class Declaration:
    """The seller's statement in the words shown to him, and his signature under it."""

    text: str
    language: str
    """a BCP 47 language tag"""
    read_by: str | None = None
    """who read or interpreted it to him"""
    signature: Signature | None = None
    sworn: bool | None = None
    """whether the statement is made under oath"""


@dataclass(frozen=True)
class Trade:
    """What the seller takes in goods against his own."""

    money: Money
    goods: str | None = None


@dataclass(frozen=True)
class Payout:
    """How much is paid for what was taken, by what instrument and to whom."""

    instrument: str
    payee: str
    money: Money
    due: date | None = None
    reference: str | None = None
    payee_kind: str | None = None
    """seller | principal | other"""
    delivery: str | None = None
    """in-person | posted-to-residence | posted-elsewhere | electronic"""
    cash_part: Money | None = None
    """how much of it is paid in cash, where it is paid in more ways than one"""
    paid_by_weight: bool | None = None


@dataclass(frozen=True)
class Slip:
    """One visit or one parcel: who sells, what, for how much."""

    format: str
    occurred_at: datetime
    occurred_text: str
    """RFC 9557, as it was given"""
    channel: str
    staff: str
    tray: Tray
    parties: tuple[Party, ...]
    items: tuple[Item, ...]
    place: str | None = None
    spot: tuple[Spot, ...] = ()
    parcel: Parcel | None = None
    declaration: Declaration | None = None
    payout: Payout | None = None
    notes: str | None = None
    place_kind: str | None = None
    traded_for: Trade | None = None
    answers: tuple[Answer, ...] = ()

    @property
    def seller(self) -> Party:
        """The party that sells to the shop; it stands first."""
        return self.parties[0]

    @property
    def taken(self) -> tuple[tuple[int, Item], ...]:
        """Line and item of each item whose offer was taken. Lines count from one."""
        return tuple((line, item) for line, item in enumerate(self.items, 1) if item.taken)

    @property
    def local_day(self) -> date:
        """The day of the purchase where it happened."""
        return self.occurred_at.date()

    @property
    def total_taken(self) -> Money | None:
        """The offers taken, added up; None when none was taken. Raises: InputError when currencies differ."""
        amounts = [item.offer.money for _, item in self.taken if item.offer is not None]
        if not amounts:
            return None
        total = amounts[0]
        for amount in amounts[1:]:
            total += amount
        return total
