"""How values of the record read on a paper: plain words, with units, and "not known" with its reason.

>>> said({"currency": "USD", "minor": 18000}), said(True), said({"not_known": "worn away"})
('USD 180.00', 'yes', 'not known: worn away')
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from ledger.acts import figures
from ledger.acts.figures import NOT_RECORDED as NOT_RECORDED
from ledger.acts.ordered import OnItem
from ledger.identity.kinds import KINDS
from ledger.law import periods
from ledger.law.answers import AskField
from ledger.law.duties import Duties
from ledger.law.facts import FACTS, Fact
from ledger.law.holds import Hold, Leave, Permit
from ledger.measures import Money, grams, thousandths
from ledger.moments import parse_local
from ledger.slip.document import Payout, Weighing
from reports import goods
from reports.page import moment


def said(value: Any) -> str:
    """A value in words; an empty list is an answer."""
    match value:
        case None | "":
            return NOT_RECORDED
        case bool():
            return "yes" if value else "no"
        case {"not_known": reason}:
            return f"not known: {reason}"
        case {"currency": str(currency), "minor": int(minor)}:
            return str(Money(currency, minor))
        case {"value": str(figure), "unit": str(unit)}:
            return f"{figure} {unit}"
        case {"text": str(text)}:
            where = value.get("where")
            return f"{text} ({where})" if where else text
        case Mapping():
            return ", ".join(said(inner) for inner in value.values() if inner not in (None, "", [], {}))
        case list() | tuple():
            return "; ".join(said(inner) for inner in value) if value else "none"
        case _:
            return str(value)


def weight(weighing: Weighing | None) -> str:
    """A weighing as the scale showed it, with grams beside it where the scale spoke another unit."""
    if weighing is None:
        return "not weighed"
    shown = f"{weighing.weight.text} {weighing.weight.unit}"
    return shown if weighing.weight.unit == "g" else f"{shown} ({grams(weighing.weight.mg)} g)"


def leaves(leave: Leave, orders: int = 0) -> str:
    """From when goods may leave, both readings where they differ."""
    if orders and leave.waiting_for is not None:
        return "held by an authority's order"
    if leave.waiting_for is not None:
        return f"no date yet: waiting for {awaited(leave.waiting_for)}"
    if leave.cautious is None or leave.plain is None:
        return "no hold"
    if leave.plain == leave.cautious:
        return moment(leave.plain)
    return f"{moment(leave.cautious)} (cautious), {moment(leave.plain)} (plain)"


def awaited(event: str) -> str:
    """What a hold without a date waits for, in words.

    >>> awaited("report-received:property-desk")
    "the property desk's receipt of the report"
    """
    return periods.awaited(event)


_DONE = {
    "offer": "offered",
    "sell": "sold",
    "hand-over": "handed over",
    "return": "given back",
    "use": "used",
    "alter": "altered",
    "melt": "melted",
    "mix": "mixed",
    "move": "moved",
    "send-out": "sent out",
    "surrender": "surrendered",
}


def acts(forbidden: Sequence[str]) -> str:
    """Acts that a hold forbids, as what must not be done to the goods.

    >>> acts(["sell", "send-out"])
    'sold, sent out'
    """
    return ", ".join(_DONE[act] for act in forbidden)


def hold(one: Hold) -> str:
    """What a hold forbids until when, where the goods must stay, and what is not decided, in sentences."""
    forbidden = acts(one.forbids) if one.forbids else "anything else done with"
    where = f", and stays in the {one.keep_in}{_WHOSE.get(one.keep_of, '')}" if one.keep_in else ""
    said = [f"It must not be {forbidden} {until(one)}{where} ({one.source}; rule {one.rule} of {one.jurisdiction})."]
    said += [permitted for permit in one.allows if (permitted := _permit(permit))]
    said += [f"That it must not be {_DONE[act.act]} rests on {act.basis}, not on the text." for act in one.implied]
    if one.undecided:
        said.append(f"It is not decided whether the hold applies: {one.undecided}.")
    if one.rests_on_memory:
        what = "the whole rule" if "all" in one.rests_on_memory else ", ".join(one.rests_on_memory).replace("_", " ")
        said.append(f"Rests on memory: {what}.")
    return " ".join(said)


def order(one: OnItem) -> str:
    """An authority's order on an item, in sentences that do not tell whose it is."""
    if one.state is None:
        until = one.order.until
        return f"Order {one.given.id} holds it {'until it is lifted' if until is None else f'before {moment(until)}'}."
    state = one.state
    says = [f"Order {one.given.id}: {state.says}"]
    if state.waiting_for is not None:
        says.append(f"Its end waits for {awaited(state.waiting_for)}.")
    elif state.cautious is not None:
        plain = "" if state.plain in (None, state.cautious) else f" (as written {moment(state.plain)})"
        says.append(f"It holds before {moment(state.cautious)}{plain}.")
    return " ".join(says)


_WHOSE = {"purchase": " of the purchase", "receipt": " where it was received"}


def until(one: Hold) -> str:
    """Until when a hold runs, both readings where they differ."""
    if one.waiting_for is not None and one.waiting_for.startswith("lift:"):
        return "until it is lifted"
    if one.cautious is None:
        return f"until a time that waits for {awaited(one.waiting_for or '')}"
    plain = "" if one.plain in (None, one.cautious) else f" (as written {moment(one.plain)})"
    return f"before {moment(one.cautious)}{plain}"


def _permit(permit: Permit) -> str:
    """What a hold allows all the same, in a sentence."""
    if permit.says:
        return f"Allowed: {permit.says.rstrip('. ')}."
    to = f" to {permit.to.replace('-', ' ')}" if permit.to else ""
    return f"It may be {_DONE[permit.act]}{to}."


def payout(agreed: Payout) -> str:
    """Instrument, reference and amount; a reference that names its instrument is not said twice."""
    reference = agreed.reference or ""
    named = reference.casefold().startswith(agreed.instrument.casefold())
    how = reference if named else f"{agreed.instrument} {reference}".strip()
    return f"{how}, {agreed.money}"


def answered(duties: Duties, facts: Mapping[str, Any], asked: Sequence[str], *about: str) -> tuple[goods.Field, ...]:
    """The fields that rule files ask about parties, slip, shop or one item, in their order, with what was answered.

    asked: names of facts in the order of a report's rule, or of all layers.
    about: "seller", "principal", "guardian", "slip", "shop", "item/<n>", or "party/<n>" for a further seller, whose
    fields are those of the seller.
    """
    fields = []
    subjects = {_kind(subject): subject for subject in about}
    by_name = {field.fact: field for field in duties.asks}
    bought = {subject for field in duties.asks if field.about == "item" for subject in field.subjects}
    for name in asked:
        subject = subjects.get(_fact(name).subject)
        field = by_name.get(name)
        if subject is not None and _is_asked_of(field, subject, bought):
            fields.append(_field(field, name, subject, facts))
    return tuple(fields)


def _fact(name: str) -> Fact:
    """A fact by its name; the answer to a question that a rule file declares is one too."""
    known = FACTS.get(name)
    return known or Fact(name, "any", name.rpartition(".")[2].replace("-", " "), (), tuple(name.split(".")))


def _kind(subject: str) -> str:
    kind = subject.partition("/")[0]
    return "seller" if kind == "party" else kind


def _is_asked_of(field: AskField | None, subject: str, bought: set[str]) -> bool:
    """A lot's fields are asked of the lot alone. An item that was not bought shows what is asked of all that were."""
    if field is None or field.about != "item":
        return True
    return subject in field.subjects if subject in bought else set(field.subjects) == bought


def _field(field: AskField | None, name: str, subject: str, facts: Mapping[str, Any]) -> goods.Field:
    value, members = found(facts, name, subject), tuple(_members(answered_to(facts, name, subject)))
    if field is None:  # no layer asks for it any more: it is named by what the fact is
        return goods.Field(_fact(name).says, value, fact=name, about=subject, members=members)
    must, sources = field.need == "must", "; ".join(field.sources)
    return goods.Field(field.label, value, must, sources, name, subject, members)


def read_anew(field: goods.Field, facts: Mapping[str, Any]) -> goods.Field:
    """A field with how it reads by other facts, where that differs; facts: those of a slip after its corrections."""
    if not field.fact:
        return field
    value = found(facts, field.fact, field.about)
    if value == field.value:
        return field
    members = tuple(_members(answered_to(facts, field.fact, field.about)))
    return replace(field, reads=replace(field, value=value, members=members))


def answered_to(facts: Mapping[str, Any], name: str, about: str) -> Any:
    """What the facts answer to one name, as they hold it; None where nothing was said."""
    return _at(_subject(facts, about), _fact(name).path[1:])


def _members(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """The single values inside a value, with the path of their names; those of a list are counted from one."""
    match value:
        case None | "":
            return
        case Mapping():
            for name, inner in value.items():
                yield from _members(inner, f"{path}/{name}" if path else str(name))
        case list() | tuple():
            for number, inner in enumerate(value, 1):
                yield from _members(inner, f"{path}/{number}" if path else str(number))
        case bool():
            yield path, "true" if value else "false"
        case _:
            yield path, str(value)


def found(facts: Mapping[str, Any], name: str, about: str) -> str | None:
    """What the facts answer to one name, in words; None where nothing was said."""
    value = answered_to(facts, name, about)
    if value is None:
        return None
    if ".captures." in name and (value is True or "finger" in value):
        return "taken" if value is True else f"taken: {said(value)}"
    special = _SPECIAL.get(name)
    return said(value) if special is None or not isinstance(value, str | list) else special(value)


def _subject(facts: Mapping[str, Any], about: str) -> Any:
    kind, _, number = about.partition("/")
    if kind == "item":
        return next((item for item in facts["items"] if item["line"] == int(number)), {})
    if kind == "party":
        return next((party for party in facts.get("co_sellers", ()) if party["party"] == int(number)), {})
    return facts.get(kind, {})


_SPECIAL: Mapping[str, Callable[[Any], str]] = {
    "item.evidence": figures.named,
    "seller.document.type": lambda kinds: "; ".join(KINDS[kind].says for kind in kinds),
    "slip.occurred": lambda text: moment(parse_local(text, "occurred")),
}
"""Facts whose values have better words than their own."""


def _at(value: Any, path: Sequence[str]) -> Any:
    if not path:
        return value
    if isinstance(value, list):
        inner = [_at(each, path) for each in value]
        kept = [each for each in inner if each is not None]
        return kept or None
    if not isinstance(value, Mapping):
        return None
    if "not_known" in value:
        return value
    return _at(value.get("documents" if path[0] == "document" else path[0]), path[1:])


def interval(recorded: Mapping[str, Any] | None) -> str:
    """The fineness interval of an assessment's record, per thousand."""
    seen = (recorded or {}).get("seen")
    if not seen:
        return "not shown by the tests"
    low, high = thousandths(seen["low_ppm"]), thousandths(seen["high_ppm"])
    return f"{recorded['metal']} {low} to {high} per thousand where tested" if recorded else ""


def short(moment_: datetime) -> str:
    """A moment in a narrow column, in the zone that the head of the paper names.

    >>> short(datetime(2026, 11, 24, 10, 15))
    '24 Nov 2026 10:15'
    """
    return f"{moment_.day} {moment_:%b %Y %H:%M}"


def at(moment_: datetime) -> str:
    """A moment as papers print it."""
    return moment(moment_)
