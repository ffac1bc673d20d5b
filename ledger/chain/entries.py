"""One line of a book: which members it has, how it is made, and how it is read back.

Decides the members of every entry (`kinds` has those of each kind's `public` object) and where `seq` and `prev`
stand in its bytes. Leaves the writing, the number of the next slip and the clock to `book`, which hands them in.

    {"about":[...],"book":"counterfoil/...","by":"mara","kind":"withdrawn/0","parts":[...],
     "prev":"<64 hex>","program":"0.1.0","public":{"slip":12},"recorded_at":"...Z","seq":7}

Keys are sorted and every quote inside a string is escaped, so `,"prev":"` occurs once before any nested object
and `,"seq":` ends the bytes: the chain can be followed without parsing anything.

>>> import datetime
>>> noon = datetime.datetime(2031, 3, 4, 12, tzinfo=datetime.UTC)
>>> entry = make(
...     book="counterfoil/" + "0" * 32, seq=7, prev=b"\\x11" * 32, kind="withdrawn/0", recorded_at=noon,
...     previous_recorded_at=None, by="mara", program="0.1.0", about=["slip/12"], public={"slip": 12}, parts=[],
... )
>>> seq_at(entry.data), prev_at(entry.data) == entry.prev, entry.recorded_at
(7, True, '2031-03-04T12:00:00.000Z')
>>> read(entry.data) == entry
True
"""

import base64
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from operator import itemgetter
from typing import Any

from ledger.chain import canonical
from ledger.chain.kinds import KINDS, OWN_ID_ONLY, all_text, are_digests, ascending, is_day, is_hash, public_fault
from ledger.chain.tree import leaf_hash
from ledger.errors import BookUnsound, InputError

__all__ = ["KINDS", "ZERO", "Entry", "make", "member_fault", "order_fault", "prev_at", "read", "seq_at", "utc_text"]

ZERO = bytes(32)
_NO_PREV = ZERO.hex()

_PREV = b',"prev":"'
_SEQ = b',"seq":'
_REQUIRED = frozenset(["about", "book", "by", "kind", "parts", "prev", "program", "public", "recorded_at", "seq"])
_ALLOWED = _REQUIRED | {"clock", "occurred_at"}

_DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_CLOCK = "(?:[01][0-9]|2[0-3]):[0-5][0-9]"
_SECONDS = "(?:[0-5][0-9]|60)"  # 60: a leap second is a second
_ZONE = r"\[[A-Za-z][A-Za-z0-9_+-]*(?:/[A-Za-z0-9_+-]+)*\]"
_ID = "[A-Za-z0-9][A-Za-z0-9._-]{0,63}"
# The members that are one text in every entry: what each is, and its form. No form lets a space in.
_FRAME = {
    "book": ("an origin", "counterfoil/[0-9a-f]{32}"),
    "prev": ("64 lower-case hex digits", "[0-9a-f]{64}"),
    "recorded_at": ("a UTC moment with three decimals", rf"{_DAY}T{_CLOCK}:{_SECONDS}\.[0-9]{{3}}Z"),
    "by": ("the id of a person, or program", _ID),
    "program": ("a version", "[0-9A-Za-z][0-9A-Za-z.+-]*"),
}
_frame_of = itemgetter(*_FRAME)
_is_frame = re.compile(" ".join(form for _, form in _FRAME.values())).fullmatch
_is_local = re.compile(
    rf"{_DAY}T{_CLOCK}(?::{_SECONDS}(?:\.[0-9]{{1,6}})?)?(?:Z|[+-][0-9]{{2}}:[0-9]{{2}}){_ZONE}"
).fullmatch
_is_about = re.compile(
    r"book|slip/[1-9][0-9]*|item/[1-9][0-9]*/[1-9][0-9]*(?:\.[1-9][0-9]*)?|rules/[0-9a-f]{64}"
    rf"|day/{_DAY}|(?:report|lot|parcel|inquiry|hold|process|look|inspection|extract|draft|staff|instrument)/{_ID}"
).fullmatch


@dataclass(frozen=True)
class Entry:
    """One entry with the bytes that are hashed. `data` is the record; the rest is read from it.

    leaf: leaf hash of the bytes. prev: leaf hash of the entry before.
    recorded_at: UTC text. occurred_at: local RFC 9557 text, where the event was earlier.
    clock: "behind" when the machine's clock stood before the previous entry's moment.
    """

    data: bytes
    leaf: bytes
    book: str
    seq: int
    prev: bytes
    kind: str
    recorded_at: str
    by: str
    program: str
    about: tuple[str, ...]
    public: dict[str, Any]
    parts: tuple[str, ...]
    occurred_at: str | None
    clock: str | None


def utc_text(moment: datetime) -> str:
    """A moment as entries hold it: UTC, milliseconds cut off, `Z`.

    Raises: ValueError for a moment without a time zone.

    >>> utc_text(datetime.fromisoformat("2026-11-24T10:15:00.9999-05:00"))
    '2026-11-24T15:15:00.999Z'
    """
    if moment.tzinfo is None:
        raise ValueError("a moment in a book has a time zone")
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def make(
    *,
    book: str,
    seq: int,
    prev: bytes,
    kind: str,
    recorded_at: datetime,
    previous_recorded_at: str | None,
    by: str,
    program: str,
    about: Sequence[str],
    public: Mapping[str, Any],
    parts: Iterable[str],
    occurred_at: str | None = None,
) -> Entry:
    """The next entry of a book, ready to be written.

    recorded_at: the machine's reading, with its time zone; kept as read even when the clock went back.
    previous_recorded_at: text of the entry before, None at 0. parts: digests in any order.
    Raises: InputError for members that an entry of this kind cannot have or more than 60,000 bytes.
    """
    value: dict[str, Any] = {
        "book": book,
        "seq": seq,
        "prev": prev.hex(),
        "kind": kind,
        "recorded_at": utc_text(recorded_at),
        "by": by,
        "program": program,
        "about": list(about),
        "public": dict(public),
        "parts": sorted(parts),
    }
    if occurred_at is not None:
        value["occurred_at"] = occurred_at
    if previous_recorded_at is not None and value["recorded_at"] < previous_recorded_at:
        value["clock"] = "behind"
    data = canonical.encode(value)
    if len(data) > canonical.MAX_BYTES:
        raise InputError(
            field="entry", given=f"{len(data):,} bytes", wanted="at most 60,000 bytes; make two slips of one"
        )
    # Checked as it will be read: tuples have become arrays by now.
    value = canonical.decode(data)
    if reason := member_fault(value):
        raise InputError(field=kind, given=reason, wanted="an entry as ledger/chain/FORMAT.md describes it")
    return _entry(data, value)


def read(data: bytes) -> Entry:
    """The entry in these bytes.

    Raises: canonical.NotCanonical, or BookUnsound when its members are not those of its kind.
    """
    value = canonical.decode(data)
    if reason := member_fault(value):
        raise BookUnsound(what=f"An entry is not as its kind asks: {reason}.")
    return _entry(data, value)


def _entry(data: bytes, value: dict[str, Any]) -> Entry:
    return Entry(
        data=data,
        leaf=leaf_hash(data),
        book=value["book"],
        seq=value["seq"],
        prev=bytes.fromhex(value["prev"]),
        kind=value["kind"],
        recorded_at=value["recorded_at"],
        by=value["by"],
        program=value["program"],
        about=tuple(value["about"]),
        public=value["public"],
        parts=tuple(value["parts"]),
        occurred_at=value.get("occurred_at"),
        clock=value.get("clock"),
    )


def member_fault(value: dict[str, Any]) -> str | None:
    """What is wrong with the members of an entry, as a fragment of a sentence; None when nothing is.

    value: what `canonical.decode` gave.
    """
    plain = value.keys() == _REQUIRED
    return (None if plain else _extra_fault(value)) or _frame_fault(value) or _list_fault(value) or _kind_fault(value)


def _extra_fault(value: dict[str, Any]) -> str | None:
    """The two members that only some entries have; any other is one too few or too many."""
    if lacking := _REQUIRED - value.keys():
        return f"{min(lacking)} is missing"
    if strange := value.keys() - _ALLOWED:
        return f"{min(strange)} does not belong to an entry"
    occurred = value.get("occurred_at")
    if "occurred_at" in value and not (type(occurred) is str and _is_local(occurred) and is_day(occurred[:10])):
        return "occurred_at is not a local moment with offset and zone"
    if value.get("clock", "behind") != "behind":
        return "clock is not the word behind"
    return None


def _frame_fault(value: dict[str, Any]) -> str | None:
    if type(value["seq"]) is not int or value["seq"] < 0:
        return "seq is not a whole number from 0"
    if not _one_text_each(value):
        return next(
            f"{name} is not {says}"
            for name, (says, form) in _FRAME.items()
            if type(value[name]) is not str or not re.fullmatch(form, value[name])
        )
    if not is_day(value["recorded_at"][:10]):
        return "recorded_at does not lie on a day of the calendar"
    return None


def _one_text_each(value: dict[str, Any]) -> bool:
    """Whether the frame is sound, told by one match over all of it: every entry of a book goes through here."""
    try:
        return _is_frame(" ".join(_frame_of(value))) is not None
    except TypeError:
        return False


def _list_fault(value: dict[str, Any]) -> str | None:
    about, parts = value["about"], value["parts"]
    if not (type(parts) is list and are_digests(parts) and ascending(parts)):
        return "parts is not a sorted list of digests"
    if not (type(about) is list and all_text(about) and all(map(_is_about, about))):
        return "about is not a list of names"
    if len(set(about)) < len(about):
        return "about names something twice"
    return None


def _kind_fault(value: dict[str, Any]) -> str | None:
    kind, public, first = value["kind"], value["public"], not value["seq"]
    if type(kind) is not str or type(public) is not dict:
        return "kind or public has the wrong type"
    if first != kind.startswith("opened/"):
        return "a book is opened by its entry 0 and by no other"
    if first != (value["prev"] == _NO_PREV):
        return "prev is 64 zeros in entry 0 and in no other"
    own = OWN_ID_ONLY.get(kind)
    if own and not (len(value["about"]) == 1 and value["about"][0].startswith(own)):
        return f"about is not one {own[:-1]} and nothing else"
    return public_fault(kind, public)


def order_fault(previous_recorded_at: str, recorded_at: str, clock: str | None) -> str | None:
    """What is wrong between the moments of two neighbours: a clock that went back is marked, any other is not."""
    if recorded_at < previous_recorded_at and clock is None:
        return "recorded_at lies before the previous entry's and clock does not say so"
    if recorded_at >= previous_recorded_at and clock is not None:
        return "clock says behind and recorded_at does not lie before the previous entry's"
    return None


def prev_at(data: bytes) -> bytes | None:
    """The `prev` in the bytes of an entry, found by position; None where there is none.

    Lower or upper case is not told apart here: member_fault does.
    """
    start = data.find(_PREV) + len(_PREV)
    if start < len(_PREV) or data[start + 64 : start + 65] != b'"':
        return None
    try:
        return bytes.fromhex(data[start : start + 64].decode())
    except ValueError:
        return None


def seq_at(data: bytes) -> int | None:
    """The `seq` in the bytes of an entry, found by position; None where there is none."""
    digits = data[data.rfind(_SEQ) + len(_SEQ) : -1] if _SEQ in data else b""
    return int(digits) if digits.isdigit() and len(digits) < 17 else None


def picture(received: str, shown: str) -> dict[str, str]:
    """One member of `public.pictures`, from the names of its two files.

    received, shown: lower hex SHA-256 of the encrypted files; the entry holds them as base64url, which is shorter.
    """
    return {"received": _digest_of_hex(received), "shown": _digest_of_hex(shown)}


def picture_files(entry: Entry) -> tuple[tuple[str, str], ...]:
    """Names (lower hex) of the encrypted files of an entry's pictures: as received, as shown."""
    return tuple(
        (_hex_of_digest(each["received"]), _hex_of_digest(each["shown"])) for each in entry.public.get("pictures", ())
    )


def _digest_of_hex(name: str) -> str:
    if not is_hash(name):
        raise InputError(field="picture", given=name, wanted="64 lower-case hex digits")
    return base64.urlsafe_b64encode(bytes.fromhex(name)).rstrip(b"=").decode()


def _hex_of_digest(digest: str) -> str:
    return base64.urlsafe_b64decode(digest + "=").hex()
