"""The one way in which a value is written as bytes: RFC 8785 canonical JSON, under rules of our own.

Decides which values may stand in a book: objects, arrays, text, whole numbers, true, false, null. Keys are
ASCII, text is NFC without control characters, whole numbers lie within +-(2^53 - 1), nothing lies more than
32 deep, and the whole is at most 60,000 bytes. Under these rules the RFC's two hard parts (numbers with a
fraction, sorting keys by UTF-16 units) cannot occur, so that any sorted JSON writer gives the same bytes.
Leaves to `entries` which members an entry has.

>>> encode({"b": 2, "a": "Zoë"})
b'{"a":"Zo\\xc3\\xab","b":2}'
>>> decode(b'{"a":1}')
{'a': 1}
>>> fault(b'{"a":1, "b":2}')
'not in canonical form'
>>> fault(b'{"a":1,"a":2}')
'duplicate key'

Source: RFC 8785 (2020), sections 3.2.1 to 3.2.4.
"""

import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NoReturn

import orjson

from ledger.errors import BookError, InputError

MAX_BYTES = 60_000
MAX_DEPTH = 32
MAX_WHOLE = 2**53 - 1

_SORTED = orjson.OPT_SORT_KEYS | orjson.OPT_STRICT_INTEGER
_SIMPLE = frozenset([str, int, bool, type(None)])
_CONTROL_TEXT = re.compile("[\x00-\x1f\x7f-\x9f]")
_HALF = re.compile("[\ud800-\udfff]")
_CONTROL_BYTES = re.compile(rb"\x7f|\xc2[\x80-\x9f]")

_FLOAT = "a float"
_BIG = "a whole number beyond 2^53 - 1"
_DEEP = "nested too deeply"
_CONTROL = "control character"
_FORM = "not in canonical form"


@dataclass(kw_only=True, eq=False)
class NotCanonical(BookError):
    """Bytes that are not the canonical form of a value that a book may hold."""

    reason: str

    def __str__(self) -> str:
        return f"These bytes are not as a book writes them: {self.reason}. Compare them with another copy of the book."


def encode(value: Mapping[str, Any] | list[Any]) -> bytes:
    """The canonical bytes of one object or array.

    value: str, int, bool, None, mappings with ASCII keys, lists and tuples of these.
    Raises: InputError, whose `field` is the path of the member that a book cannot hold.
    """
    if _is_simple((value,), MAX_DEPTH):
        try:
            data = orjson.dumps(value, option=_SORTED)
        except TypeError:  # a key that is no text, half a character, a number beyond 2^53 - 1: named below
            data = b""
        if data and _text_fault(data, value) is None:
            return data
    return orjson.dumps(_plain(value, "", MAX_DEPTH), option=_SORTED)


def _is_simple(members: Iterable[Any], room: int) -> bool:
    """Whether all is built of plain dicts, lists, text, whole numbers, truth values and null, not too deep.

    Such values, the usual ones, are written at the speed of C; all others are taken apart one by one.
    """
    for member in members:
        kind = type(member)
        if kind in _SIMPLE:
            continue
        if kind is list or kind is tuple:
            try:
                "".join(member)
            except TypeError:
                if not room or not _is_simple(member, room - 1):
                    return False
            if not room:
                return False
        elif kind is dict:
            if not room or not _is_simple(member.values(), room - 1):
                return False
        elif not isinstance(member, int):  # weights and fineness are whole numbers of a kind of their own
            return False
    return True


def decode(data: bytes) -> dict[str, Any]:
    """The object that these bytes are the canonical form of.

    Raises: NotCanonical.
    """
    value, reason = examine(data)
    if value is None:
        raise NotCanonical(reason=reason or _FORM)
    return value


def fault(data: bytes) -> str | None:
    """What is wrong with the bytes of one entry, as a fragment of a sentence; None when nothing is."""
    return examine(data)[1]


def examine(data: bytes) -> tuple[dict[str, Any] | None, str | None]:
    """The object and None, or None and what is wrong; one parse for both."""
    if len(data) > MAX_BYTES:
        return None, "over 60,000 bytes"
    value, reason = _examine(data)
    if reason or type(value) is dict:
        return value, reason
    return None, "not an object"


def decode_array(data: bytes) -> list[Any]:
    """The array that these bytes, of any length, are the canonical form of.

    Raises: NotCanonical.
    """
    value, reason = _examine(data)
    if type(value) is not list:
        raise NotCanonical(reason=reason or "not an array")
    return value


def _examine(data: bytes) -> tuple[Any, str | None]:
    """Cheap checks come first: the bytes are parsed, written again and compared, which settles the order of keys,
    white space, escapes and doubled keys at once. Only bytes that differ are looked at slowly, for the reason.
    """
    try:
        value = orjson.loads(data)
        same = orjson.dumps(value, option=_SORTED) == data
    except (orjson.JSONDecodeError, orjson.JSONEncodeError):
        same = False
    if not same:
        return None, _why_different(data)
    reason = _inner_fault((value,), MAX_DEPTH) or _text_fault(data, value)
    return (None, reason) if reason else (value, None)


def _inner_fault(members: Iterable[Any], room: int) -> str | None:
    """A float, or an array or object below `room` more levels, anywhere among the members.

    Most members are text and most arrays hold nothing else, and joining tells that at the speed of C.
    """
    for member in members:
        kind = type(member)
        if kind is str:
            continue
        if kind is list:
            if not room:
                return _DEEP
            try:
                "".join(member)
            except TypeError:
                if reason := _inner_fault(member, room - 1):
                    return reason
        elif kind is dict:
            if not room:
                return _DEEP
            if reason := _inner_fault(member.values(), room - 1):
                return reason
        elif kind is float:
            return _FLOAT
    return None


def _text_fault(data: bytes, value: object) -> str | None:
    """Faults of text in bytes that are canonical.

    There every control character below U+0020 is written with a backslash, and no other character but the
    quote and the backslash is, so most entries are settled by looking for single bytes. A quote starts every
    string and joins with no mark, so the text may be held against NFC as a whole.
    """
    if b"\\" in data and b"\\" in data.replace(b"\\\\", b"").replace(b'\\"', b""):
        return _CONTROL
    if data.isascii():
        return _CONTROL if b"\x7f" in data else None
    if _CONTROL_BYTES.search(data):
        return _CONTROL
    if not unicodedata.is_normalized("NFC", data.decode()):
        return "not NFC"
    return None if _keys_are_ascii(value) else "a key that is not ASCII"


def _keys_are_ascii(value: object) -> bool:
    if isinstance(value, dict):
        return all(key.isascii() and _keys_are_ascii(member) for key, member in value.items())
    return all(map(_keys_are_ascii, value)) if isinstance(value, list) else True


class _Reason(Exception):
    """Carries a reason out of the standard library's parser."""


def _why_different(data: bytes) -> str:
    try:
        json.loads(
            data.decode(),
            object_pairs_hook=_refuse_doubles,
            parse_float=_refuse_float,
            parse_int=_refuse_big,
            parse_constant=_refuse_float,
        )
    except UnicodeDecodeError:
        return "not UTF-8"
    except _Reason as reason:
        return str(reason)
    except RecursionError:
        return _DEEP
    except ValueError:
        return "not JSON"
    return _FORM


def _refuse_doubles(pairs: list[tuple[str, Any]]) -> None:
    if len({key for key, _ in pairs}) < len(pairs):
        raise _Reason("duplicate key")


def _refuse_float(_: str) -> NoReturn:
    raise _Reason(_FLOAT)


def _refuse_big(text: str) -> None:
    if len(text) > 17 or abs(int(text)) > MAX_WHOLE:
        raise _Reason(_BIG)


def _plain(value: object, path: str, room: int) -> Any:
    """The same value built of nothing but dict, list, str, int, bool and None."""
    if isinstance(value, str):
        return _plain_text(value, path)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        if abs(value) > MAX_WHOLE:
            raise InputError(field=path, given=value, wanted="a whole number within +-(2^53 - 1)")
        return int(value)
    if not room:
        raise InputError(field=path, given="more", wanted="at most 32 arrays and objects inside one another")
    if isinstance(value, Mapping):
        return {_plain_key(key, path): _plain(member, _under(path, key), room - 1) for key, member in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(member, f"{path}[{index}]", room - 1) for index, member in enumerate(value)]
    wanted = "text, a whole number, true, false, null, or an object or array of these"
    raise InputError(field=path, given=value, wanted=wanted)


def _under(path: str, key: object) -> str:
    return f"{path}.{key}" if path else str(key)


def _plain_key(key: object, path: str) -> str:
    if not isinstance(key, str) or not key.isascii():
        raise InputError(field=_under(path, key), given=key, wanted="a key in ASCII letters")
    return _plain_text(key, _under(path, key))


def _plain_text(text: str, path: str) -> str:
    """The text itself. An error names the character only: the rest may be somebody's name."""
    if found := _CONTROL_TEXT.search(text):
        wanted = "text without control characters, several lines as a list"
        raise InputError(field=path, given=f"U+{ord(found[0]):04X}", wanted=wanted)
    if not text.isascii():
        if half := _HALF.search(text):
            raise InputError(field=path, given=f"U+{ord(half[0]):04X}", wanted="text without halves of characters")
        if not unicodedata.is_normalized("NFC", text):
            raise InputError(field=path, given="another form", wanted="text in Unicode normal form C")
    return str.__str__(text)
