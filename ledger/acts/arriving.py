"""Goods that came by carrier are here when their slip is recorded: what waited for that begins with the purchase.

The law room leaves receipt and contract open for a parcel, since a slip may be checked before the goods come. A slip
that is recorded describes, weighs and buys them; so both count from then, which is the later of all its moments.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.law import holds, reports, tasks
from ledger.law.answers_times import ReportDuty
from ledger.law.duties import Duties
from ledger.law.rules import RuleFile


def began(duties: Duties, files: Sequence[RuleFile], begun: datetime, shop: Mapping[str, Any]) -> dict[str, Any]:
    """The record of holds, reports and tasks of a purchase, with goods and contract there.

    begun: the later of when it happened and when it is recorded, with its zone. shop: what rule files may ask of it.
    """
    events = {"purchase": begun, "occurred": duties.at, **dict.fromkeys(holds.IN_PERSON, begun)}
    by_digest = {file.digest: file for file in files}
    facts = {"shop": shop}

    def zone(digest: str) -> ZoneInfo:
        found = moments.place(begun.tzinfo) or by_digest[digest].zone
        return found if found is not None else ZoneInfo(str(begun.tzinfo))

    held = [
        holds.renewed(one, by_digest[one.digest], events, zone(one.digest), others=files)
        if one.waiting_for in holds.IN_PERSON
        else one
        for one in duties.holds
    ]
    owed = list(duties.reports)
    for duty in duties.duties:
        if duty.kind == "report" and duty.trace.get("waiting_for") in holds.IN_PERSON:
            file = by_digest[duty.digest]
            made = reports.now(file, duty.rule, events, zone(duty.digest), facts=facts, others=files)
            owed += [made] if isinstance(made, ReportDuty) else []
    due = [
        tasks.now(by_digest[one.digest], one.rule, one.about, events, zone(one.digest), facts=facts, others=files)
        if one.waiting_for in holds.IN_PERSON
        else one
        for one in duties.tasks
    ]
    return {
        "holds": [one.record() for one in held],
        "reports": [one.record() for one in owed],
        "tasks": [one.record() for one in due],
    }
