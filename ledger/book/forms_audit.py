"""Audits the form of every entry: canonical bytes, members per kind, slip numbers, rule files.

Needs no key. Each entry is parsed once.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.chain_audit import stored
from ledger.book.faults import Fault, number, shown
from ledger.book.tables import as_bytes
from ledger.chain import canonical, entries

_MOST = 100


@dataclass
class _Slip:
    """What has happened to one slip number so far."""

    leaf: str
    items: int
    state: str = "presented"


@dataclass
class _Account:
    """What the entries so far have made of slip numbers and rule files."""

    slips: dict[int, _Slip] = field(default_factory=dict)
    adopted: set[str] = field(default_factory=set)
    recorded_at: str = ""


def forms(connection: sa.Connection, book: str) -> list[Fault]:
    """Faults in the form of the entries, in entry order."""
    faults: list[Fault] = []
    account = _Account()
    for rows in stored(connection, book):
        for seq, data, leaf, _prev in rows:
            value, reason = canonical.examine(data if data.__class__ is bytes else as_bytes(data))
            if value is None:
                faults.append(Fault("forms", number(seq), f"its bytes are not in the book's form: {reason}"))
            elif reason := entries.member_fault(value):
                faults.append(Fault("forms", number(seq), reason))
            else:
                if value["book"] != book:
                    faults.append(Fault("forms", number(seq), "it belongs to another book", book, value["book"]))
                if reason := entries.order_fault(account.recorded_at, value["recorded_at"], value.get("clock")):
                    faults.append(Fault("forms", number(seq), reason))
                account.recorded_at = value["recorded_at"]
                if reason := _accounted(account, value, as_bytes(leaf)):
                    faults.append(Fault("forms", number(seq), reason))
    return [*faults[:_MOST], *_rule_files(connection, book, account.adopted)]


def _accounted(account: _Account, value: Mapping[str, Any], leaf: bytes) -> str | None:
    """What is wrong with the entry in the light of those before it."""
    kind, public = value["kind"].partition("/")[0], value["public"]
    if kind == "rules-adopted":
        account.adopted.add(public["digest"])
    unknown = set(public.get("rules", ())) - account.adopted
    if unknown:
        return f"it names the rule file {min(unknown)}, which no entry before it adopted"
    if kind == "presented":
        return _presented(account, public, leaf)
    if "slip" in public:
        return _later(account, kind, public)
    return None


def _presented(account: _Account, public: Mapping[str, Any], leaf: bytes) -> str | None:
    slip, expected = public["slip"], len(account.slips) + 1
    if slip in account.slips:
        return f"slip {slip} is presented a second time"
    account.slips[slip] = _Slip(leaf.hex(), public["items"])
    return None if slip == expected else f"slip numbers are gapless: {expected} was to come and {slip} came"


_NEEDS = {"purchase": {"presented"}, "withdrawn": {"presented"}, "void": {"recorded"}}
_MAKES = {"purchase": "recorded", "withdrawn": "withdrawn", "void": "voided"}


def _later(account: _Account, kind: str, public: Mapping[str, Any]) -> str | None:
    name = f"slip {public['slip']}"
    slip = account.slips.get(public["slip"])
    if slip is None:
        return f"it speaks of {name}, which was never presented"
    if kind in _NEEDS and slip.state not in _NEEDS[kind]:
        return f"{name} cannot be {_MAKES[kind]}: it stands as {slip.state}"
    if kind == "purchase" and public["presented"] != slip.leaf:
        return f"{name} was presented as {slip.leaf}, and this purchase names {public['presented']}"
    if kind == "purchase" and public["items"] > slip.items:
        return f"{name} was presented with {slip.items} items, and this purchase counts {public['items']}"
    slip.state = _MAKES.get(kind, slip.state)
    return None


def _rule_files(connection: sa.Connection, book: str, adopted: set[str]) -> list[Fault]:
    file = tables.rule_files.c
    faults = []
    kept = set()
    for digest, data in connection.execute(sa.select(file.digest, file.bytes).where(file.book == book)):
        kept.add(digest)
        found = hashlib.sha256(as_bytes(data)).hexdigest()
        if found != digest:
            what = "the kept bytes of a rule file are not those adopted"
            faults.append(Fault("forms", None, what, shown(digest), found))
        if not isinstance(data, bytes):
            faults.append(Fault("forms", None, f"the column bytes of rule file {shown(digest)} holds no bytes"))
        if digest not in adopted:
            faults.append(Fault("forms", None, "a rule file is kept that no entry adopted", "", shown(digest)))
    faults += [Fault("forms", None, "an adopted rule file is missing", lost, "none") for lost in sorted(adopted - kept)]
    return faults
