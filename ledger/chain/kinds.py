"""The kinds of entry, and what the public part of each must and may hold.

Decides form only: names of members and the shape of their values. Leaves the meaning (whether that slip exists,
whether those rules governed) to `book` and the acts. A frozen kind never changes: `purchase/2` would be a new row.
All kinds still carry the number 0, which says that they are tried out and thrown away.

>>> public_fault("withdrawn/0", {"slip": 12})
>>> public_fault("withdrawn/0", {"slip": "12"})
'public.slip is not a whole number from 1'
>>> public_fault("withdrawn/0", {})
'public.slip is missing'
"""

import datetime
import re
from base64 import b64decode, b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from operator import lt
from typing import Any

MAX_ITEMS = 100

Check = Callable[[Any], bool]


@dataclass(frozen=True)
class Kind:
    """One kind of entry: the members its `public` object must and may have."""

    required: frozenset[str]
    optional: frozenset[str]


def _kind(required: str = "", optional: str = "") -> Kind:
    return Kind(frozenset(required.split()), frozenset(optional.split()))


KINDS: Mapping[str, Kind] = {
    "opened/0": _kind("format vkey zone", "continues"),
    "shop/0": _kind("facts from"),
    "staff/0": _kind("staff role", "until"),
    "instrument/0": _kind("instrument what", "until"),
    "rules-adopted/0": _kind("digest jurisdiction compared_on"),
    "presented/0": _kind("slip items rules pictures"),
    "withdrawn/0": _kind("slip"),
    "refused/0": _kind("rules"),
    "purchase/0": _kind("slip items presented rules pictures"),
    "payout/0": _kind("slip state", "payout"),
    "correction/0": _kind("corrects", "slip"),
    "void/0": _kind("slip"),
    "weighed/0": _kind("slip line"),
    "parted/0": _kind("slip line pieces"),
    "moved/0": _kind(),
    "outcome/0": _kind("state"),
    "hold-order/0": _kind(),
    "hold-noted/0": _kind(),
    "hold-lifted/0": _kind(),
    "process/0": _kind(),
    "report-asked/0": _kind("report period recipient rules"),
    "report-extended/0": _kind("report"),
    "report-made/0": _kind("report period recipient rules", "slips nil"),
    "report-sent/0": _kind("report"),
    "report-delivered/0": _kind("report"),
    "report-received/0": _kind("report"),
    "happened/0": _kind("event"),
    "permitted/0": _kind("permission from", "until"),
    "inquiry/0": _kind("", "seal"),
    "look/0": _kind(),
    "inspection/0": _kind(),
    "extract/0": _kind("", "manifest"),
    "day-closed/0": _kind("day counts"),
    "seal-kept/0": _kind("seal", "vkey reply"),
    "key-changed/0": _kind("vkey old"),
    "verified/0": _kind("counts"),
    "forgotten/0": _kind("digests class"),
    "brought-over/0": _kind("source"),
    "parcel/0": _kind("state"),
    "lot/0": _kind("state"),
}

# An entry about somebody's question must not say what it was about: it names its own random id and nothing else.
OWN_ID_ONLY: Mapping[str, str] = {
    "look/0": "look/",
    "inquiry/0": "inquiry/",
    "process/0": "process/",
    "hold-order/0": "hold/",
    "hold-noted/0": "hold/",
    "hold-lifted/0": "hold/",
}


def public_fault(kind: str, public: Mapping[str, Any]) -> str | None:
    """What is wrong with the public members of an entry of this kind; None when nothing is."""
    checks = _CHECKS.get(kind)
    if checks is None:
        return "kind is not one that this program knows"
    for name, value in public.items():
        check = checks.get(name)
        if check is None:
            return f"public.{name} does not belong to this kind"
        if not check(value):
            return f"public.{name} is not {MEMBERS[name][0]}"
    required = KINDS[kind].required
    if not public.keys() >= required:
        return f"public.{min(required - public.keys())} is missing"
    if kind == "seal-kept/0" and type(public["seal"]) is str:
        return "public.seal is not the lines of a signed note"
    return None


def _pattern(pattern: str) -> Check:
    matches = re.compile(pattern).fullmatch
    return lambda value: type(value) is str and matches(value) is not None


def _from_one(value: Any) -> bool:
    return type(value) is int and value >= 1


def _index(value: Any) -> bool:
    return type(value) is int and value >= 0


def _truth(value: Any) -> bool:
    return type(value) is bool


def _text(value: Any) -> bool:
    return type(value) is str and value != ""


def _object(value: Any) -> bool:
    return type(value) is dict and value != {}


def is_day(value: Any) -> bool:
    """Whether the value is a day of the calendar, written YYYY-MM-DD."""
    try:
        return bool(_is_day(value)) and datetime.date.fromisoformat(value) is not None
    except (TypeError, ValueError):
        return False


def _period(value: Any) -> bool:
    if type(value) is not str:
        return False
    first, _, last = value.partition("/")
    return is_day(first) and is_day(last) and first <= last


def ascending(values: list[Any]) -> bool:
    """Whether each member is larger than the one before it, so that none stands there twice."""
    return all(map(lt, values, values[1:]))


def all_text(values: list[Any]) -> bool:
    """Whether all members are text: joining tells that at the speed of C."""
    try:
        "".join(values)
    except TypeError:
        return False
    return True


def are_digests(values: list[Any]) -> bool:
    """Whether all members are digests, 43 letters of base64url, told at once: most bytes of a book are digests."""
    try:
        row = " ".join([*values, ""]).encode()
    except (TypeError, UnicodeEncodeError):
        return False
    gaps = b" " * len(values)
    return row.translate(None, _LETTERS) == row[43::44] == gaps and not row[42::44].translate(None, _LAST_LETTERS)


def _rules(value: Any) -> bool:
    return type(value) is list and all_text(value) and all(map(_is_hash, value)) and ascending(value)


def _slips(value: Any) -> bool:
    return type(value) is list and all(map(_from_one, value)) and ascending(value)


def _digests(value: Any) -> bool:
    return type(value) is list and value != [] and are_digests(value) and ascending(value)


def _pictures(value: Any) -> bool:
    if type(value) is not list:
        return False
    digests: list[Any] = []
    for picture in value:
        if type(picture) is not dict or picture.keys() != _PICTURE:
            return False
        digests += picture.values()
    return are_digests(digests)


def _counts(value: Any) -> bool:
    return type(value) is dict and all(map(_word, value)) and all(map(_index, value.values()))


def _continues(value: Any) -> bool:
    return (
        type(value) is dict
        and value.keys() in ({"origin", "size", "root"}, {"origin", "size", "root", "why"})
        and is_book(value["origin"])
        and _from_one(value["size"])
        and is_hash(value["root"])
        and _text(value.get("why", "-"))
    )


def _reply(value: Any) -> bool:
    try:
        return type(value) is str and b64encode(b64decode(value, validate=True)).decode() == value != ""
    except ValueError:
        return False


def _seal(value: Any) -> bool:
    return _short_form(value) or (type(value) is list and len(value) > 4 and all(type(line) is str for line in value))


_is_day = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}").fullmatch
_word = _pattern("[a-z][a-z_-]*")
_id = _pattern("[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_short_form = _pattern("[1-9][0-9]{0,15}-[A-Z2-7]{20}")
is_book = _pattern("counterfoil/[0-9a-f]{32}")
is_hash = _pattern("[0-9a-f]{64}")
_is_hash = re.compile("[0-9a-f]{64}").fullmatch
_PICTURE = frozenset(["received", "shown"])
_LETTERS = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
_LAST_LETTERS = b"AEIMQUYcgkosw048"  # 43 letters hold 258 bits, so the last two are zero

_CLASSES = frozenset(["seller", "print", "scan", "item", "money", "law", "case", "staff"])

# One word means one thing: a member has the same shape in every kind. FORMAT.md says the same in its table.
MEMBERS: Mapping[str, tuple[str, Check]] = {
    "class": ("a class of parts", lambda value: type(value) is str and value in _CLASSES),
    "compared_on": ("a day", is_day),
    "continues": ("an origin, a size and a root", _continues),
    "corrects": ("the number of an entry", _index),
    "counts": ("whole numbers by name", _counts),
    "day": ("a day", is_day),
    "digest": ("64 lower-case hex digits", is_hash),
    "digests": ("a sorted list of digests", _digests),
    "event": ("an id", _id),
    "facts": ("an object with members", _object),
    "format": ("the name of a format", _pattern("counterfoil-book/[0-9]+")),
    "from": ("a day", is_day),
    "instrument": ("an id", _id),
    "items": ("a whole number from 1 to 100", lambda value: _from_one(value) and value <= MAX_ITEMS),
    "jurisdiction": ("the name of a jurisdiction", _pattern("[a-z0-9][a-z0-9/_-]*")),
    "line": ("a whole number from 1", _from_one),
    "manifest": ("64 lower-case hex digits", is_hash),
    "nil": ("true or false", _truth),
    "old": ("a verification key", _pattern(r"[^\s+]+\+[0-9a-f]{8}\+[A-Za-z0-9+/]+={0,2}")),
    "payout": ("a whole number from 1", _from_one),
    "period": ("two days with a slash between, the earlier first", _period),
    "permission": ("an id", _id),
    "pictures": ("a list of digests, received and shown", _pictures),
    "pieces": ("a whole number from 1", _from_one),
    "presented": ("64 lower-case hex digits", is_hash),
    "recipient": ("an id", _id),
    "reply": ("base64", _reply),
    "report": ("an id", _id),
    "role": ("a word", _word),
    "rules": ("a sorted list of digests of rule files", _rules),
    "seal": ("a seal in short form, or the lines of one", _seal),
    "slip": ("a whole number from 1", _from_one),
    "slips": ("a sorted list of slip numbers", _slips),
    "source": ("text", _text),
    "staff": ("an id", _id),
    "state": ("a word", _word),
    "until": ("a day", is_day),
    "vkey": ("a verification key", _pattern(r"[^\s+]+\+[0-9a-f]{8}\+[A-Za-z0-9+/]+={0,2}")),
    "what": ("text", _text),
    "zone": ("a time zone by its IANA name", _pattern("[A-Za-z][A-Za-z0-9_+-]*(?:/[A-Za-z0-9_+-]+)*")),
}
_CHECKS: Mapping[str, Mapping[str, Check]] = {
    name: {member: MEMBERS[member][1] for member in kind.required | kind.optional} for name, kind in KINDS.items()
}
