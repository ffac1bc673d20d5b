"""Reaches every answer of a record of duties again, from the record alone: slow, obvious, sharing no code.

`retell(record)` looks at nothing but JSON values: the rules as they are written, the facts that were used, the days
that were skipped. It gives back, for each duty, the state and moment that it should have.
"""

from datetime import date, datetime, timedelta
from fractions import Fraction
from itertools import permutations
from typing import Any

Json = Any


def unknown(value: Json) -> bool:
    return isinstance(value, dict) and "not_known" in value


def folded(value: Json) -> Json:
    return value.casefold().strip() if isinstance(value, str) else value


def number(value: Json) -> Fraction:
    """An amount, a weight, a fineness or a plain number, whether of the facts or of the file."""
    if isinstance(value, dict):
        return Fraction(value["minor"], 100)
    return Fraction(value)


def wanted_number(fact: str, text: Json) -> Fraction:
    if not isinstance(text, str):
        return Fraction(text)
    if text.endswith(" karat"):
        return Fraction(text.removesuffix(" karat")) * 1_000_000 / 24
    if text.endswith(" g"):
        return Fraction(text.removesuffix(" g")) * 1000
    return Fraction(text) * (1000 if fact.endswith("fineness") else 1)


ORDER: dict[str, Any] = {
    "at_least": lambda a, b: a >= b,
    "above": lambda a, b: a > b,
    "at_most": lambda a, b: a <= b,
    "below": lambda a, b: a < b,
}


def holds(condition: Json, inputs: Json) -> bool | None:
    """Whether a condition of the file holds for the facts that were used; None if that cannot be told."""
    if "all" in condition:
        return all_of([lambda part=part: holds(part, inputs) for part in condition["all"]])
    if "any" in condition:
        return not_(all_of([lambda part=part: not_(holds(part, inputs)) for part in condition["any"]]))
    if "not" in condition:
        return not_(holds(condition["not"], inputs))
    fact = condition["fact"]
    value = inputs[fact]
    if "known" in condition:
        return unknown(value) is not condition["known"]
    for op in ("same_as", "differs_from"):
        if op in condition:
            other = inputs[condition[op]]
            return None if unknown(value) or unknown(other) else (folded(value) == folded(other)) is (op == "same_as")
    if unknown(value):
        return None
    ((op, wanted),) = [(op, wanted) for op, wanted in condition.items() if op not in ("fact", "share_of")]
    if "share_of" in condition:
        whole = inputs[condition["share_of"]]
        percent = Fraction(wanted.removesuffix("%").strip()) / 100
        return None if unknown(whole) else bool(ORDER[op](number(value), number(whole) * percent))
    if op == "empty":
        return (len(value) == 0) is wanted
    if op == "has":
        return folded(wanted) in map(folded, value)
    if op in ("in", "not_in"):
        return (folded(value) in map(folded, wanted)) is (op == "in")
    if op in ORDER and fact in ("slip.clock", "slip.day", "seller.birth_date"):
        return bool(ORDER[op](value, wanted))  # texts of one form sort like what they mean
    if op in ORDER:
        return bool(ORDER[op](number(value), wanted_number(fact, wanted)))
    return (folded(value) == folded(wanted)) is (op == "is")


def not_(answer: bool | None) -> bool | None:
    return None if answer is None else not answer


def all_of(parts: list[Any]) -> bool | None:
    """As people read a list of conditions: the first that fails settles it, and the rest is not looked at."""
    answer: bool | None = True
    for part in parts:
        found = part()
        if found is False:
            return False
        answer = None if found is None else answer
    return answer


def applies(terms: Json, inputs: Json) -> tuple[bool | None, bool]:
    """Whether a rule applies, and whether its own exception is undecided."""
    when = all_of([lambda one=one: holds(one, inputs) for one in terms.get("when", ())])
    if when is False:
        return False, False
    freed = not_(all_of([lambda one=one: not_(holds(one, inputs)) for one in terms.get("unless", ())]))
    if freed is True:
        return False, False
    return when, freed is None


# What each kind of rule says


def ask(terms: Json, trace: Json) -> str:
    missing = unclear = False
    for field in terms["fields"]:
        state = trace["fields"][field["fact"]]
        if field.get("need", "must") != "must" or state == "there":
            continue
        if isinstance(state, dict):
            first, finger = field["prefer"][0], state.get("finger")
            unclear |= not (finger == first or (finger in field["prefer"] and "reason" in state))
        elif state.endswith("was not stated"):
            missing = True
        else:
            unclear |= not field.get("reason_allowed", False)
    return "broken" if missing else "undecided" if unclear else "met"


FLAGS = ("government", "photo", "descriptive", "current")


def fits(need: Json, document: Json) -> bool | None:
    answers: list[bool | None] = [
        document[flag] is need[flag] if flag in document else None for flag in FLAGS if flag in need
    ]
    if "types" in need:
        answers.append(document["type"] in need["types"] if "type" in document else None)
    return False if False in answers else None if None in answers else True


def best(answers: list[bool | None]) -> bool | None:
    return True if True in answers else None if None in answers else False


def documents(terms: Json, trace: Json) -> str:
    held = trace["documents"]
    if unknown(held):
        held_list: list[Json] = []
    else:
        held_list = held
    ways = []
    for way in terms["any_of"]:
        needs = way.get("documents", [])
        answers = [
            best(
                [
                    all_of(
                        [lambda need=need, one=one: fits(need, one) for need, one in zip(needs, chosen, strict=True)]
                    )
                    for chosen in permutations(held_list, len(needs))
                ]
            )
        ]
        if way.get("personally_known"):
            known = trace["personally_known"]
            answers.append(None if unknown(known) else known)
        for fact in way.get("fields", ()):
            state = trace["fields"][fact]
            answers.append(True if state == "there" else False if state.endswith("was not stated") else None)
        ways.append(False if False in answers else None if None in answers else True)
    always = [best([fits(need, one) for one in held_list]) for need in terms.get("always", ())]
    together = [best(ways), *always]
    answer = False if False in together else None if None in together else True
    if answer is True:
        return "met"
    if unknown(held):
        return "broken" if held["not_known"].endswith("was not stated") else "undecided"
    return "undecided" if answer is None else "broken"


def declare(terms: Json, trace: Json) -> str:
    if "declaration" not in trace:
        return "undecided"
    said = " ".join(trace["declaration"].split())
    words = [terms["words"], *(one["words"] for one in terms.get("also", ()))]
    if not any(" ".join(one.split()) in said for one in words):
        return "broken"
    if not terms.get("sworn"):
        return "met"
    return "undecided" if unknown(trace["sworn"]) else "met" if trace["sworn"] else "broken"


def form(terms: Json, trace: Json) -> str:
    if "medium" in terms:
        if unknown(trace["medium"]):
            return "undecided"
        if trace["medium"] not in terms["medium"]:
            return "broken"
    for signer in terms.get("signed_by", ()):
        signed = trace["signed"][signer]
        if signed is not True:
            return "undecided" if unknown(signed) else "broken"
    return "met"


def pay(terms: Json, trace: Json) -> str:
    for key, fact in (("instruments", "instrument"), ("payee", "payee_kind"), ("delivery", "delivery")):
        if key in terms:
            if unknown(trace[fact]):
                return "undecided"
            if trace[fact] not in terms[key]:
                return "broken"
    ceilings = terms.get("ceilings", [])
    if ceilings and unknown(trace["instrument"]):
        return "undecided"
    windows = iter(trace.get("windows", ()))
    for ceiling in ceilings:
        windowed = "window" in ceiling or "period" in ceiling
        earlier = next(windows)["earlier"] if windowed else None
        paid = None
        if ceiling["instrument"] == "cash" and "cash_part" in trace:
            paid = trace["cash_part"]
        elif ceiling["instrument"] == trace["instrument"]:
            paid = trace["total"]
        if paid is None:
            continue
        if unknown(paid):
            return "undecided"
        most = Fraction(ceiling["amount"])
        before = Fraction(0) if earlier is None or unknown(earlier) else number(earlier)
        total = number(paid) + before
        if total > most or (total == most and not ceiling.get("inclusive", True)):
            return "broken"
        if unknown(earlier):
            return "undecided"
    return "ahead" if {"not_before", "not_after"} & set(terms) else "met"


def limit(terms: Json, trace: Json) -> str:
    if terms["must_not"] != "ask":
        return "ahead"
    return "broken" if trace["there"] else "met"


def retold_state(kind: str, terms: Json, trace: Json) -> str:
    """The state of a duty, from its rule as written and its trace."""
    answer, _ = applies(terms, trace["inputs"])
    assert answer is not False or kind == "refuse"
    if kind == "refuse":
        return {True: "broken", False: "met", None: "undecided"}[answer]
    state = {"pay": pay, "limit": limit, "form": form}.get(kind, lambda terms, trace: "ahead")(terms, trace)
    if kind == "hold":
        shorter = [
            all_of([lambda one=one: holds(one, trace["shorter_inputs"]) for one in way["when"]])
            for way in terms.get("shorter", ())
        ]
        state = "undecided" if None in shorter else "ahead"
    if kind == "ask":
        state = (declare if "words" in terms else documents if "any_of" in terms else ask)(terms, trace)
    if answer is None:
        return "met" if state == "met" else "undecided"
    return state


# When


def midnight(day: date, zone_of: datetime) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone_of.tzinfo)


def last_day(span: Json, start: date, skipped: set[str]) -> date:
    """The last day of a period of days, months or years, counted on the fingers."""
    days = span["length"] - (1 if span["first_day_counts"] else 0)
    if span["unit"] == "days":
        return start + timedelta(days=days)
    assert span["unit"] == "working-days"
    day = start - timedelta(days=1) if span["first_day_counts"] else start
    left = span["length"]
    while left:
        day += timedelta(days=1)
        left -= day.isoformat() not in skipped
    return day


def check_counting(counted: Json) -> None:
    """Counts a period of days again from its trace."""
    if counted.get("unit") not in ("days", "working-days"):
        return
    start = date.fromisoformat(counted["start"][:10])
    for end in (counted["plain"], *counted.get("other_readings", ())):
        skipped = {one["day"] for one in end["skipped"]}
        day = last_day(counted, start, skipped)
        while day.isoformat() in skipped:
            day += timedelta(days=1)
        assert day.isoformat() == end["last_day"], counted
        assert end["moment"][:10] == (day + timedelta(days=1)).isoformat(), counted


def moments_in(trace: Json) -> list[datetime]:
    """Every end that a trace works out, over all readings."""
    if isinstance(trace, list):
        return [moment for one in trace for moment in moments_in(one)]
    if not isinstance(trace, dict):
        return []
    own = [datetime.fromisoformat(trace[key]) for key in ("moment", "due") if isinstance(trace.get(key), str)]
    return own + [moment for value in trace.values() for moment in moments_in(value)]


def retold_until(kind: str, trace: Json) -> datetime | None:
    """The moment of a duty that has a clock: of a hold the latest end, of a report the earliest."""
    part = trace.get("at_least", trace.get("at_most", trace)) if kind == "retain" else trace
    if kind == "retain" and "at_least" not in trace:
        return min(moments_in(trace["at_most"]), default=None) if "at_most" in trace else None
    ends = moments_in({key: value for key, value in part.items() if key != "inputs"})
    if not ends or "waiting_for" in part:
        return None
    return min(ends) if kind == "report" else max(ends)


def retell(record: Json) -> None:
    """Asserts that each answer of a record follows from the record alone."""
    rules = {(one["digest"], one["rule"]): one["terms"] for one in record["rules"]}
    for scope in record["scopes"]:
        answer, open_exception = applies(rules[scope["digest"], scope["rule"]], scope["inputs"])
        assert scope["applies"] is (None if answer and open_exception else answer), scope
    for duty in record["duties"]:
        trace, terms = duty["trace"], rules[duty["digest"], duty["rule"]]
        assert duty["outcome"] == retold_state(duty["kind"], terms, trace), duty
        for span in (trace, *trace.get("readings", ()), *(trace.get(key, {}) for key in ("not_before", "at_least"))):
            if "plain" in span:
                check_counting(span)
        if duty["kind"] in ("hold", "report", "retain") and duty["outcome"] == "ahead":
            until = retold_until(duty["kind"], trace)
            told = duty.get("until")
            assert (until is None) is (told is None), duty
            if until is not None:
                assert datetime.fromisoformat(told.partition("[")[0]) == until, duty
        assert not exempted(duty, record["scopes"], rules), duty
    for hold in record["holds"]:
        check_counting(hold["trace"]) if "plain" in hold["trace"] else None


def exempted(duty: Json, scopes: Json, rules: Json) -> bool:
    """Whether the scopes of its own file take a duty away."""

    def of(kind: str, about: str) -> list[bool | None]:
        return [
            one["applies"]
            for one in scopes
            if one["digest"] == duty["digest"] and one["kind"] == kind and one["about"] == about
            and duty["rule"] in rules[one["digest"], one["rule"]].get("rules", [duty["rule"]])
        ]  # fmt: skip

    abouts = {one["about"] for one in scopes if one["digest"] == duty["digest"]}
    items = sorted(about for about in abouts if about.startswith("item/"))
    sellers = sorted(abouts - set(items) - {"slip"})
    own = duty["about"]
    ways = [["slip"], [own], [] if own in sellers else sellers, [] if own in items else items]
    if any(way and all(True in of("exempt", about) for about in way) for way in ways):
        return True
    here = [own] if own in items else items
    wide = [*sellers, "slip"]
    covers = [answer for about in [*wide, *here] for answer in of("cover", about)]
    return bool(covers) and not (True in covers or None in covers)
