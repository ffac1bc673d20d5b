"""The margin beside a slip: what the law of the place asks, what is owed, from when the goods may leave.

Decides: the order in which duties are told and which field each line leads to. Leaves to the law room what a duty says
and to the acts what is examined: nothing here knows a rule.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ledger.acts import wording
from ledger.acts.examining import Examined, rule_name
from ledger.law.answers import Duty, QuestionAsked, Undecided
from ledger.law.answers_times import TaskDuty
from ledger.slip import describing
from ledger.web import items_page

ORDER: Final = ("broken", "undecided", "ahead", "met")


@dataclass(frozen=True)
class Told:
    """One duty as the margin tells it."""

    state: str
    about: str
    says: str
    source: str
    url: str
    rule: str
    leads_to: str
    """id of the field that mends it; "" where none does"""
    why: str
    """name of the field for a person's reason; "" where none is asked"""
    answered: str
    either: tuple[str, ...]
    """what follows if it is so and if it is not"""


@dataclass(frozen=True)
class Asked:
    """One question that a rule file declares, of one subject."""

    asks: str
    about: str
    path: str
    """of the answer: answers.0, items.1.answers.0"""
    question: str
    type: str
    words: tuple[str, ...]
    who: str


@dataclass(frozen=True)
class Leaving:
    """From when an item may leave."""

    number: int
    words: str
    when: str


@dataclass(frozen=True)
class Beside:
    """The whole margin."""

    duties: tuple[Told, ...]
    met: tuple[Told, ...]
    owed: tuple[tuple[str, str], ...]
    """sentence and the id of the field it leads to"""
    policy: tuple[Told, ...]
    leaving: tuple[Leaving, ...]
    stale: tuple[str, ...]
    says: tuple[str, ...]
    """sentences that stand alone: no rule for the day, rules that do not go together, a lot more"""
    tasks: tuple[str, ...]
    sold_before: tuple[int, ...]


def field_id(path: str) -> str:
    """The id that a field has on the page.

    >>> field_id("items.0.marks.1.text")
    'f-items-0-marks-1-text'
    """
    return "f-" + path.replace(".", "-").replace("/", "-")


def named(path: str) -> str:
    """A path of the document in words, counted as on paper.

    >>> named("items.0.evidence.1.pull"), named("payout.amount"), named("items.2")
    ('Item 1, test 2, pull', 'Payout, amount', 'Item 3')
    """
    words: list[str] = []
    for step in path.split("."):
        if step.isdigit() and words:
            words[-1] = f"{_ONE_OF.get(words[-1], words[-1].removesuffix('s'))} {int(step) + 1}"
        else:
            words.append(step.replace("_", " "))
    return ", ".join(words).capitalize()


_ONE_OF: Final[Mapping[str, str]] = {"parties": "party", "evidence": "test", "address": "address"}
_FIRST_FIELD: Final[Mapping[str, str]] = {
    "payout": "payout.instrument", "declaration": "declaration.text", "tray": "tray.articles",
    "parcel": "parcel.carrier", "draft": "tray.number",
}  # fmt: skip
_OF_AN_ITEM: Final[Mapping[str, str]] = {
    "weighings": "weighings.0.value", "gross": "weighings.0.value", "weight": "weighings.0.value",
    "conclusion": "conclusion.agrees", "offer": "offer.amount", "price": "offer.amount", "marks": "marks.0.text",
    "inscriptions": "inscriptions.0.text", "serials": "serials.0.text", "stones": "stones.0.count",
    "sizes": "sizes.0.value", "size": "sizes.0.value", "metal_colour": "metal_colour", "photos": "pictures.new",
    "pictures": "pictures.new", "description": "article", "owner_number": "serials.0.text",
}  # fmt: skip
_OF_A_PARTY: Final[Mapping[str, str]] = {
    "name": "name.family", "age": "birth_date", "address": "address.lines.0", "document": "documents.0.type",
    "documents": "documents.0.number", "phone": "phones.0.number", "phones": "phones.0.number",
    "captures": "captures.0.what", "description": "description.sex", "vehicle": "vehicle.plate",
}  # fmt: skip
"""Where the first field of a member that has several is found."""


def leads_to(path: str, fields: Mapping[str, str]) -> str:
    """The id of the field at which the eye should go on for a path of the document; a whole item leads to its line.

    >>> leads_to("items.0", {"items.0.article": "ring"}), leads_to("payout", {})
    ('f-ui-line-0', 'f-payout-instrument')
    """
    top, _, rest = path.partition(".")
    number, _, member = rest.partition(".")
    if top == "items" and number.isdigit():
        written = items_page.places(fields)
        place = written[int(number)] if int(number) < len(written) else int(number)
        first = _OF_AN_ITEM.get(member, member)
        return field_id(f"items.{place}.{first}" if first else f"ui.line.{place}")
    if top == "parties" and number.isdigit():
        return field_id(f"parties.{number}.{_OF_A_PARTY.get(member, member)}" if member else "parties.0.name.family")
    return field_id(_FIRST_FIELD.get(path, path)) if path else ""


def _of_a_duty(duty: Duty, fields: Mapping[str, str]) -> str:
    """The first field that the record lacks for a duty, or the subject that it is about."""
    lacks = duty.trace.get("lacks") or []
    kind, _, number = duty.about.partition("/")
    fact = str(lacks[0]).partition(".")[2] if lacks else ""
    member = fact.partition(".")[0]
    if kind == "item" and number.isdigit():
        return leads_to(f"items.{int(number) - 1}.{member}".rstrip("."), fields)
    if kind in ("seller", "party"):
        at = int(number) - 1 if number.isdigit() else 0
        return leads_to(f"parties.{at}.{member}".rstrip("."), fields)
    if duty.kind == "pay":
        return field_id("payout.instrument")
    return field_id("declaration.text") if "declaration" in "".join(map(str, lacks)) else ""


def about(subject: str) -> str:
    """Of whom or what something is asked, in words.

    >>> about("item/2"), about("seller"), about("party/2")
    ('item 2', 'seller', 'party 2')
    """
    return subject.replace("/", " ")


def beside(
    examined: Examined | None,
    fields: Mapping[str, str],
    reasons: Mapping[str, str],
    *,
    faults: Sequence[Mapping[str, str]] = (),
    sold_before: Sequence[int] = (),
    says: Sequence[str] = (),
) -> Beside:
    """The margin of a slip.

    faults: what cannot be taken yet, each with path and says. reasons: by rule name, as a person gave them.
    """
    owed = tuple((one["says"], leads_to(one["path"], fields)) for one in faults)
    if examined is None:
        return Beside((), (), owed, (), (), (), tuple(says), (), tuple(sold_before))
    told = _asked_once(sorted((_told(duty, fields, reasons) for duty in examined.duties.duties), key=_rank))
    return Beside(
        duties=tuple(one for one in told if one.state != "met"),
        met=tuple(one for one in told if one.state == "met"),
        owed=owed,
        policy=tuple(
            Told("undecided", "shop", one.says, "the owner's settings", "", one.rule, "", f"why.{one.rule}",
                 reasons.get(one.rule, ""), ())
            for one in examined.policy
        ),
        leaving=tuple(
            Leaving(line, describing.one_line(item), wording.leaves(examined.duties.leave(line)))
            for line, item in examined.slip.taken
        ),
        stale=examined.duties.stale,
        says=(*says, *examined.duties.contradictions, *(one.says() for one in examined.duties.displaced)),
        tasks=tuple(_task(one) for one in examined.duties.tasks),
        sold_before=tuple(sold_before),
    )  # fmt: skip


def _asked_once(told: Sequence[Told]) -> list[Told]:
    """The same with one field for the reason of each rule, however many items it is about."""
    asked: set[str] = set()
    found = []
    for one in told:
        found.append(replace(one, why="") if one.why in asked else one)
        asked.add(one.why)
    return found


def _rank(told: Told) -> int:
    return ORDER.index(told.state)


def _told(duty: Duty, fields: Mapping[str, str], reasons: Mapping[str, str]) -> Told:
    rule = rule_name(duty)
    undecided = isinstance(duty.outcome, Undecided)
    either: tuple[str, ...] = ()
    if isinstance(duty.outcome, Undecided) and (duty.outcome.if_yes or duty.outcome.if_no):
        yes, no = duty.outcome.if_yes or "nothing follows.", duty.outcome.if_no or "nothing follows."
        either = (f"If yes: {yes}", f"If no: {no}")
    return Told(
        state=duty.state,
        about=about(duty.about),
        says=duty.says,
        source=duty.source,
        url=duty.url,
        rule=rule,
        leads_to="" if duty.state in ("met", "ahead") else _of_a_duty(duty, fields),
        why=f"why.{rule}" if undecided and duty.effect == "stops" else "",
        answered=reasons.get(rule, ""),
        either=either,
    )


def _task(task: TaskDuty) -> str:
    by = f" by {wording.at(task.due)}" if task.due else ""
    waits = f" once there is {wording.awaited(task.waiting_for)}" if task.waiting_for and not task.due else ""
    return f"{task.what}{by}{waits} ({about(task.about)}; {task.source})"


def questions(examined: Examined, fields: Mapping[str, str]) -> Iterator[Asked]:
    """Each question of a rule file for each subject of which it is asked, with the place of its answer."""
    free: dict[str, int] = {}
    for one, open_ in examined.questions():
        for subject in one.subjects:
            base = _answers_of(subject, fields)
            if base is None:
                continue
            name = one.fact.rpartition(".")[2]
            place = _answered_at(base, name, fields)
            if place is None and subject in open_:
                place = free.setdefault(base, _next(base, fields))
                free[base] += 1
            if place is not None:
                yield _asked(one, subject, f"{base}.{place}", name)


def _asked(one: QuestionAsked, subject: str, path: str, name: str) -> Asked:
    return Asked(one.asks, about(subject), path, name, one.type, one.words, one.who)


def _answers_of(subject: str, fields: Mapping[str, str]) -> str | None:
    kind, _, number = subject.partition("/")
    if kind == "slip":
        return "answers"
    if kind == "seller":
        return "parties.0.answers"
    at = int(number) - 1 if number.isdigit() else -1
    if kind == "party" and at >= 0:
        return f"parties.{at}.answers"
    written = items_page.places(fields)
    return f"items.{written[at]}.answers" if kind == "item" and 0 <= at < len(written) else None


def _answered_at(base: str, question: str, fields: Mapping[str, str]) -> int | None:
    for place in range(_next(base, fields)):
        if fields.get(f"{base}.{place}.question") == question:
            return place
    return None


def _next(base: str, fields: Mapping[str, str]) -> int:
    begin = base + "."
    used = [name[len(begin) :].partition(".")[0] for name in fields if name.startswith(begin)]
    return max((int(place) + 1 for place in used if place.isdigit()), default=0)
