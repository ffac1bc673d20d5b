"""Entries and parts, and lies about their bytes and members. `finds` is what the program says of each."""

import base64
import json
from typing import Any

from ledger.chain import parts
from tests.chain_book import birth_date, small_book
from tests.lies.cases import Case, Lies


def _case(data: bytes, finds: str | None) -> Case:
    try:
        shown: Case = {"text": data.decode()}
    except UnicodeDecodeError:
        shown = {"hex": data.hex()}
    return {**shown, "valid": finds is None, "finds": finds}


def _written(value: Any) -> bytes:
    """Canonical bytes of any value, written by the standard library so that nothing is refused on the way."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()


def _byte_lies(data: bytes) -> dict[str, tuple[bytes, str]]:
    """Lies about the bytes of an entry, each with what it is called."""
    form = "not in canonical form"
    edits: dict[str, tuple[str, str, str]] = {
        "duplicate-key": ('"items":1,', '"items":1,"items":1,', "duplicate key"),
        "duplicate-key-with-another-value": ('"items":1,', '"items":1,"items":2,', "duplicate key"),
        "duplicate-key-escaped": ('"items":1,', '"items":1,"\\u0069tems":1,', "duplicate key"),
        "float": ('"items":1', '"items":1.5', "a float"),
        "float-that-is-whole": ('"items":1', '"items":1.0', "a float"),
        "exponent": ('"items":1', '"items":1e0', "a float"),
        "not-a-number": ('"items":1', '"items":NaN', "a float"),
        "minus-zero": ('"items":1', '"items":-0', form),
        "leading-zero": ('"items":1', '"items":01', "not JSON"),
        "number-too-large": ('"items":1', '"items":9007199254740992', "a whole number beyond 2^53 - 1"),
        "number-far-too-large": ('"items":1', f'"items":1{"0" * 400}', "a whole number beyond 2^53 - 1"),
        "white-space": (',"book"', ', "book"', form),
        "unsorted-keys": ('"items":1,"pictures"', '"pictures"', form),
        "escaped-letter": ('"by":"ida"', '"by":"\\u0069da"', form),
        "escaped-slash": ("slip/1", "slip\\/1", form),
        "control-character": ('"by":"ida"', '"by":"i\\u0000da"', "control character"),
        "line-feed": ('"by":"ida"', '"by":"i\\nda"', "control character"),
        "line-feed-beside-backslashes": ('"by":"ida"', '"by":"\\\\\\"\\n"', "control character"),
        "delete-character": ('"by":"ida"', '"by":"i\x7fda"', "control character"),
        "raw-line-feed": ('"by":"ida"', '"by":"i\nda"', "not JSON"),
        "c1-control-character": ('"by":"ida"', '"by":"i\x85da"', "control character"),
        "not-composed": ('"by":"ida"', '"by":"ide\u0301"', "not NFC"),
        "ligature-key": ('"items":1', '"item\u00df":1', "a key that is not ASCII"),
        "half-a-character": ('"by":"ida"', '"by":"\\ud800"', form),
        "byte-order-mark": ('{"about"', '\ufeff{"about"', "not JSON"),
        "comment": ('{"about"', '/**/{"about"', "not JSON"),
        "single-quotes": ('"by":"ida"', "\"by\":'ida'", "not JSON"),
    }
    text = data.decode()
    lies = {name: (text.replace(old, new, 1).encode(), finds) for name, (old, new, finds) in edits.items()}
    pictures = text.index('"pictures"')
    moved = text[:pictures].replace('"items":1,', "") + text[pictures:].replace('],"rules"', '],"items":1,"rules"')
    return {
        **lies,
        "unsorted-keys": (moved.encode(), form),
        "cut-short": (data[:-1], "not JSON"),
        "trailing-garbage": (data + b"}", "not JSON"),
        "trailing-line-feed": (data + b"\n", form),
        "two-objects": (data + data, "not JSON"),
        "nothing": (b"", "not JSON"),
        "not-an-object": (b"[" + data + b"]", "not an object"),
        "a-number": (b"1", "not an object"),
        "not-utf8": (data.replace(b'"ida"', b'"id\xe9"'), "not UTF-8"),
        "overlong-utf8": (data.replace(b'"ida"', b'"\xc1\xa9da"'), "not UTF-8"),
        "utf16": (data.decode().encode("utf-16-le"), "not JSON"),
        "nested-33-deep": (b'{"a":' + b"[" * 32 + b"]" * 32 + b"}", "nested too deeply"),
        "nested-33-deep-in-objects": (b'{"a":' * 32 + b"{}" + b"}" * 32, "nested too deeply"),
        "nested-300-deep": (b'{"a":' + b"[" * 300 + b"]" * 300 + b"}", "not in canonical form"),
    }


def _member_lies(value: Case) -> dict[str, tuple[Case, str]]:
    """Lies about the members of an entry: what is changed (None: left out), and what it is called."""
    public = value["public"]

    def members(**changed: Any) -> Case:
        return {name: each for name, each in {**value, **changed}.items() if each is not None}

    def inside(**changed: Any) -> Case:
        return members(public={name: each for name, each in {**public, **changed}.items() if each is not None})

    own = "about is not one look and nothing else"
    frame = {
        "member-missing": (members(program=None), "program is missing"),
        "member-unknown": (members(seller="somebody"), "seller does not belong to an entry"),
        "seq-as-text": (members(seq="2"), "seq is not a whole number from 0"),
        "seq-below-zero": (members(seq=-1), "seq is not a whole number from 0"),
        "seq-is-true": (members(seq=True), "seq is not a whole number from 0"),
        "seq-zero": (members(seq=0), "a book is opened by its entry 0 and by no other"),
        "prev-of-zeros": (members(prev="0" * 64), "prev is 64 zeros in entry 0 and in no other"),
        "prev-in-capitals": (members(prev=value["prev"].upper()), "prev is not 64 lower-case hex digits"),
        "prev-as-a-list": (members(prev=[]), "prev is not 64 lower-case hex digits"),
        "book-with-another-name": (members(book="ledger/" + "0" * 32), "book is not an origin"),
        "book-and-prev-in-one": (
            members(book=f"{value['book']} {value['prev']}", prev=""),
            "book is not an origin",
        ),
        "recorded-without-decimals": (
            members(recorded_at="2031-03-04T17:02:00Z"),
            "recorded_at is not a UTC moment with three decimals",
        ),
        "recorded-on-no-day": (
            members(recorded_at="2031-02-29T17:02:00.000Z"),
            "recorded_at does not lie on a day of the calendar",
        ),
        "occurred-without-a-zone": (
            members(occurred_at="2031-03-04T12:02:00-05:00"),
            "occurred_at is not a local moment with offset and zone",
        ),
        "occurred-on-no-day": (
            members(occurred_at="2031-02-29T12:02:00-05:00[America/New_York]"),
            "occurred_at is not a local moment with offset and zone",
        ),
        "clock-ahead": (members(clock="ahead"), "clock is not the word behind"),
        "nobody-wrote-it": (members(by=""), "by is not the id of a person, or program"),
        "parts-unsorted": (members(parts=["B" * 42 + "A", "A" * 43]), "parts is not a sorted list of digests"),
        "parts-twice": (members(parts=["A" * 43] * 2), "parts is not a sorted list of digests"),
        "parts-in-one-text": (
            members(parts=["A" * 43 + " " + "B" * 42 + "A"]),
            "parts is not a sorted list of digests",
        ),
        "parts-with-stray-bits": (members(parts=["A" * 42 + "B"]), "parts is not a sorted list of digests"),
        "parts-of-two-lengths": (members(parts=["A" * 42, "B" * 44]), "parts is not a sorted list of digests"),
        "parts-with-a-number": (members(parts=[7]), "parts is not a sorted list of digests"),
        "parts-as-text": (members(parts="A" * 43), "parts is not a sorted list of digests"),
        "about-somebody": (members(about=["seller/averill"]), "about is not a list of names"),
        "about-a-number": (members(about=[1]), "about is not a list of names"),
        "about-as-text": (members(about="book"), "about is not a list of names"),
        "about-twice": (members(about=["slip/1", "slip/1"]), "about names something twice"),
        "look-names-an-item": (members(kind="look/0", about=["look/1", "item/1/1"], public={}), own),
        "look-names-only-an-item": (members(kind="look/0", about=["item/1/1"], public={}), own),
        "look-names-nothing": (members(kind="look/0", about=[], public={}), own),
        "kind-unknown": (members(kind="gift/0"), "kind is not one that this program knows"),
        "kind-of-a-later-form": (members(kind="presented/9"), "kind is not one that this program knows"),
        "kind-as-a-number": (members(kind=0), "kind or public has the wrong type"),
        "public-as-a-list": (members(public=[]), "kind or public has the wrong type"),
    }
    kinds = {
        "public-missing": (inside(rules=None), "public.rules is missing"),
        "public-unknown": (inside(price=1), "public.price does not belong to this kind"),
        "slip-as-text": (inside(slip="1"), "public.slip is not a whole number from 1"),
        "slip-zero": (inside(slip=0), "public.slip is not a whole number from 1"),
        "slip-is-true": (inside(slip=True), "public.slip is not a whole number from 1"),
        "items-101": (inside(items=101), "public.items is not a whole number from 1 to 100"),
        "rules-twice": (
            inside(rules=public["rules"] * 2),
            "public.rules is not a sorted list of digests of rule files",
        ),
        "rules-in-capitals": (
            inside(rules=[public["rules"][0].upper()]),
            "public.rules is not a sorted list of digests of rule files",
        ),
        "picture-in-hex": (
            inside(pictures=[{"received": "0" * 64, "shown": "0" * 64}]),
            "public.pictures is not a list of digests, received and shown",
        ),
        "picture-without-a-copy": (
            inside(pictures=[{"received": "A" * 43}]),
            "public.pictures is not a list of digests, received and shown",
        ),
    }
    return {**frame, **kinds}


def entry_lies() -> Lies:
    book = small_book()
    data = book.data[2]
    happy = [*book.data, _written({**json.loads(data), "clock": "behind"}), _written(_occurred(json.loads(data)))]
    lies: Lies = {"happy": [_case(each, None) for each in happy]}
    for name, (changed, finds) in _byte_lies(data).items():
        lies[name] = [_case(changed, finds)]
    for name, (value, finds) in _member_lies(json.loads(data)).items():
        lies[name] = [_case(_written(value), finds)]
    return lies


def _occurred(value: Case) -> Case:
    return {**value, "occurred_at": "2031-03-01T12:02:00.25-05:00[America/New_York]"}


def _disclosed(value: Any) -> str:
    return base64.urlsafe_b64encode(value if isinstance(value, bytes) else _written(value)).rstrip(b"=").decode()


def part_lies() -> Lies:
    part = birth_date()
    salt, name, value = json.loads(base64.urlsafe_b64decode(part.disclosure + "=="))
    happy = [part, parts.make("item/2/price", {"currency": "USD", "minor": 18_000}, bytes(16))]
    happy.append(parts.make("declaration/text", ["Ünï", "ćode"], bytes(range(32, 48))))
    text = part.disclosure
    form, array = "not base64url without padding", "not a salt of 16 bytes, a part name and a value"
    lies = {
        "padded": (text + "=", form),
        "stray-bits": (text[:-1] + chr(ord(text[-1]) + 1), form),
        "one-letter-more": (text + "A", "not JSON"),
        "two-letters-less": (text[:-2], form),
        "line-feed-after": (text + "\n", form),
        "standard-alphabet": (_disclosed([salt, name, "ÿÿÿ"]).replace("_", "/").replace("-", "+"), form),
        "nothing": ("", form),
        "space-in-the-array": (_disclosed(f'["{salt}", "{name}","{value}"]'.encode()), "not in canonical form"),
        "an-object": (_disclosed({"salt": salt, "name": name, "value": value}), "not an array"),
        "no-salt": (_disclosed([name, value]), array),
        "one-member-more": (_disclosed([salt, name, value, value]), array),
        "salt-one-byte-short": (_disclosed([_disclosed(bytes(15)), name, value]), array),
        "salt-one-byte-long": (_disclosed([_disclosed(bytes(17)), name, value]), array),
        "salt-as-a-number": (_disclosed([0, name, value]), array),
        "salt-with-padding": (_disclosed([salt + "==", name, value]), form),
        "name-that-is-no-path": (_disclosed([salt, "Seller Birth", value]), array),
        "name-that-ends-in-a-slash": (_disclosed([salt, "seller/", value]), array),
        "name-as-a-number": (_disclosed([salt, 1, value]), array),
        "value-is-a-float": (_disclosed([salt, name, 1.5]), "a float"),
        "value-with-a-duplicate-key": (
            _disclosed(f'["{salt}","{name}",{{"a":1,"a":1}}]'.encode()),
            "duplicate key",
        ),
        "value-with-a-line-feed": (_disclosed([salt, name, "a\nb"]), "control character"),
    }
    told: Lies = {
        "happy": [
            {
                "disclosure": each.disclosure,
                "digest": each.digest,
                "name": each.name,
                "value": each.value,
                "valid": True,
            }
            for each in happy
        ]
    }
    for lie, (disclosure, finds) in lies.items():
        told[lie] = [{"disclosure": disclosure, "valid": False, "finds": finds}]
    return told
