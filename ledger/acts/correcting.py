"""Corrects what an entry says, by a new entry: the old line stays readable and is printed struck through.

A correction passes the same door as a slip that is typed, so that what stands in the book can always be read again.
What the program worked out (assessments, duties) and what was captured (pictures) is not corrected but made anew.
"""

import re
from collections.abc import Mapping
from typing import Any

from ledger.acts import following, gathering
from ledger.acts.gathering import Whole
from ledger.book import duty_rows, reading
from ledger.book import engine as engines
from ledger.book.pages import Book, Page
from ledger.chain import parts
from ledger.chain.entries import Entry
from ledger.errors import InputError, Said
from ledger.law.answers import Duty
from ledger.slip import parts as slip_parts
from ledger.slip import reading as slip_reading
from ledger.slip import rebuilding

_PERSON = re.compile("(seller|party/[0-9]+)/(?:name|birth_date)")
_NOT_WRITTEN = re.compile("duties|item/[0-9]+/assessment|declaration/signature")


def correct(book: Book, slip: int, part: str, changes: Mapping[str, Any], because: str) -> Entry:
    """The entry that one part of a recorded slip should read otherwise, with its duties weighed again.

    What the rules ask of the slip as it reads now is recorded with the correction: holds that end later, tasks and
    reports that are owed now. Nothing becomes free earlier.

    part: name of the part, such as "item/2/description". changes: members of it with their new values, None for one
    that should not stand there; for a part that is a text or a list, the one member "text" or "list"; for any part
    {"not_known": reason}.
    Raises: InputError when the slip is not recorded, has no such part, would no longer be a slip, or nothing changes.
    """
    with book.writing() as page:
        row = reading.slip_row(page.connection, book.origin, slip)
        if row.state != "recorded":
            raise InputError(field="slip", given=f"slip {slip}, {row.state}", wanted="a slip that is recorded")
        whole = gathering.whole(page.connection, book, slip)
        today = _today(whole)
        if part not in today or _NOT_WRITTEN.fullmatch(part) or "file_received" in today[part]:
            raise InputError(field="part", given=part, wanted=f"the name of a part of slip {slip} that a person wrote")
        was = today[part]
        now = _checked(today, part, _changed(was, changes, part))
        if now == was:
            raise InputError(field=part, given=Said("the same"), wanted="something that differs from what stands there")
        value = {"part": part, "line": _line(part), "was": was, "is": now, "because": because}
        if person := _PERSON.fullmatch(part):
            names = (f"{person[1]}/name", f"{person[1]}/birth_date")
            value["person"] = {name: ({**today, part: now}).get(name) for name in names}
        held = [book.hold("correction", value, row.draft, parts.class_of(part))]
        weighed = _weighed_again(page, whole, {**today, part: now})
        if weighed is not None:
            held.append(book.hold("duties", weighed, row.draft))
        public = {"corrects": _corrected(whole, part), "slip": slip}
        entry = page.append("correction/0", about=[f"slip/{slip}"], public=public, held=held)
        page.seal()
    # From here on the correction stands beside what it corrects.
    return entry


def changed_by(book: Book, correction: Entry) -> list[str]:
    """A sentence for each duty that a correction broke or left undecided, and for whatever else is owed since.

    Raises: LockedError.
    """
    with engines.reading(book.engine) as connection:
        weighed = reading.open_parts(connection, book, correction, classes=("law",)).get("duties")
    return [] if weighed is None else list(weighed["changed"])


def _weighed_again(page: Page, whole: Whole, now: Mapping[str, Any]) -> dict[str, Any] | None:
    """What the rules that governed the slip ask of it as it reads now, where that differs; None where nothing does."""
    before = whole.duties_today
    after = whole.weighed(rebuilding.slip_of(now))
    known = {_name(one): one.state for one in before.duties}
    changed = [
        one.says for one in after.duties if one.state in ("broken", "undecided") and known.get(_name(one)) != one.state
    ]
    owed = {duty_rows.report_id(one.record(), whole.number) for one in before.reports}
    reports = [one.record() for one in after.reports if duty_rows.report_id(one.record(), whole.number) not in owed]
    changed += [f"A report is owed to {one['recipient_name']} now ({one['source']})." for one in reports]
    told = {(one.rule, one.jurisdiction, one.about) for one in before.tasks}
    tasks = [one.record() for one in after.tasks if (one.rule, one.jurisdiction, one.about) not in told]
    changed += [f"A task is due now: {one['what']} ({one['source']})." for one in tasks]
    holds = [one.record() for one in following.later_holds(page, whole.number, after.holds)]
    changed += [f"Item {whole.number}/{one['line']} is held longer ({one['source']})." for one in holds]
    if not changed:
        return None
    return {"slip": whole.number, "holds": holds, "tasks": tasks, "reports": reports, "changed": changed}


def _name(duty: Duty) -> tuple[str, str, str]:
    return duty.jurisdiction, duty.rule, duty.about


def _today(whole: Whole) -> dict[str, Any]:
    """Every part as it reads after the corrections so far."""
    return dict(whole.today)


def _corrected(whole: Whole, part: str) -> int:
    """Number of the entry that says today what the part reads."""
    seqs = [each.seq for each in whole.corrections if each.part == part]
    if seqs:
        return seqs[-1]
    assert whole.purchase is not None
    return (whole.presented if whole.presented.get(part) is not None else whole.purchase).entry.seq


def _line(part: str) -> int:
    pieces = part.split("/")
    return int(pieces[1]) if pieces[0] == "item" else 0


def _changed(was: Any, changes: Mapping[str, Any], part: str) -> Any:
    if set(changes) == {"not_known"}:
        return dict(changes)
    nothing = isinstance(was, dict) and "not_known" in was
    if isinstance(was, dict) and not nothing:
        return {name: value for name, value in {**was, **changes}.items() if value is not None}
    for member, kind in (("text", str), ("list", list)):
        if (nothing or isinstance(was, kind)) and set(changes) == {member}:
            return changes[member]
    if nothing and changes:
        return dict(changes)
    wanted = "the member 'list' with the new list" if isinstance(was, list) else "the member 'text' with the new text"
    raise InputError(field=part, given=Said(", ".join(changes) or "nothing"), wanted=wanted)


def _checked(today: Mapping[str, Any], part: str, now: Any) -> Any:
    """The new value as the slip's parts hold it, its milligrams and micrometres worked out again.

    Raises: InputError when the slip with it would not be one.
    """
    try:
        document = _without_files(rebuilding.document_of({**today, part: now}))
    except (AttributeError, KeyError, TypeError) as fault:
        wanted = "the members that a slip has there"
        raise InputError(field=part, given=Said("something of another shape"), wanted=wanted) from fault
    slip = slip_reading.slip_of(document)
    unread = {asked.part: slip_parts.UNREAD for asked in slip_parts.pictures(slip)}
    again = dict(slip_parts.presented_parts(slip, assessments={}, values={}, pictures=unread))
    again |= dict(slip_parts.recorded_parts(slip, duties=None, pictures=unread))
    if part.endswith("/price") and "value" in today[part]:
        return {**again[part], "value": today[part]["value"]}
    return again[part]


def _without_files(document: dict[str, Any]) -> dict[str, Any]:
    """Pictures of a rebuilt slip bear the names of their parts; a typed slip takes only names without folders."""
    lists = [party["captures"] for party in document["parties"]] + [item["pictures"] for item in document["items"]]
    signature = document.get("declaration", {}).get("signature", {})
    for picture in [*(each for found in lists for each in found), signature]:
        if "file" in picture:
            picture["file"] = "kept"
    return document
