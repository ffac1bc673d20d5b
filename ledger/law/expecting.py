"""What a key of a worked case looks at, and how answers are compared.

Decides: the keys that a case may expect (`KEYS` lists them with their meaning), what each reads, and that a key
which reads a thing that is not there says so in a sentence. Leaves to `ledger.law.cases` how a case is written and
to `ledger.law.duties` what comes out.

A day stands for its first moment; "free" for an act that no hold forbids, "waits" for a clock that has not started.
"""

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.law.answers import Duty
from ledger.law.answers_times import TaskDuty
from ledger.law.case_orders import Ordered
from ledger.law.counting import utc
from ledger.law.duties import Duties
from ledger.law.facts import DELIVERIES, FACTS, INSTRUMENTS, PAYEE_KINDS, Fact
from ledger.law.holds import Act, Forbidden, leave, may
from ledger.law.rules import ACTS, CLASSES, MUST_NOTS, RuleFile
from ledger.measures import Money

KEYS: Mapping[str, str] = {
    "ARTICLE.ACT.plain, .cautious, .earliest": "from when the act may be done with the article, by the rule as"
    ' written, by the latest reading, by the earliest; "free" if nothing forbids it, "waits" if the clock of a hold'
    " has not started",
    "ARTICLE.ACT.RULE.plain": "the same for one hold alone",
    "ARTICLE.ACT.to.PLACE.plain": "the same for the act to that place",
    "covered.ARTICLE": "true if any rule of the files speaks about the article",
    "act": '"allowed" or "forbidden": the act that the case names',
    "report.RECIPIENT.due, .due_plain": "by when the report to that recipient is due, by the earliest reading and as"
    " written; with several reports to one recipient, report.RECIPIENT.RULE.due",
    "report.RECIPIENT": '"owed" or "none"',
    "report.RECIPIENT.late": "true if it is late at `now`",
    "task.RULE, task.RULE.due, .due_plain": '"owed" or "none", and by when that is to be done; "waits" if its clock has'
    " not started; task.RULE.ARTICLE.due where it is to be done for each article",
    "order.ends.plain, .cautious": 'first moment at which the order of the case no longer holds; "open" without an'
    ' end, "waits" if its clock has not started; order.RULE.ends.plain where the case has several',
    "order.lapses, order.notice_due": "when a spoken order ends of itself; by when the dealer must write",
    "reports": "how many reports the purchase makes due",
    "pay.INSTRUMENT": "true if the seller may be paid so, now and this amount",
    "pay.not_before, .not_after, each also _plain": "from when and by when may be paid",
    "pay.payee.WORD, pay.delivery.WORD": "true if that payee may be paid, or so",
    "retain.CLASS.at_least, .at_least_plain, .at_most": "until when data of the class are kept, by when destroyed;"
    " retain.CLASS.premises.at_least for what is kept there",
    "duty.RULE, duty.RULE.ABOUT": '"met", "broken", "undecided", "ahead" (nothing to do yet) or "none"; ABOUT is'
    " seller, slip, party-2, item-1",
    "asks.FACT": '"must", "if-known" or "none"',
    "must_not.ask.FACT, .keep, .copy, .show": "true if a rule forbids that",
    "copies.RULE": "how many copies a form or report has",
    "refused": "true if nothing may be bought",
    "may_record": "the list of what a refusal may record",
    "exempt.RULE": "true if that exemption of a file takes effect",
    "displaced.RULE": "true if another rule displaces that one",
    "contradictions": "how many pairs of answers cannot stand together",
    "stale": "true if a file says that nobody checked it for the day",
    "no_rule": "true, alone: a file does not answer for the day",
}
"""Keys of `expect`, and what each means."""


class Unanswered(Exception):
    """An expectation asks for something that there is not; the sentence says what there is."""


class Worked(NamedTuple):
    """A case as the program weighed it."""

    files: tuple[RuleFile, ...]
    facts: Mapping[str, Any]
    zone: ZoneInfo
    at: datetime
    now: datetime | None
    """the moment of asking, where the case names one"""
    duties: Duties
    tasks: tuple[TaskDuty, ...]
    """those of the purchase and those of the shop"""
    orders: tuple[Ordered, ...] = ()
    act: str = ""
    """allowed or forbidden; empty where the case names no act"""

    def line(self, article: str) -> int:
        """The line of an article, by its name or as item-1. Raises: Unanswered."""
        names = []
        for number, one in enumerate(self.facts.get("items", ()), 1):
            line = int(one.get("line", number))
            if article == f"item-{line}" or article == one.get("article"):
                return line
            names.append(str(one.get("article", f"item-{line}")))
        raise _nothing("item", article, names)

    def vocabulary(self) -> Mapping[str, Fact]:
        """The facts that the files know, their own among them."""
        return vocabulary(self.files)

    def rule(self, rule: str) -> str:
        """A rule's id. Raises: Unanswered if no file has it."""
        known = {one.id for file in self.files for one in file.rules}
        if rule not in known:
            raise _nothing("rule", rule, known)
        return rule


def vocabulary(files: Sequence[RuleFile]) -> Mapping[str, Fact]:
    """The built-in facts and those that the files declare."""
    return {name: fact for file in files for name, fact in file.declared.vocabulary.items()} or FACTS


def answer(path: tuple[str, ...], worked: Worked) -> Any:
    """What the duties say to one key of an expectation. Raises: Unanswered with a sentence."""
    first, *rest = path
    known = _ANSWERS.get(first)
    if known is not None:
        return known(rest, worked)
    if len(rest) >= 2 and rest[-1] in ("plain", "cautious", "earliest") and rest[0] in ACTS:
        return _leaves(worked.line(first), rest, worked)
    raise _no_key(first)


def _no_key(first: str) -> Unanswered:
    near = difflib.get_close_matches(first, [*_ANSWERS, *ACTS], n=1)
    hint = f"is '{near[0]}' meant? The" if near else "the"
    return Unanswered(f"this is not something that can be expected; {hint} reference lists the keys.")


def _nothing(what: str, given: str, known: Iterable[str]) -> Unanswered:
    listed = ", ".join(sorted(set(known)))
    return Unanswered(f"no {what} is called '{given}'; there {f'is {listed}' if listed else 'is none'}.")


def _one(rest: Sequence[str], known: Iterable[str], what: str) -> str:
    """The only step behind a key's first word. Raises: Unanswered where it is none of the known."""
    name = ".".join(rest)
    if name not in set(known):
        raise _nothing(what, name, known)
    return name


# The keys, by their first word


def _refused(rest: Sequence[str], worked: Worked) -> bool:
    return worked.duties.refusal is not None


def _may_record(rest: Sequence[str], worked: Worked) -> list[str]:
    if worked.duties.refusal is None:
        raise Unanswered("nothing is refused here, so nothing is recorded of a refusal.")
    return sorted(worked.duties.refusal.may_record)


def _act(rest: Sequence[str], worked: Worked) -> str:
    if not worked.act:
        raise Unanswered("the case names no act; write act = { kind = ..., at = ... }.")
    return worked.act


def _covered(rest: Sequence[str], worked: Worked) -> bool:
    return bool(worked.duties.about(f"item/{worked.line('.'.join(rest))}"))


def _duty(rest: Sequence[str], worked: Worked) -> str:
    rule, *about = rest or ("",)
    worked.rule(rule)
    return _state(worked.duties.duties, rule, "/".join(about[0].split("-", 1)) if about else "")


def _state(duties: Sequence[Duty], rule: str, about: str) -> str:
    states = {one.state for one in duties if one.rule == rule and about in ("", one.about)}
    return ", ".join(sorted(states)) or "none"


def _exempt(rest: Sequence[str], worked: Worked) -> bool:
    rule = worked.rule(".".join(rest))
    return any(one.rule == rule for one in worked.duties.exemptions)


def _asks(rest: Sequence[str], worked: Worked) -> str:
    fact = _one(rest, worked.vocabulary(), "fact")
    needs = {one.need for one in worked.duties.asks if one.fact == fact}
    return "must" if "must" in needs else "if-known" if needs else "none"


def _must_not(rest: Sequence[str], worked: Worked) -> bool:
    what, *name = rest or ("",)
    _one((what,), MUST_NOTS, "limit")
    fact = _one(name, worked.vocabulary(), "fact")
    return any(one.must_not == what and one.fact == fact for one in worked.duties.limits)


def _copies(rest: Sequence[str], worked: Worked) -> int:
    rule = worked.rule(".".join(rest))
    copies = {one.rule: one.copies for one in worked.duties.reports}
    copies |= {one.rule: len(one.copies) for one in worked.duties.forms}
    if rule not in copies:
        raise Unanswered(f"'{rule}' makes no form and no report here.")
    return copies[rule]


def _displaced(rest: Sequence[str], worked: Worked) -> bool:
    rule = worked.rule(".".join(rest))
    return any(one.rule == rule for one in worked.duties.displaced)


def _pay(rest: Sequence[str], worked: Worked) -> Any:
    paid = worked.duties.pay
    what, *more = rest or ("",)
    if what in ("payee", "delivery"):
        word = _one(more, PAYEE_KINDS if what == "payee" else DELIVERIES, what)
        allowed = paid.payees if what == "payee" else paid.deliveries
        return allowed is None or word in allowed
    if what in _PAID_WHEN:
        waits = what.startswith("not_before") and paid.waiting_for is not None
        return "waits" if waits else getattr(paid, _PAID_WHEN[what]) or "free"
    instrument = _one(rest, INSTRUMENTS, "way of paying")
    total = FACTS["slip.total"].read(worked.facts)
    if not isinstance(total, Money):
        raise Unanswered("the case does not state slip.total.")
    return paid.allows(instrument, total, worked.now or worked.at) is None


_PAID_WHEN = {
    "not_before": "not_before_cautious",
    "not_before_plain": "not_before_plain",
    "not_after": "not_after_cautious",
    "not_after_plain": "not_after_plain",
}


def _reports(rest: Sequence[str], worked: Worked) -> int:
    return len(worked.duties.reports)


def _report(rest: Sequence[str], worked: Worked) -> Any:
    steps = list(rest)
    asked = steps.pop() if steps and steps[-1] in ("due", "due_plain", "late") else ""
    recipient, rule = (*steps, "", "")[:2]
    known = [one.id for file in worked.files for one in file.recipients]
    if recipient not in known:
        raise _nothing("recipient", recipient, known)
    found = [one for one in worked.duties.reports if one.recipient == recipient and rule in ("", one.rule)]
    if not asked:
        return "owed" if found else "none"
    if not found:
        raise Unanswered(f"no such report goes to {recipient} here.")
    if len(found) > 1:
        named = ", ".join(one.rule for one in found)
        says = f"{len(found)} reports go to {recipient} ({named}); name the rule: report.{recipient}.RULE.{asked}."
        raise Unanswered(says)
    return utc(worked.now or worked.at) > utc(found[0].due) if asked == "late" else getattr(found[0], asked)


def _task(rest: Sequence[str], worked: Worked) -> Any:
    steps = list(rest)
    asked = steps.pop() if steps and steps[-1] in ("due", "due_plain") else ""
    rule, about = (*steps, "", "")[:2]
    worked.rule(rule)
    if about not in ("", "slip", "shop"):
        about = f"item-{worked.line(about)}"
    found = [one for one in worked.tasks if one.rule == rule and about in ("", one.about.replace("/", "-"))]
    if not asked or not found:
        return "owed" if found else "none"
    ends = [end for one in found if (end := getattr(one, asked)) is not None]
    return min(ends, key=utc) if ends else "waits"


def _order(rest: Sequence[str], worked: Worked) -> Any:
    named = rest[:1] if rest and rest[0] not in ("ends", "lapses", "notice_due") else ()
    what = ".".join(rest[len(named) :])
    found = [one for one in worked.orders if not named or one.rule == named[0]]
    if len(found) != 1:
        raise _nothing("single order of the case", ".".join(named), (one.rule for one in worked.orders))
    if what == "notice_due":
        return found[0].untold.notice_due or "none"
    state = found[0].state(worked.now)
    known = {"ends.plain": state.plain, "ends.cautious": state.cautious, "lapses": state.lapses_at}
    end = known[_one((what,), known, "answer of an order")]
    return end or ("none" if what == "lapses" else "open" if state.open_ended else "waits")


def _retain(rest: Sequence[str], worked: Worked) -> Any:
    cls, *more = rest or ("",)
    _one((cls,), CLASSES, "class")
    asked = _one(more[-1:], ("at_least", "at_least_plain", "at_most"), "bound")
    place = _one(more[:-1], ("premises", "anywhere"), "place") if more[:-1] else ""
    kept = [one for one in worked.duties.retention if one.cls == cls and place in ("", one.place)]
    ends = [end for one in kept if (end := getattr(one, asked)) is not None]
    if ends:
        return min(ends, key=utc) if asked == "at_most" else max(ends, key=utc)
    return "waits" if any(one.waiting_for for one in kept) else "free"


def _leaves(line: int, rest: Sequence[str], worked: Worked) -> Any:
    kind, *more = rest
    which = more.pop()
    held = [hold for hold in worked.duties.holds if hold.line == line and kind in hold.forbids]
    if more[:1] == ["to"]:
        act = Act(kind, ".".join(more[1:]))
        held = [hold for hold in held if isinstance(may(act, [hold], (), worked.duties.at), Forbidden)]
    elif more:
        rule = worked.rule(".".join(more))
        held = [hold for hold in held if hold.rule == rule]
    if not held:
        return "free"
    if which == "earliest":
        ends = [hold.earliest or hold.plain for hold in held]
        return "waits" if None in ends else max((end for end in ends if end), key=utc)
    return getattr(leave(held, acts=(kind,)), which) or "waits"


_ANSWERS: Mapping[str, Callable[[Sequence[str], Worked], Any]] = {
    "refused": _refused,
    "may_record": _may_record,
    "act": _act,
    "covered": _covered,
    "duty": _duty,
    "exempt": _exempt,
    "displaced": _displaced,
    "task": _task,
    "order": _order,
    "asks": _asks,
    "must_not": _must_not,
    "copies": _copies,
    "pay": _pay,
    "reports": _reports,
    "report": _report,
    "retain": _retain,
    "contradictions": lambda rest, worked: len(worked.duties.contradictions),
    "stale": lambda rest, worked: bool(worked.duties.stale),
}


def same(given: Any, wanted: Any, zone: ZoneInfo) -> bool:
    """Whether an answer is the one expected; moments by their instant, lists in any order."""
    if isinstance(given, datetime) and isinstance(wanted, date | str):
        return shown(given, zone) == shown(wanted, zone)
    if isinstance(given, list) and isinstance(wanted, list):
        return sorted(map(str, given)) == sorted(map(str, wanted))
    return type(given) is type(wanted) and bool(given == wanted)


def shown(value: Any, zone: ZoneInfo) -> str:
    """An answer as both sides are compared and shown: local wall time with its offset where it is a moment."""
    if isinstance(value, str) and "[" in value:
        value = moments.parse_local(value, "expect")
    elif isinstance(value, date) and not isinstance(value, datetime):
        value = datetime.combine(value, time(0), tzinfo=zone)
    elif isinstance(value, datetime) and value.tzinfo is None:
        value = value.replace(tzinfo=zone)
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.astimezone(zone).isoformat() if isinstance(value, datetime) else str(value)
