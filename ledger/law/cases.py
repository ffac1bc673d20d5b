"""Worked cases beside a rule file: facts in, expected answers out, for people who know law and not programming.

Decides: how a case is written, what an expectation looks at, and whether it came true. Leaves to the caller which
files govern (a case file may name further layers in `layers`) and the reading of files from disk. A case that
fails is a sentence, not an error; only a case file that cannot be read is one.

Keys of `expect`, each after the name of an article or `item-N`, a recipient, a class or a rule:
`ring.melt.plain`, `ring.melt.cautious`, `report.sheriff.due`, `retain.seller.at_least`, `pay.cash`,
`duty.minimum-age`, `refused`, `no_rule`. A day stands for its first moment; "free" for no hold, "waits" for a hold
whose clock has not started.
"""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, NoRuleForDay, RuleFileWrong
from ledger.law.answers import Duty
from ledger.law.counting import utc
from ledger.law.duties import Duties, weigh
from ledger.law.facts import FACTS
from ledger.law.holds import Hold, leave, renewed
from ledger.law.locating import Places
from ledger.law.rules import ACTS, RuleFile
from ledger.law.shapes import Anything, Fault, Key, ListOf, Table, Text, check
from ledger.measures import Money

FORMAT = "cases/0"
_MOMENT = Anything("a day, a local date and time, or text with zone")
_COMMON = (
    Key("at", _MOMENT, "when the purchase happens"),
    Key("recorded_at", _MOMENT, "when it is recorded, if later"),
    Key("facts", Anything("a table of facts"), "facts by name"),
)
_CASE = Table(
    "[[case]]",
    (
        Key("name", Text("a sentence in quotes", longest=300), "what the case shows", need=True),
        Key("source", Text("the citation in quotes", longest=300), "where the expected answer comes from", need=True),
        *_COMMON,
        Key("without", ListOf(Text("the name of a fact")), "usual facts that nobody stated here"),
        Key("events", Anything("a table of events"), "reports made, sent or received, each with its moment"),
        Key("expect", Anything("a table of answers"), "what must come out", need=True),
    ),
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


class _Answer(Exception):
    """An expectation asks for something that there is not."""


def layers(cases: bytes, path: str = "the case file") -> tuple[str, ...]:
    """Names of further rule files that the cases want, beside their own. Raises: RuleFileWrong."""
    return tuple(_read(cases, path).get("layers", ()))


def run(cases: bytes, files: Sequence[RuleFile], path: str = "the case file") -> tuple[str, ...]:
    """One sentence for each expectation that does not come true; none if all do.

    files: all layers that govern. Raises: RuleFileWrong if the case file itself cannot be used.
    """
    document = _read(cases, path)
    zone = _zone(document, files, path)
    failures: list[str] = []
    for raw in document["case"]:
        try:
            found = list(_failures(raw, document.get("usual", {}), files, zone))
        except (InputError, NoRuleForDay) as wrong:
            found = [] if raw["expect"] == {"no_rule": True} and isinstance(wrong, NoRuleForDay) else [str(wrong)]
        failures += [f"{path}: '{raw['name']}' ({raw['source']}): {says}" for says in found]
    return tuple(failures)


def _read(cases: bytes, path: str) -> dict[str, Any]:
    try:
        text = cases.decode("utf-8")
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as wrong:
        raise RuleFileWrong(path=path, faults=(f"it cannot be read ({wrong}); correct it.",)) from None
    faults: list[Fault] = []
    check(document, CASES, (), faults)
    if faults:
        places = Places(text)
        said = sorted((places.line(one.path), one.says) for one in faults)
        raise RuleFileWrong(path=path, faults=tuple(f"line {line}: {says}" for line, says in said))
    return document


def _zone(document: Mapping[str, Any], files: Sequence[RuleFile], path: str) -> ZoneInfo:
    named = [file.zone for file in files if file.zone is not None]
    if "zone" not in document and named:
        return named[0]
    if "zone" not in document:
        says = "line 1: no rule file names a time zone; write 'zone', such as \"America/New_York\"."
        raise RuleFileWrong(path=path, faults=(says,))
    return moments.zone(document["zone"], "zone")


def _failures(
    raw: Mapping[str, Any], usual: Mapping[str, Any], files: Sequence[RuleFile], zone: ZoneInfo
) -> Iterator[str]:
    facts = _merged(usual.get("facts", {}), raw.get("facts", {}))
    for name in raw.get("without", ()):
        if name not in FACTS:
            raise InputError(field="without", given=name, wanted="the name of a fact")
        facts = _without(facts, FACTS[name].path)
    at = _moment(raw.get("at", usual.get("at")), zone, "at")
    recorded = raw.get("recorded_at", usual.get("recorded_at"))
    recorded_at = _moment(recorded, zone, "recorded_at") if recorded is not None else None
    duties = weigh(files, facts, at=at, recorded_at=recorded_at)
    events = {"purchase": max(at, recorded_at or at, key=utc)}
    events |= {name: _moment(value, zone, f"events.{name}") for name, value in raw.get("events", {}).items()}
    by_digest = {file.digest: file for file in files}
    holds = []
    for hold in duties.holds:
        file = by_digest[hold.digest]
        holds.append(renewed(hold, file, events, file.zone or zone))
    for path, wanted in _flat(raw["expect"], ()):
        name = ".".join(path)
        try:
            given = _answer(path, duties, holds, facts, zone)
        except _Answer as missing:
            yield f"{name}: {missing}"
            continue
        if not _same(given, wanted, zone):
            yield f"{name} is {_shown(given, zone)}; expected was {_shown(wanted, zone)}."


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


def _moment(value: Any, zone: ZoneInfo, field: str) -> datetime:
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


def _answer(
    path: tuple[str, ...], duties: Duties, holds: Sequence[Hold], facts: Mapping[str, Any], zone: ZoneInfo
) -> Any:
    """What the duties say to one key of an expectation."""
    match path:
        case ("refused",):
            return duties.refusal is not None
        case ("stale",):
            return bool(duties.stale)
        case ("duty", rule, *about):
            return _state(duties.duties, rule, "/".join(about[0].split("-", 1)) if about else "")
        case ("pay", "not_before"):
            return duties.pay.not_before_cautious
        case ("pay", "not_before_plain"):
            return duties.pay.not_before_plain
        case ("pay", instrument):
            total = FACTS["slip.total"].read(facts)
            if not isinstance(total, Money):
                raise _Answer("the case does not state slip.total.")
            return duties.pay.allows(instrument, total, duties.at) is None
        case ("report", recipient, *rule, "due" | "due_plain" as which):
            found = [one for one in duties.reports if one.recipient == recipient and one.rule in (rule or [one.rule])]
            if len(found) != 1:
                raise _Answer(f"{len(found)} reports go to {recipient}; name the rule: report.{recipient}.RULE.due.")
            return getattr(found[0], which)
        case ("retain", cls, "at_least" | "at_most" as which):
            kept = [one for one in duties.retention if one.cls == cls]
            return getattr(kept[0], which) if kept else None
        case (item, act, "plain" | "cautious" as which) if act in ACTS:
            return _leave(_line(item, facts), act, which, holds)
        case _:
            raise _Answer("this is not something that can be expected; the module's page lists the keys.")


def _state(duties: Sequence[Duty], rule: str, about: str) -> str:
    states = {one.state for one in duties if one.rule == rule and about in ("", one.about)}
    return ", ".join(sorted(states)) or "none"


def _line(item: str, facts: Mapping[str, Any]) -> int:
    for number, one in enumerate(facts.get("items", ()), 1):
        line = int(one.get("line", number))
        if item == f"item-{line}" or item == one.get("article"):
            return line
    raise _Answer(f"no item is called '{item}'.")


def _leave(line: int, act: str, which: str, holds: Sequence[Hold]) -> Any:
    held = [hold for hold in holds if hold.line == line and act in hold.forbids]
    if not held:
        return "free"
    return getattr(leave(held, acts=(act,)), which) or "waits"


def _same(given: Any, wanted: Any, zone: ZoneInfo) -> bool:
    if isinstance(given, datetime) and isinstance(wanted, date | str):
        return _shown(given, zone) == _shown(wanted, zone)
    return bool(given == wanted)


def _shown(value: Any, zone: ZoneInfo) -> str:
    """An answer as both sides are compared and shown: local wall time with its offset where it is a moment."""
    if isinstance(value, str) and "[" in value:
        value = moments.parse_local(value, "expect")
    elif isinstance(value, date) and not isinstance(value, datetime):
        value = datetime.combine(value, time(0), tzinfo=zone)
    elif isinstance(value, datetime) and value.tzinfo is None:
        value = value.replace(tzinfo=zone)
    return value.astimezone(zone).isoformat() if isinstance(value, datetime) else str(value)
