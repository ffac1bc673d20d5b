"""Corrects what an entry says, by a new entry: the old line stays readable and is printed struck through."""

from collections.abc import Mapping
from typing import Any

from ledger.book import reading
from ledger.book.pages import Book
from ledger.chain import parts
from ledger.chain.entries import Entry
from ledger.errors import InputError


def correct(book: Book, slip: int, part: str, changes: Mapping[str, Any], because: str) -> Entry:
    """The entry that one part of a recorded slip should read otherwise.

    part: name of the part, such as "item/2/description". changes: members of it with their new values; for a part
    that is text, the one member "text".
    Raises: InputError when the slip is not recorded, has no such part or member, or nothing would change.
    """
    with book.writing() as page:
        row = reading.slip_row(page.connection, book.origin, slip)
        if row.state != "recorded":
            raise InputError(field="slip", given=f"slip {slip}, {row.state}", wanted="a slip that is recorded")
        seq, was = _found(page.connection, book, row, part)
        now = _changed(was, changes, part)
        value = {"part": part, "line": _line(part), "was": was, "is": now, "because": because}
        held = [book.hold("correction", value, row.draft, parts.class_of(part))]
        entry = page.append("correction/0", about=[f"slip/{slip}"], public={"corrects": seq, "slip": slip}, held=held)
        page.seal()
    # From here on the correction stands beside what it corrects.
    return entry


def _line(part: str) -> int:
    pieces = part.split("/")
    return int(pieces[1]) if pieces[0] == "item" else 0


def _found(connection: Any, book: Book, row: Any, part: str) -> tuple[int, Any]:
    """The entry that holds the part, and what it says today, after earlier corrections."""
    found = None
    for seq in reading.seqs_about(connection, book.origin, f"slip/{row.slip}"):
        opened = reading.open_entry(connection, book, seq)
        if opened.get(part) is not None:
            found = (seq, opened.get(part))
        earlier = opened.get("correction")
        if earlier is not None and earlier["part"] == part:
            found = (seq, earlier["is"])
    if found is None:
        raise InputError(field="part", given=part, wanted=f"the name of a part of slip {row.slip}")
    return found


def _changed(was: Any, changes: Mapping[str, Any], part: str) -> Any:
    if not isinstance(was, dict):
        now = changes.get("text")
        if not isinstance(now, str) or set(changes) != {"text"}:
            raise InputError(field=part, given=", ".join(changes), wanted="the member 'text' with the new text")
    else:
        unknown = sorted(set(changes) - set(was))
        if unknown:
            raise InputError(field=part, given=unknown[0], wanted="one of " + ", ".join(sorted(was)))
        now = {**was, **changes}
    if now == was:
        raise InputError(field=part, given="the same", wanted="something that differs from what stands there")
    return now
