"""What an authority asked of the shop, as values: read once at the door, with every member named that is wrong.

Decides: which members a request and each thing that follows it have, and which of them must be said. A request
without a power is no request; one that was narrowed or refused says why. Leaves to `requests` what stands in the book.

>>> read_step({"event": "closed", "at": "2031-03-04T10:15:00-05:00[America/New_York]", "by": "ida"}).event
'closed'
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from ledger.acts import holding
from ledger.errors import InputError, Said
from ledger.moments import local_text, parse_local

KINDS = {
    "request": "a request",
    "consent": "a consent",
    "subpoena": "a subpoena",
    "warrant": "a warrant",
    "court-order": "an order of a court",
    "emergency": "a request in an emergency",
    "preservation": "a preservation letter",
    "release": "a release",
    "replevin": "a replevin",
}
ARRIVED = {
    "in-person": "in person",
    "telephone": "by telephone",
    "mail": "by mail",
    "e-mail": "by e-mail",
    "fax": "by fax",
    "portal": "through a portal",
}
DECIDED = ("given", "narrowed", "refused")
UNTIL_LIFTED = "lifted"
"""in place of a moment: it is secret until somebody says that it no longer is"""
EVENTS: Mapping[str, str] = {
    "decided": "decision",
    "called-back": "result",
    "delivered": "how to signature",
    "released": "form",
    "preservation-ended": "",
    "secrecy": "until",
    "seller-notified": "",
    "claimed": "claimant claim",
    "followed-up": "what",
    "closed": "",
}
"""what may follow a request, and the members that each has beside event, at, by and said"""

_HASH = re.compile("[0-9a-f]{64}")
_ABOUT = re.compile("(?:slip|item|inquiry|report|lot|inspection|process)/[A-Za-z0-9][A-Za-z0-9./_-]{0,80}")
OFFICER = ("name", "badge", "agency", "phone")
_TEXTS = ("case", "form", "received_by", "claim")
_MEMBERS = (
    *("kind", "received", "how", "officer", "power", "scope", "call_back", "items", "secret_until", "preserve"),
    *("follow_up", "true_owner", "decision", *_TEXTS),
)


@dataclass(frozen=True)
class Decision:
    """What the shop decided to give, who decided it, and why not more."""

    state: str
    """given | narrowed | refused"""
    by: str
    because: str = ""
    fields: tuple[str, ...] = ()
    """names of parts or plain words: what of the entries was given"""
    entries: tuple[int, ...] = ()
    """numbers of entries whose content was given, such as that of an extract or of a dossier's look"""
    hashes: tuple[str, ...] = ()
    """SHA-256 of what was handed over outside the book's own papers"""
    people: bool = False
    """whether the power reaches the data of persons: the second act that such data need"""
    seller: str = ""
    """told, or why not"""

    def record(self) -> dict[str, Any]:
        """As the part `process` holds it."""
        return {
            "state": self.state,
            "by": self.by,
            "because": self.because,
            "fields": list(self.fields),
            "entries": list(self.entries),
            "hashes": list(self.hashes),
            "people": self.people,
            "seller": self.seller,
        }


@dataclass(frozen=True)
class Preserve:
    """What must not be forgotten while a preservation stands."""

    names: tuple[str, ...]
    """as entries name them: slip/12, item/12/1, report/..."""
    everything: bool = False
    until: datetime | None = None

    def record(self) -> dict[str, Any]:
        """As the part `process` holds it."""
        until = None if self.until is None else local_text(self.until)
        return {"names": list(self.names), "everything": self.everything, "until": until}


@dataclass(frozen=True)
class Requested:
    """A request as it came, with what the shop knows of who made it."""

    kind: str
    received: datetime
    how: str
    officer: Mapping[str, str]
    power: str
    scope: str
    call_back: Mapping[str, Any]
    items: tuple[tuple[int, int], ...] = ()
    secret_until: datetime | str | None = None
    preserve: Preserve | None = None
    follow_up: tuple[tuple[str, datetime], ...] = ()
    true_owner: str = ""
    decision: Decision | None = None
    texts: Mapping[str, str] | None = None

    def record(self) -> dict[str, Any]:
        """As the part `process` holds it."""
        secret = self.secret_until
        return {
            "event": "received",
            "kind": self.kind,
            "received": local_text(self.received),
            "how": self.how,
            "officer": dict(self.officer),
            "power": self.power,
            "scope": self.scope,
            "call_back": dict(self.call_back),
            "items": [f"{slip}/{line}" for slip, line in self.items],
            "secret_until": local_text(secret) if isinstance(secret, datetime) else secret,
            "preserve": None if self.preserve is None else self.preserve.record(),
            "follow_up": [{"what": what, "due": local_text(due)} for what, due in self.follow_up],
            "true_owner": self.true_owner,
            "decision": None if self.decision is None else self.decision.record(),
            **(self.texts or {}),
        }


@dataclass(frozen=True)
class Step:
    """Something that followed a request."""

    event: str
    at: datetime
    by: str
    said: str = ""
    more: Mapping[str, Any] | None = None

    def record(self) -> dict[str, Any]:
        """As the part `process` holds it."""
        return {
            "event": self.event,
            "at": local_text(self.at),
            "by": self.by,
            "said": self.said,
            **(self.more or {}),
        }


def read(document: Mapping[str, Any]) -> Requested:
    """A request from a document. Raises: InputError naming the member that is wrong, without repeating it."""
    _only(document, _MEMBERS)
    kind = _one_of(document, "kind", tuple(KINDS))
    preserve = _preserve(document.get("preserve"))
    if kind == "preservation" and preserve is None:
        raise InputError(field="preserve", given="nothing", wanted='what to keep, such as { names = ["slip/12"] }')
    return Requested(
        kind=kind,
        received=moment(document, "received"),
        how=_one_of(document, "how", tuple(ARRIVED)),
        officer=_officer(document.get("officer")),
        power=text(document, "power"),
        scope=text(document, "scope"),
        call_back=_call_back(document.get("call_back")),
        items=items(document),
        secret_until=_secret(document.get("secret_until"), "secret_until"),
        preserve=preserve,
        follow_up=follow_ups(document),
        true_owner=text(document, "true_owner", needed=False),
        decision=None if "decision" not in document else _decision(document["decision"]),
        texts={name: text(document, name, needed=False) for name in _TEXTS},
    )


def read_step(document: Mapping[str, Any]) -> Step:
    """What followed a request, from a document. Raises: InputError."""
    event = _one_of(document, "event", tuple(EVENTS))
    own = EVENTS[event].split()
    _only(document, ("event", "at", "by", "said", *own))
    more: dict[str, Any] = {}
    for name in own:
        if name == "decision":
            more[name] = _decision(document.get(name)).record()
        elif event == "secrecy":
            until = _secret(document.get(name), name)
            more[name] = local_text(until) if isinstance(until, datetime) else until
        else:
            more[name] = text(document, name, needed=name not in ("signature", "claim"))
    said = text(document, "said", needed=False)
    return Step(event, moment(document, "at"), text(document, "by"), said, more)


def text(document: Mapping[str, Any], name: str, *, needed: bool = True, within: str = "") -> str:
    """A member that is text. within: the name of the table that it stands in. Raises: InputError."""
    found = document.get(name, "")
    if not isinstance(found, str) or (needed and not found.strip()):
        raise InputError(field=f"{within}{name}", given=Said("nothing that could be read"), wanted="text")
    return found.strip()


def moment(document: Mapping[str, Any], name: str) -> datetime:
    """A member that is a local moment. Raises: InputError."""
    return parse_local(str(document.get(name, "")), name)


def items(document: Mapping[str, Any]) -> tuple[tuple[int, int], ...]:
    """The member `items`: SLIP/LINE each; none without it. Raises: InputError."""
    return tuple(holding.item_named(one, "items") for one in _texts(document.get("items", []), "items"))


def follow_ups(document: Mapping[str, Any]) -> tuple[tuple[str, datetime], ...]:
    """The member `follow_up`: what is to be done by when; none without it. Raises: InputError."""
    found = []
    for one in _tables(document.get("follow_up", []), "follow_up"):
        _only(one, ("what", "due"), "follow_up.")
        found.append((text(one, "what", within="follow_up."), moment(one, "due")))
    return tuple(found)


def _only(document: Mapping[str, Any], known: tuple[str, ...], within: str = "") -> None:
    unknown = sorted(set(document) - set(known))
    if unknown:
        name = within + unknown[0]
        raise InputError(field=name, given=unknown[0], wanted="one of " + ", ".join(known))


def _one_of(document: Mapping[str, Any], name: str, known: tuple[str, ...], within: str = "") -> str:
    found = document.get(name)
    if found not in known:
        raise InputError(field=within + name, given=Said("something else"), wanted="one of " + ", ".join(known))
    return str(found)


def _texts(found: Any, name: str) -> list[str]:
    if not isinstance(found, list) or not all(isinstance(one, str) and one for one in found):
        raise InputError(field=name, given=Said("something else"), wanted="a list of texts")
    return found


def _tables(found: Any, name: str) -> list[Mapping[str, Any]]:
    if not isinstance(found, list) or not all(isinstance(one, Mapping) for one in found):
        raise InputError(field=name, given=Said("something else"), wanted="a list of tables")
    return found


def _table(found: Any, name: str, known: tuple[str, ...]) -> Mapping[str, Any]:
    if not isinstance(found, Mapping):
        raise InputError(field=name, given=Said("no table"), wanted=f"a table with {', '.join(known)}")
    _only(found, known, f"{name}.")
    return found


def _flag(document: Mapping[str, Any], name: str, within: str) -> bool:
    found = document.get(name, False)
    if not isinstance(found, bool):
        raise InputError(field=within + name, given=Said("something else"), wanted="true or false")
    return found


def _officer(found: Any) -> Mapping[str, str]:
    said = _table(found, "officer", OFFICER)
    return {name: text(said, name, needed=name in ("name", "agency"), within="officer.") for name in OFFICER}


def _call_back(found: Any) -> Mapping[str, Any]:
    """Whether the shop called the agency back under a number that it had from elsewhere; if not, why not."""
    said = _table(found, "call_back", ("done", "at", "result", "because"))
    if _flag(said, "done", "call_back."):
        return {"done": True, "at": local_text(moment(said, "at")), "result": text(said, "result", within="call_back.")}
    return {"done": False, "because": text(said, "because", within="call_back.")}


def _secret(found: Any, name: str) -> datetime | str | None:
    if found is None:
        return None
    if found == UNTIL_LIFTED:
        return UNTIL_LIFTED
    return parse_local(str(found), name)


def _preserve(found: Any) -> Preserve | None:
    if found is None:
        return None
    said = _table(found, "preserve", ("names", "everything", "until"))
    names, everything = _texts(said.get("names", []), "preserve.names"), _flag(said, "everything", "preserve.")
    if (not everything and not names) or not all(map(_ABOUT.fullmatch, names)):
        wanted = 'names such as ["slip/12", "item/14/2"], or everything = true'
        raise InputError(field="preserve.names", given=names, wanted=wanted)
    until = None if said.get("until") is None else moment(said, "until")
    return Preserve(tuple(sorted(set(names))), everything, until)


def _decision(found: Any) -> Decision:
    known = ("state", "by", "because", "fields", "entries", "hashes", "people", "seller")
    said = _table(found, "decision", known)
    state = _one_of(said, "state", DECIDED, "decision.")
    because = text(said, "because", needed=state != "given", within="decision.")
    entries, hashes = said.get("entries", []), _texts(said.get("hashes", []), "decision.hashes")
    if not isinstance(entries, list) or not all(type(one) is int and one >= 0 for one in entries):
        raise InputError(field="decision.entries", given=Said("something else"), wanted="a list of entry numbers")
    if not all(map(_HASH.fullmatch, hashes)):
        raise InputError(field="decision.hashes", given=hashes, wanted="SHA-256, 64 lower-case hex digits each")
    people = _flag(said, "people", "decision.")
    if people and state == "refused":
        raise InputError(field="decision.people", given=True, wanted="false, since the request is refused")
    return Decision(
        state=state,
        by=text(said, "by", within="decision."),
        because=because,
        fields=tuple(_texts(said.get("fields", []), "decision.fields")),
        entries=tuple(entries),
        hashes=tuple(hashes),
        people=people,
        seller=text(said, "seller", needed=False, within="decision."),
    )
