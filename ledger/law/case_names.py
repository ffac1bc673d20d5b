"""Names that a worked case writes: facts and events of which no file knows are said to be wrong.

Decides: that a fact or an event which nothing reads is a fault of the case. A misspelt one would otherwise be as good
as not told, and a case about something that was not told may come true for the wrong reason. Leaves what the names
mean to `ledger.law.facts` and `ledger.law.clocks`.

>>> from ledger.law.facts import FACTS
>>> next(wrong_facts({"seller": {"hiar": "brown"}}, FACTS))
('seller.hiar', "the name of a fact, such as 'seller.hair'")
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from ledger.law.facts import Fact
from ledger.law.periods import PLAIN_EVENTS
from ledger.law.rules import RuleFile
from ledger.law.rules_times import MET_BY

_SUBJECTS = {"items": "item", "co_sellers": "seller"}
"""what a case writes as a list, by what a condition calls one of them"""
_BESIDE = frozenset({"item.line", "shop.calendar", "past"})
"""what may be told that no condition asks for: where an article stands, the shop's days off, earlier slips"""
_OF_RULES = ("request", "due", "end", "extended", "failed")
"""events named after a rule"""


def wrong_facts(facts: Mapping[str, Any], known: Mapping[str, Fact]) -> Iterator[tuple[str, str]]:
    """Each fact that nobody knows, and what is wanted instead. known: the built-in facts and those of the files."""
    names = frozenset(".".join(fact.path[:2]) for fact in known.values()) | _BESIDE
    subjects = frozenset(name.partition(".")[0] for name in names)
    for subject, told in facts.items():
        own = _SUBJECTS.get(subject, subject)
        if own not in subjects:
            yield subject, _wanted("a fact", subject, {*subjects, *_SUBJECTS} - {"item"})
        for one in told if isinstance(told, list) and subject != "past" else (told,):
            yield from _wrong_of(own, one, names, known) if own in subjects and isinstance(one, Mapping) else ()


def _wrong_of(
    subject: str, told: Mapping[str, Any], names: frozenset[str], known: Mapping[str, Fact]
) -> Iterator[tuple[str, str]]:
    for key in told:
        if f"{subject}.{key}" not in names and key != "answers":
            yield f"{subject}.{key}", _wanted("a fact", f"{subject}.{key}", names)
    answers = told.get("answers")
    asked = frozenset(".".join(fact.path) for fact in known.values() if fact.path[1] == "answers")
    for name in answers if isinstance(answers, Mapping) else ():
        if f"{subject}.answers.{name}" not in asked:
            yield f"{subject}.answers.{name}", _wanted("a [[question]]", f"{subject}.answers.{name}", asked)


def wrong_events(events: Iterable[str], files: Sequence[RuleFile]) -> Iterator[tuple[str, str]]:
    """Each event that no file can wait for, and what is wanted instead."""
    known = {*PLAIN_EVENTS}
    for file in files:
        known |= {f"report-{how}:{recipient.id}" for how in MET_BY for recipient in file.recipients}
        known |= {f"event:{event.id}" for event in file.declared.events}
        rules = {name for rule in file.rules for name in (rule.id, f"{file.jurisdiction}/{rule.id}")}
        known |= {f"{what}:{name}" for what in _OF_RULES for name in rules}
    for name in events:
        if name not in known:
            yield name, _wanted("an event", name, known)


def _wanted(what: str, given: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(given, sorted(known), n=1)
    return f"the name of {what}" + (f", such as '{near[0]}'" if near else "")
