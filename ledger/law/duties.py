"""What the rule files ask of one purchase, at one moment.

Decides: which rules of which files apply to the slip, the seller and each item, and how the answers of all layers
combine: asked is the union, must beats if-known; instruments are what every layer allows; ceilings the lowest;
holds and retention each stand, the latest governs; reports are owed to each recipient. No layer is merged into
another: each duty keeps its file, section and trace. Leaves to whoever calls: which files govern the shop, what
the facts are, and what to do about a duty that is broken or undecided.

    files = [files.read(data, path) for data, path in adopted]
    found = weigh(files, facts, at=slip.occurred_at, recorded_at=now)
    found.stopping()      # broken duties that stop the purchase
    found.undecided()     # those that a person must answer first
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Self

from ledger import moments
from ledger.errors import InputError
from ledger.law import combining, displacing, telling, timing
from ledger.law.answers import (
    Ahead,
    AskField,
    DeclarationWords,
    Displaced,
    Duty,
    Exemption,
    FormAnswer,
    Limit,
    PayAnswer,
    QuestionAsked,
    Refusal,
    ScopeAnswer,
)
from ledger.law.answers_times import ReportDuty, Retention, TaskDuty
from ledger.law.contradicting import contradictions, is_elsewhere
from ledger.law.counting import utc
from ledger.law.facts import AT_SIGNING
from ledger.law.found import Found
from ledger.law.holds import Hold, Leave, leave
from ledger.law.layers import Layer
from ledger.law.rules import (
    EFFECTS,
    LAYERS,
    RuleFile,
)
from ledger.law.tallies import Reckoned


@dataclass(frozen=True)
class Duties:
    """All that the rule files ask of one purchase at one moment."""

    at: datetime
    duties: tuple[Duty, ...]
    holds: tuple[Hold, ...]
    reports: tuple[ReportDuty, ...]
    tasks: tuple[TaskDuty, ...]
    asks: tuple[AskField, ...]
    declarations: tuple[DeclarationWords, ...]
    pay: PayAnswer
    retention: tuple[Retention, ...]
    refusal: Refusal | None
    limits: tuple[Limit, ...]
    exemptions: tuple[Exemption, ...]
    displaced: tuple[Displaced, ...]
    forms: tuple[FormAnswer, ...]
    questions: tuple[QuestionAsked, ...]
    """what the files ask of their own, and of whom"""
    scopes: tuple[ScopeAnswer, ...]
    """where each cover and exemption holds"""
    tallies: tuple[tuple[str, Reckoned], ...]
    """totals and counts over earlier slips, each with its file's jurisdiction"""
    calendars: Mapping[str, Mapping[str, Any]]
    """by file digest: the days off of this year and the next, as the file states them"""
    rules: tuple[Mapping[str, Any], ...]
    """the rules from which duties came, as they are written"""
    contradictions: tuple[str, ...]
    """answers that cannot stand together, one sentence each"""
    stale: tuple[str, ...]
    """"not checked since" of each file that nobody compared with the law for this day"""
    notes: tuple[str, ...]
    digests: tuple[str, ...]

    def stopping(self) -> tuple[Duty, ...]:
        """Broken duties that stop the purchase."""
        return tuple(one for one in self.duties if one.state == "broken" and one.effect == "stops")

    def undecided(self) -> tuple[Duty, ...]:
        """Duties that a person must answer before the purchase goes on."""
        return tuple(one for one in self.duties if one.state == "undecided" and one.effect == "stops")

    def before_signing(self) -> Self:
        """The same before the seller signs the frozen slip: what lacks nothing but the signature is still ahead."""
        return replace(
            self,
            duties=tuple(
                replace(one, outcome=Ahead(None))
                if (lacks := one.trace.get("lacks")) and {*lacks} <= AT_SIGNING
                else one
                for one in self.duties
            ),
        )

    def effect(self) -> str | None:
        """The strongest effect of a broken duty: stops, warns or notes; None if none is broken."""
        broken = {one.effect for one in self.duties if one.state == "broken"}
        return next((effect for effect in EFFECTS if effect in broken), None)

    def hidden_from(self, recipient: str) -> set[str]:
        """Facts that must not be shown to a recipient, or on the copy that it keeps."""
        return combining.hidden_from(recipient, self.limits)

    def about(self, subject: str) -> tuple[Duty, ...]:
        """Duties about "seller", "party/2", "slip" or "item/2"."""
        return tuple(one for one in self.duties if one.about == subject)

    def leave(self, line: int) -> Leave:
        """From when the item of that line may leave, as far as rules decide; orders come on top."""
        return leave(hold for hold in self.holds if hold.line == line)

    def record(self) -> dict[str, Any]:
        """Everything that a person may want to see later: JSON values only."""
        return {
            "at": moments.local_text(self.at),
            "duties": [one.record() for one in self.duties],
            "holds": [one.record() for one in self.holds],
            "reports": [one.record() for one in self.reports],
            "tasks": [one.record() for one in self.tasks],
            "exemptions": [
                {"rule": one.rule, "jurisdiction": one.jurisdiction, "about": one.about, "source": one.source}
                for one in self.exemptions
            ],
            "scopes": [one.record() for one in self.scopes],
            "displaced": [one.record() for one in self.displaced],
            "forms": [one.record() for one in self.forms],
            "tallies": [{"jurisdiction": place, **one.record()} for place, one in self.tallies],
            "rules": [dict(one) for one in self.rules],
            "calendars": {digest: dict(one) for digest, one in self.calendars.items()},
            "contradictions": list(self.contradictions),
            "stale": list(self.stale),
            "notes": list(self.notes),
            "digests": list(self.digests),
            "time_zones": moments.TABLES,
        }


def weigh(
    files: Sequence[RuleFile],
    facts: Mapping[str, Any],
    *,
    at: datetime,
    recorded_at: datetime | None = None,
    events: Mapping[str, datetime] | None = None,
) -> Duties:
    """All duties of one purchase.

    files: the layers that govern, in any order. facts: by the names of `ledger.law.facts`; what is missing is not
    known. at: when the purchase happened, with its zone; deadlines run from it. recorded_at: when it is recorded
    (default: at); holds run from the later of the two, so that a back-dated slip frees nothing. events: what has
    happened since ("report-sent:ID", "receipt", "event:ID" ...), for rules whose time runs from that.
    Raises: NoRuleForDay if a file does not answer for the day or its calendar does not reach; InputError for a
    fact of the wrong type.
    """
    _check(facts, at)
    begun = max(at, recorded_at or at, key=utc)
    found = Found(files=tuple(_ordered(files)), events=events or {})
    layers = [Layer(file, facts, at, begun, found) for file in _ordered(files)]
    for layer in layers:
        layer.scope()
    settled = displacing.NOTHING
    if any(rule.displaces or rule.yields_to for layer in layers for rule in layer.rules):
        settled = displacing.settle([claim for layer in layers for claim in layer.claims()])
    for layer in layers:
        layer.weigh(settled)
    timing.settle(found)
    asked = combining.asks(tuple(found.asks))
    paid, kept = combining.pay(found.pays), combining.retention(found.keeps)
    return Duties(
        at=at,
        duties=tuple(found.duties),
        holds=tuple(found.holds),
        reports=tuple(combining.shown_to(one, found.limits) for one in found.reports),
        tasks=tuple(found.tasks),
        asks=asked,
        declarations=tuple(found.declarations),
        pay=paid,
        retention=kept,
        refusal=combining.refusal(found.refusals),
        limits=tuple(found.limits),
        exemptions=tuple(found.exemptions),
        displaced=tuple(found.displaced),
        forms=tuple(found.forms),
        questions=telling.questions(layers, found),
        scopes=tuple(found.scopes),
        tallies=tuple(found.tallies),
        calendars=telling.calendars(layers),
        rules=telling.rules(layers, found),
        contradictions=contradictions(
            asked, found.limits, found.pays, found.keeps, found.holds, elsewhere=is_elsewhere(facts.get("slip", {}))
        ),
        stale=tuple(found.stale),
        notes=tuple(dict.fromkeys(file.note for file in _ordered(files) if file.note)),
        digests=tuple(sorted({file.digest for file in files})),
    )


def _check(facts: Mapping[str, Any], at: datetime) -> None:
    if at.utcoffset() is None or not 1900 <= at.year <= 2200:
        raise InputError(field="at", given=at.isoformat(), wanted="a moment with its zone, 1900 to 2200")
    for name in ("shop", "slip", "seller", "principal", "guardian"):
        _is_table(facts.get(name, {}), name)
    for name, number in (("items", "line"), ("co_sellers", "party")):
        listed = facts.get(name, [])
        if not isinstance(listed, list | tuple):
            raise InputError(field=f"facts.{name}", given=listed, wanted="a list of tables")
        seen: set[int] = set()
        for place, one in enumerate(listed, 1):
            _is_table(one, f"{name}[{place}]")
            which = one.get(number, place)
            if type(which) is not int or which < 1 or which in seen:
                field = f"facts.{name}[{place}].{number}"
                raise InputError(field=field, given=which, wanted="a whole number from 1 that no other one has")
            seen.add(which)


def _is_table(value: Any, name: str) -> None:
    if not isinstance(value, dict):
        raise InputError(field=f"facts.{name}", given=value, wanted="a table of facts")


def _ordered(files: Sequence[RuleFile]) -> list[RuleFile]:
    """Widest layer first, each file once, whatever the caller's order."""
    unique = {file.digest: file for file in files}.values()
    return sorted(unique, key=lambda one: (LAYERS.index(one.layer), one.jurisdiction, one.digest))
