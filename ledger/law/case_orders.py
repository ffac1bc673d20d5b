"""The order of an authority in a worked case: what was told of it, and how it stands.

Decides: how a case writes an order, and that what the case does not tell did not happen. Leaves the reckoning to
`ledger.law.orders`.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger.errors import InputError
from ledger.law.orders import OrderEvents, OrderState, state
from ledger.law.rules import RuleFile
from ledger.law.rules_times import SPOKEN_OR_WRITTEN, OrderRule
from ledger.law.shapes import Anything, Key, ListOf, Table, Text, Word

_MOMENT = Anything("a day, a local date and time, or text with zone")
ORDER = Table(
    "order",
    (
        Key("rule", Text("the id of an order in quotes"), "the [[order]] under which it is given", need=True),
        Key("notified", _MOMENT, "when it was told", need=True),
        Key("form", Word(SPOKEN_OR_WRITTEN), "how it was told; written without it"),
        Key("written", _MOMENT, "when a spoken order was confirmed in writing"),
        Key("noticed", _MOMENT, "when the dealer wrote to the authority before the end"),
        Key("renewed", ListOf(_MOMENT), "when it was renewed"),
        Key("released", _MOMENT, "when it was released"),
        Key("item", Text("the name of an article in quotes"), "the article it is about; else all"),
    ),
)
_EVER_AFTER = timedelta(days=365 * 100)
"""without a moment of asking, all that silence brings has come"""


class Ordered(NamedTuple):
    """An order of a case: how it stands, and how it stood when it was told."""

    rule: str
    item: str
    state_at: Callable[[datetime], OrderState]
    told_at: datetime
    untold: OrderState
    """as if the dealer had not written, on the day of the order: by when he would have to"""

    def state(self, now: datetime | None) -> OrderState:
        """How it stands; without a moment, when nothing more can come."""
        return self.state_at(now or self.told_at + _EVER_AFTER)


def ordered(
    raw: Mapping[str, Any],
    files: Sequence[RuleFile],
    events: Mapping[str, datetime],
    facts: Mapping[str, Any],
    zone: ZoneInfo,
    moment: Callable[[Any, ZoneInfo, str], datetime],
) -> Ordered:
    """What a case tells of one order. Raises: InputError for an order that no file has, NoRuleForDay."""
    file = next(
        (file for file in files for one in file.rules if isinstance(one, OrderRule) and one.id == raw["rule"]), None
    )
    if file is None:
        known = sorted({one.id for file in files for one in file.rules if isinstance(one, OrderRule)})
        raise InputError(field="order.rule", given=raw["rule"], wanted="an order of the files: " + ", ".join(known))
    here = file

    def at(name: str) -> datetime | None:
        return moment(raw[name], zone, f"order.{name}") if name in raw else None

    notified = moment(raw["notified"], zone, "order.notified")
    noticed = at("noticed")
    told = OrderEvents(
        notified_at=notified,
        form=raw.get("form", "written"),
        written_at=at("written"),
        notices=(noticed,) if noticed else (),
        renewals=tuple(moment(one, zone, "order.renewed") for one in raw.get("renewed", ())),
        released_at=at("released"),
        events=events,
    )
    silent = OrderEvents(notified, told.form, told.written_at, (), told.renewals, told.released_at, events)

    def state_at(now: datetime) -> OrderState:
        return state(raw["rule"], here, told, now, facts=facts, others=tuple(files), zone=zone)

    untold = state(raw["rule"], here, silent, notified, facts=facts, others=tuple(files), zone=zone)
    return Ordered(raw["rule"], raw.get("item", ""), state_at, notified, untold)
