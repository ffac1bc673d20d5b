"""Worked cases beside a rule file: facts in, expected answers out, for people who know law and not programming.

Decides: how a case file is written, and whether each case came true. Leaves what a key of `expect` looks at to
`ledger.law.expecting`, the choice of files to the caller (a case file may name further layers in `layers`), and
reading from disk. A case that fails is a sentence, not an error; only a case file that cannot be read is one.

A case asserts (`expect`), or it illustrates: what rests on memory alone has an `illustration` that says so, asserts
nothing, and `shows` the values that the program comes to.
"""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, NoRuleForDay
from ledger.law import tasks
from ledger.law.case_names import wrong_events, wrong_facts
from ledger.law.case_orders import ORDER, Ordered, ordered
from ledger.law.counting import utc
from ledger.law.duties import weigh
from ledger.law.expecting import Unanswered, Worked, answer, same, shown, vocabulary
from ledger.law.facts import FACTS, Fact
from ledger.law.files import decoded, unreadable, wrong_at
from ledger.law.holds import IN_PERSON, Act, may
from ledger.law.locating import Places
from ledger.law.rules import ACTS, RuleFile
from ledger.law.shapes import AnyOf, AnyTable, Anything, Fault, Key, ListOf, Table, Text, Word, check
from ledger.law.timing import in_person

FORMAT = "cases/0"
_MOMENT = Anything("a day, a local date and time, or text with zone")
_FACTS = AnyTable("a table of facts")
_EVENTS = AnyTable("a table of events")
_COMMON = (
    Key("at", _MOMENT, "when the purchase happens"),
    Key("recorded_at", _MOMENT, "when it is recorded, if later"),
    Key("facts", _FACTS, "facts by name"),
    Key("past", ListOf(_FACTS, 0), "earlier slips, for totals and counts over a time"),
    Key("events", _EVENTS, "what has happened since, each with its moment"),
)
_ACT = Table(
    "act",
    (
        Key("kind", Word(ACTS), "what is about to be done", need=True),
        Key("to", Text("a place or person in quotes"), "to whom or where"),
        Key("at", _MOMENT, "when", need=True),
        Key("item", Text("the name of an article in quotes"), "with which article, where there are several"),
    ),
)
_CASE = Table(
    "[[case]]",
    (
        Key("name", Text("a sentence in quotes", longest=300), "what the case shows", need=True),
        Key("source", Text("the citation in quotes", longest=300), "where the expected answer comes from", need=True),
        *_COMMON,
        Key("without", ListOf(Text("the name of a fact")), "usual facts that nobody stated here"),
        Key("now", _MOMENT, "the moment of asking, for what is late; else that of the purchase"),
        Key("order", AnyOf((ORDER, ListOf(ORDER))), "an order of an authority, or several"),
        Key("act", _FACTS, "an act that is about to be done: kind, to, at, item, and any fact of an act"),
        Key("expect", AnyTable("a table of answers"), "what must come out"),
        Key("illustration", Text("a sentence in quotes"), "why nothing is asserted, such as that it is from memory"),
        Key("shows", ListOf(Text("a key of expect")), "what an illustration prints"),
    ),
    one_of=("expect", "illustration"),
)
CASES = Table(
    "the case file",
    (
        Key("format", Text(f'"{FORMAT}"', FORMAT), "the form in which the file is written", need=True),
        Key("layers", ListOf(Text("a file name in quotes")), "rule files of other layers that govern too"),
        Key("zone", Text("a time zone in quotes"), "time zone, if no rule file has one"),
        Key("usual", Table("[usual]", _COMMON), "what every case has unless it says otherwise"),
        Key("case", ListOf(_CASE), "the cases", need=True),
    ),
)


class Ran(NamedTuple):
    """What the cases of one file came to."""

    failures: tuple[str, ...]
    """one sentence for each expectation that did not come true"""
    shown: tuple[str, ...]
    """one sentence for each value that an illustration prints"""
    asserted: int
    """how many cases assert something"""


def layers(cases: bytes, path: str = "the case file") -> tuple[str, ...]:
    """Names of further rule files that the cases want, beside their own. Raises: RuleFileWrong."""
    return tuple(_read(cases, path).get("layers", ()))


def run(cases: bytes, files: Sequence[RuleFile], path: str = "the case file") -> tuple[str, ...]:
    """One sentence for each expectation that does not come true; none if all do. See `work`."""
    return work(cases, files, path).failures


def work(cases: bytes, files: Sequence[RuleFile], path: str = "the case file") -> Ran:
    """What the cases come to under these files.

    files: all layers that govern. Raises: RuleFileWrong if the case file itself cannot be used.
    """
    document = _read(cases, path)
    zone = _zone(document, files, path)
    usual = document.get("usual", {})
    failures: list[str] = []
    printed: list[str] = []
    for raw in document["case"]:
        named = f"{path}: '{raw['name']}' ({raw['source']})"
        try:
            if "illustration" in raw:
                why = raw["illustration"].rstrip(". ")
                printed += [f"{named}: illustration, {why}: {says}" for says in _illustrated(raw, usual, files, zone)]
                continue
            found = list(_failures(raw, usual, files, zone))
        except (InputError, NoRuleForDay) as wrong:
            awaited = isinstance(wrong, NoRuleForDay) and raw.get("expect") == {"no_rule": True}
            found = [] if awaited else [str(wrong)]
        failures += [f"{named}: {says}" for says in found]
    return Ran(tuple(failures), tuple(printed), sum("expect" in raw for raw in document["case"]))


def _read(cases: bytes, path: str) -> dict[str, Any]:
    """The tables of a case file. Raises: RuleFileWrong with all faults and their lines."""
    text = decoded(cases, path)
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as stopped:
        raise unreadable(path, text, stopped) from None
    faults: list[Fault] = []
    check(document, CASES, (), faults)
    for number, raw in enumerate(document.get("case", ()) if not faults else ()):
        if "shows" in raw and "illustration" not in raw:
            says = "'shows' goes with 'illustration'; a case that expects something prints nothing. Remove one of them."
            faults.append(Fault(("case", number, "shows"), says))
        if "act" in raw:
            _check_act(raw["act"], ("case", number, "act"), faults)
    if faults:
        places = Places(text)
        raise wrong_at(path, text, [(*places.place(one.path), one.says) for one in faults])
    return document


_MORE_OF_ACT = frozenset({"answers", "to_of_purchase", "to_of_receipt"})
"""what may be told of an act beside the built-in facts"""


def _check_act(raw: Any, path: tuple[str | int, ...], faults: list[Fault]) -> None:
    own = {key.name for key in _ACT.keys}
    facts = ({name.split(".")[1] for name in FACTS if name.startswith("act.")} | _MORE_OF_ACT) - own
    meant = {name: value for name, value in raw.items() if name not in facts} if isinstance(raw, dict) else raw
    check(meant, _ACT, path, faults)


def _zone(document: Mapping[str, Any], files: Sequence[RuleFile], path: str) -> ZoneInfo:
    named = [file.zone for file in files if file.zone is not None]
    if "zone" not in document and named:
        return named[0]
    if "zone" not in document:
        says = "no rule file names a time zone; write 'zone', such as \"America/New_York\"."
        raise wrong_at(path, "", [(1, 1, says)])
    return moments.zone(document["zone"], "zone")


def _failures(
    raw: Mapping[str, Any], usual: Mapping[str, Any], files: Sequence[RuleFile], zone: ZoneInfo
) -> Iterator[str]:
    worked = _worked(raw, usual, files, zone)
    for path, wanted in _flat(raw["expect"], ()):
        name = ".".join(path)
        try:
            given = answer(path, worked)
        except Unanswered as missing:
            yield f"{name}: {missing}"
            continue
        if not same(given, wanted, zone):
            yield f"{name} is {shown(given, zone)}; expected was {shown(wanted, zone)}."


def _illustrated(
    raw: Mapping[str, Any], usual: Mapping[str, Any], files: Sequence[RuleFile], zone: ZoneInfo
) -> Iterator[str]:
    worked = _worked(raw, usual, files, zone)
    for name in raw.get("shows", ()):
        try:
            yield f"{name} is {shown(answer(tuple(name.split('.')), worked), zone)}."
        except Unanswered as missing:
            yield f"{name}: {missing}"


def _worked(raw: Mapping[str, Any], usual: Mapping[str, Any], files: Sequence[RuleFile], zone: ZoneInfo) -> Worked:
    """The case as the program weighs it. Raises: InputError, NoRuleForDay."""
    facts = _facts(raw, usual, vocabulary(files))
    for name, wanted in wrong_facts(facts, vocabulary(files)):
        raise InputError(field="facts", given=name, wanted=wanted)
    at = moment(raw.get("at", usual.get("at")), zone, "at")
    recorded = raw.get("recorded_at", usual.get("recorded_at"))
    recorded_at = moment(recorded, zone, "recorded_at") if recorded is not None else None
    happened = {**usual.get("events", {}), **raw.get("events", {})}
    for name, wanted in wrong_events(happened, files):
        raise InputError(field="events", given=name, wanted=wanted)
    events = {name: moment(value, zone, f"events.{name}") for name, value in happened.items()}
    duties = weigh(files, facts, at=at, recorded_at=recorded_at, events=events)
    begun = max(at, recorded_at or at, key=utc)
    known = {
        "purchase": begun,
        "occurred": at,
        **(dict.fromkeys(IN_PERSON, begun) if in_person(facts) else {}),
        **events,
    }
    told = raw.get("order", [])
    orders = [ordered(one, files, known, facts, zone, moment) for one in (told if isinstance(told, list) else [told])]
    day = at.astimezone(zone).date()
    worked = Worked(
        files=tuple(files),
        facts=facts,
        zone=zone,
        at=at,
        now=moment(raw["now"], zone, "now") if "now" in raw else None,
        duties=duties,
        tasks=(*duties.tasks, *tasks.of_shop(files, on=day, zone=zone, events=events, facts=facts)),
        orders=tuple(orders),
    )
    return worked._replace(act=_may(raw["act"], worked)) if "act" in raw else worked


def _may(raw: Mapping[str, Any], worked: Worked) -> str:
    """Whether the act of a case is allowed or forbidden."""
    when = moment(raw["at"], worked.zone, "act.at")
    line = worked.line(raw["item"]) if "item" in raw else None
    holds = [hold for hold in worked.duties.holds if line in (None, hold.line)]
    items = [one for number, one in enumerate(worked.facts.get("items", ()), 1) if one.get("line", number) == line]
    known = {**worked.facts, **({"item": items[0]} if items else {})}
    own = {key.name for key in _ACT.keys}
    act = Act(raw["kind"], raw.get("to", ""), {name: value for name, value in raw.items() if name not in own})
    orders = [one.state(when).order() for one in worked.orders if _is_about(one, line, worked)]
    return type(may(act, holds, orders, when, facts=known, files=worked.files)).__name__.lower()


def _is_about(order: Ordered, line: int | None, worked: Worked) -> bool:
    return not order.item or line is None or worked.line(order.item) == line


def _facts(raw: Mapping[str, Any], usual: Mapping[str, Any], known: Mapping[str, Fact]) -> Any:
    facts = _merged(usual.get("facts", {}), raw.get("facts", {}))
    for name in raw.get("without", ()):
        if name not in known:
            raise InputError(field="without", given=name, wanted="the name of a fact")
        facts = _without(facts, known[name].path)
    past = raw.get("past", usual.get("past"))
    return facts if past is None else {**facts, "past": past}


def _merged(usual: Any, own: Any) -> Any:
    """The usual facts with a case's own over them; lists are replaced whole."""
    if isinstance(usual, Mapping) and isinstance(own, Mapping):
        return {
            name: _merged(usual.get(name, {}), own[name]) if name in own else usual[name] for name in {**usual, **own}
        }
    return own


def _without(facts: Mapping[str, Any], steps: Sequence[str]) -> dict[str, Any]:
    """The facts less the one at a path; the facts handed in stay as they are."""
    first, *rest = steps
    if not rest or not isinstance(facts.get(first), Mapping):
        return {name: value for name, value in facts.items() if name != first}
    return {**facts, first: _without(facts[first], rest)}


def moment(value: Any, zone: ZoneInfo, field: str) -> datetime:
    """The moment that a case names; a day stands for its noon. Raises: InputError."""
    if isinstance(value, str):
        return moments.parse_local(value, field)
    if isinstance(value, datetime) and value.tzinfo is None:
        return value.replace(tzinfo=zone)
    if isinstance(value, date) and not isinstance(value, datetime):
        return datetime.combine(value, time(12), tzinfo=zone)
    wanted = "a day, a local date and time without offset, or text such as " + moments.LOCAL_EXAMPLE
    raise InputError(field=field, given=value, wanted=wanted)


def _flat(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _flat(inner, (*path, name))
    else:
        yield path, value
