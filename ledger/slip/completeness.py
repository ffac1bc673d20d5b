"""What contradicts itself in a slip that reads well, and what is still missing before it can be presented.

Decides: the tray's count against the lines, money against offers, weights against each other, days against days,
descriptions against emptiness. A fault of stage "check" stops everything: the slip is wrong. One of stage "present"
is only not yet entered: a draft may have it, a slip that the seller signs may not.
Leaves to others: what the law asks (`ledger.law`; an expired document is only flagged here, since places differ),
whether goods are what they seem (`ledger.assay`).

A session: `faults(slip)` lists all, those that stop everything first, and `fault.error()` is its sentence.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from ledger.assay import evidence
from ledger.errors import InputError, Said
from ledger.slip import describing
from ledger.slip.checking import NOTHING
from ledger.slip.document import Answer, Document, Item, Party, Slip, value_of

Stage = Literal["check", "present"]

OLDEST_YEARS = 130
"""Nobody older has been recorded; a birth date beyond it is a slip of the pen."""


@dataclass(frozen=True)
class Fault:
    """One contradiction or gap: its field, what was given, what is wanted, and from which stage on it stops."""

    field: str
    given: object
    wanted: str
    stage: Stage = "check"

    def error(self) -> InputError:
        """The same as an error, for who stops because of it."""
        return InputError(field=self.field, given=self.given, wanted=self.wanted)


def faults(slip: Slip) -> tuple[Fault, ...]:
    """All faults of a slip, those of the check stage first."""
    found = list(_of_the_slip(slip))
    for number, party in enumerate(slip.parties, 1):
        found += _of_a_party(party, number, slip.local_day)
    for line, item in enumerate(slip.items, 1):
        found += _of_an_item(item, f"items[{line}]")
    found += _of_the_tray(slip)
    found += _of_the_money(slip)
    found += _not_yet_entered(slip)
    return tuple(sorted(found, key=lambda fault: fault.stage == "present"))


def expired_documents(slip: Slip) -> tuple[tuple[int, int], ...]:
    """Party and document, both counted from one, of each document that had expired on the day of the slip.

    A document is good on the last day printed on it.
    """
    return tuple(
        (p, k)
        for p, party in enumerate(slip.parties, 1)
        for k, document in enumerate(party.documents, 1)
        if (last := value_of(document.expires)) is not None and last < slip.local_day
    )


def articles(slip: Slip) -> int:
    """How many articles the lines stand for: each piece of a set, a scrap lot as one."""
    return sum(1 if item.kind == "lot" else item.pieces for item in slip.items)


def _of_the_tray(slip: Slip) -> Iterator[Fault]:
    if (counted := articles(slip)) != slip.tray.articles:
        wanted = f"the number of articles that the lines describe, {counted}; count the tray again"
        yield Fault("tray.articles", slip.tray.articles, wanted)


def _of_answers(answers: Sequence[Answer], path: str) -> Iterator[Fault]:
    """A question that was answered twice has no answer."""
    asked = [each.question for each in answers]
    for number, question in enumerate(asked, 1):
        if question in asked[: number - 1]:
            yield Fault(f"{path}[{number}].question", question, "each question once")


def _of_the_slip(slip: Slip) -> Iterator[Fault]:
    yield from _of_answers(slip.answers, "answers")
    if slip.seller.role != "seller":
        yield Fault("parties[1].role", slip.seller.role, "'seller'; the seller stands first")
    for number, party in enumerate(slip.parties[1:], 2):
        if party.role == "seller":
            yield Fault(f"parties[{number}].role", "seller", "'co-seller' for a second seller")
    if slip.channel == "parcel" and slip.parcel is None:
        yield Fault("parcel", NOTHING, "how the parcel came, since the channel is 'parcel'")
    if slip.channel != "parcel" and slip.parcel is not None:
        yield Fault("channel", slip.channel, "'parcel', since a parcel is described")
    if slip.channel in ("event", "home") and slip.place is None:
        yield Fault("place", NOTHING, f"the place, since the channel is '{slip.channel}'")
    if slip.parcel is not None and slip.parcel.received_at > slip.occurred_at:
        yield Fault("parcel.received_at", Said("a moment after the slip's"), "a moment before the slip's")
    metals = [spot.metal for spot in slip.spot]
    for number, metal in enumerate(metals, 1):
        if metal in metals[: number - 1]:
            yield Fault(f"spot[{number}].metal", metal, "one price for each metal")


def _of_a_party(party: Party, number: int, day: date) -> Iterator[Fault]:
    path = f"parties[{number}]"
    yield from _of_answers(party.answers, f"{path}.answers")
    if party.authority is not None and party.role != "guardian":
        yield Fault(f"{path}.role", party.role, f"'guardian', since {path}.authority is a parent's or guardian's")
    birth = value_of(party.birth_date)
    if birth is not None and birth > day:
        yield Fault(f"{path}.birth_date", Said("a day after the slip's"), "a day before the slip's")
    if birth is not None and birth.year < day.year - OLDEST_YEARS:
        given = Said(f"a day more than {OLDEST_YEARS} years before the slip's")
        yield Fault(f"{path}.birth_date", given, "the day of birth of a living person")
    for kind, members in (("dealer", party.dealer), ("estate", party.estate)):
        if party.kind == kind and members is None:
            yield Fault(f"{path}.{kind}", NOTHING, f"the {kind} that sells, since the party's kind is '{kind}'")
        if party.kind != kind and members is not None:
            yield Fault(f"{path}.kind", party.kind, f"'{kind}', since {path}.{kind} is described")
    for k, document in enumerate(party.documents, 1):
        yield from _of_a_document(document, f"{path}.documents[{k}]", birth, day)
    for k, capture in enumerate(party.captures, 1):
        if capture.document is not None and capture.document > len(party.documents):
            wanted = f"the number of one of the party's documents, of which there are {len(party.documents)}"
            yield Fault(f"{path}.captures[{k}].document", capture.document, wanted)


def _of_a_document(document: Document, path: str, birth: date | None, day: date) -> Iterator[Fault]:
    issued, expires = value_of(document.issued), value_of(document.expires)
    if issued is not None and expires is not None and expires < issued:
        yield Fault(f"{path}.expires", Said("a day before the document was issued"), "a day after it was issued")
    if issued is not None and issued > day:
        yield Fault(f"{path}.issued", Said("a day after the slip's"), "a day before the slip's")
    if issued is not None and birth is not None and issued < birth:
        yield Fault(f"{path}.issued", Said("a day before its holder was born"), "a day after the birth")


def _of_an_item(item: Item, path: str) -> Iterator[Fault]:
    yield from _of_a_description(item, path)
    yield from _of_answers(item.answers, f"{path}.answers")
    if item.kind == "single" and item.pieces != 1:
        yield Fault(f"{path}.pieces", item.pieces, "1 for a single article, or kind 'set' or 'lot'")
    if item.kind != "single" and item.pieces < 2:
        yield Fault(f"{path}.pieces", item.pieces, f"at least 2 for a {item.kind}, or kind 'single'")
    yield from _of_weights(item, path)
    for number, test in enumerate(item.evidence, 1):
        asked = test.get("consent", {}).get("given") is True
        if leaves_a_mark(test) and not asked:
            given = Said("no consent")
            wanted = "the seller's consent, since this test leaves a mark on the article"
            yield Fault(f"{path}.evidence[{number}].consent", given, wanted)
    if item.conclusion is not None and not item.conclusion.agrees and item.conclusion.because is None:
        yield Fault(f"{path}.conclusion.because", NOTHING, "the reason for differing from the assessment")


def leaves_a_mark(test: Mapping[str, Any]) -> bool:
    """Whether a test of the evidence leaves a mark on the article, so that the seller is asked first."""
    return test["test"] in evidence.MARKING or test.get("depth") == "deep"


def _of_a_description(item: Item, path: str) -> Iterator[Fault]:
    lacking = describing.missing(item)
    if not lacking:
        return
    words = lacking[0] if len(lacking) == 1 else ", ".join(lacking[:-1]) + " and " + lacking[-1]
    if lacking[0] == "kind of article":
        yield Fault(f"{path}.article", item.article, f"{_FINDABLE}; missing: {words}")
    else:
        yield Fault(path, Said("a description that says too little"), f"{_FINDABLE}; missing: {words}")


_FINDABLE = "a description by which another person could find the article"


def _of_weights(item: Item, path: str) -> Iterator[Fault]:
    paid_on = [n for n, weighing in enumerate(item.weighings, 1) if weighing.paid_on]
    if item.taken and not paid_on:
        yield Fault(f"{path}.weighings", Said("no weighing with paid_on"), "exactly one on which the offer rests")
    for number in paid_on[1:]:
        wanted = f"paid_on once for each item; weighing {paid_on[0]} has it"
        yield Fault(f"{path}.weighings[{number}].paid_on", Said("true a second time"), wanted)
    for number, weighing in enumerate(item.weighings, 1):
        where = f"{path}.weighings[{number}]"
        if weighing.paid_on and weighing.what not in ("gross", "net"):
            yield Fault(f"{where}.what", weighing.what, "'gross' or 'net' for the weighing that is paid on")
        if weighing.what == "piece" and (weighing.piece is None or weighing.piece > item.pieces):
            given = NOTHING if weighing.piece is None else weighing.piece
            yield Fault(f"{where}.piece", given, f"the number of the piece weighed, 1 to {item.pieces}")
    gross, net = item.gross_mg, item.net_mg
    if gross is not None and item.set_aside_mg > gross:
        given = Said(f"{item.set_aside_mg:,} mg of stones and foreign parts")
        yield Fault(f"{path}.weighings", given, f"no more than the gross weight, {gross:,} mg")
    elif gross is not None and net is not None and net > gross:
        given = Said(f"{net:,} mg net")
        yield Fault(f"{path}.weighings", given, f"no more than the gross weight, {gross:,} mg")


def _of_the_money(slip: Slip) -> Iterator[Fault]:
    offers = [(line, item.offer.money) for line, item in slip.taken if item.offer is not None]
    if not offers:
        if slip.payout is not None:
            yield Fault("payout", Said("a payout"), "none, since no offer was taken")
        return
    currency = offers[0][1].currency
    others = [(line, money.currency) for line, money in offers if money.currency != currency]
    for line, other in others:
        yield Fault(f"items[{line}].offer.currency", other, f"{currency}, as the first offer taken")
    if slip.payout is None:
        lines = ", ".join(f"item {line}" for line, _ in offers)
        yield Fault("payout", NOTHING, f"how the offers taken are paid: {lines}")
    elif not others and (total := slip.total_taken) != slip.payout.money:
        yield Fault("payout.amount", Said(str(slip.payout.money)), f"the sum of the offers taken, {total}")
    payout = slip.payout
    if payout is not None and payout.cash_part is not None and payout.cash_part.minor > payout.money.minor:
        yield Fault("payout.cash_part", Said(str(payout.cash_part)), f"no more than the whole payout, {payout.money}")
    if slip.payout is not None and slip.payout.due is not None and slip.payout.due < slip.local_day:
        yield Fault("payout.due", slip.payout.due.isoformat(), "a day not before the slip's")


def _not_yet_entered(slip: Slip) -> Iterator[Fault]:
    if not slip.taken:
        return
    for line, item in slip.taken:
        if item.conclusion is None:
            wanted = "whether the person agrees with the assessment, or differs because"
            yield Fault(f"items[{line}].conclusion", NOTHING, wanted, "present")
    if slip.declaration is None:
        yield Fault("declaration", NOTHING, "the words the seller signs and their language", "present")
