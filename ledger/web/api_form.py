"""The form of what devices ask: a call with its schema, the OpenAPI document made of all calls, how a fault is told.

Decides: that a document is held against the same schema that is published, that no fault repeats what
was sent: only its field, its kind and what is wanted.
Leaves to others: who speaks (`guard`), what a call does (`api`), the slip's own schema (`slip.schema`), the form of a
fault (`problems`).
"""

import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.responses import Response

from ledger.errors import InputError, LedgerError, LockedError, Said
from ledger.slip.checking import PointNumber, compile_schema
from ledger.slip.schema import SCHEMA
from ledger.web import problems
from ledger.web.problems import problem
from ledger.web.visits import Route

Node = dict[str, Any]
BEARER: Final = "device"


@dataclass(frozen=True, kw_only=True)
class Call:
    """One thing that a device may ask."""

    route: Route
    may: str
    """what the device must be allowed; empty: every device"""
    says: str
    answer: Node
    """schema of a good answer"""
    status: int = 200
    body: Node | None = None
    media: str = "application/json"
    """of a good answer"""
    query: Mapping[str, Node] = field(default_factory=dict)
    key: bool = False
    """whether an Idempotency-Key must come with it"""


def openapi(calls: Iterable[Call], *, version: str) -> Node:
    """The OpenAPI 3.1 document of these calls."""
    paths: dict[str, Node] = {}
    for call in calls:
        paths.setdefault(call.route.path, {})[call.route.method.lower()] = _operation(call)
    plain = {name: node for name, node in SCHEMA.items() if name not in ("$defs", "$schema")}
    return {
        "openapi": "3.1.0",
        "info": {"title": "Counter of a counterfoil book", "version": version},
        "paths": paths,
        "components": {
            "schemas": {
                "Slip": _lifted(plain),
                **{name: _lifted(node) for name, node in SCHEMA["$defs"].items()},
                "Problem": problems.SCHEMA,
            },
            "securitySchemes": {BEARER: {"type": "http", "scheme": "bearer"}},
        },
        "security": [{BEARER: []}],
    }


def _operation(call: Call) -> Node:
    told = {"content": {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    made: Node = {
        "operationId": call.route.name,
        "summary": call.says,
        "parameters": [
            *(_parameter(name, "path", _NUMBER, True) for name in re.findall(r"{(\w+)}", call.route.path)),
            *(_parameter(name, "query", node, False) for name, node in call.query.items()),
            *([_parameter("Idempotency-Key", "header", _KEY, True)] if call.key else []),
        ],
        "responses": {
            str(call.status): {"description": call.says, "content": {call.media: {"schema": _lifted(call.answer)}}},
            **{status: {"description": says, **told} for status, says in _PROBLEMS.items()},
        },
    }
    if call.body is not None:
        made["requestBody"] = {"required": True, "content": {"application/json": {"schema": _lifted(call.body)}}}
    return made


_NUMBER: Final[Node] = {"type": "integer", "minimum": 0, "maximum": 10**18 - 1}
_KEY: Final[Node] = {"type": "string", "pattern": "^[!-~]{8,200}$"}
_PROBLEMS: Final = {
    "400": "this is no request that the counter understands",
    "401": "no token of a device that is in use",
    "403": "this device, or this address, may not ask that",
    "404": "there is no such thing in the book",
    "409": "the law says no, or something is undecided",
    "405": "not by this method",
    "413": "more than this call takes",
    "422": "something sent cannot be taken as it is",
    "429": "too many wrong tokens came from this address; Retry-After says how many seconds to wait",
    "503": "the vault is closed until somebody of the shop signs in",
    "default": "anything else that went wrong",
}


def _parameter(name: str, where: str, node: Node, required: bool) -> Node:
    return {"name": name, "in": where, "required": required, "schema": node}


def _lifted(node: Any) -> Any:
    """A schema whose references lead to the document's components."""
    if isinstance(node, dict):
        return {name: _lifted(inner) for name, inner in node.items()}
    if isinstance(node, list):
        return [_lifted(inner) for inner in node]
    if isinstance(node, str) and node.startswith("#/$defs/"):
        return node.replace("#/$defs/", "#/components/schemas/", 1)
    return node


def checker(body: Node) -> Callable[[bytes], dict[str, Any]]:
    """A function from the bytes of a request to its document. It raises InputError with the first fault."""
    faults = compile_schema({**body, "$defs": SCHEMA["$defs"]})

    def read(data: bytes) -> dict[str, Any]:
        try:
            document = json.loads(
                data,
                object_pairs_hook=_once_each,
                parse_float=PointNumber,
                parse_constant=PointNumber,
                parse_int=lambda digits: int(digits) if len(digits) <= 20 else PointNumber(digits),
            )
        except (ValueError, RecursionError):
            wanted = "one JSON object in UTF-8, each member once"
            raise InputError(field="body", given=Said("something else"), wanted=wanted) from None
        if found := faults(document):
            found[0].field = found[0].field or "body"
            raise found[0]
        taken: dict[str, Any] = document
        return taken

    return read


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member twice")
    return members


def one_line(text: str, name: str) -> str:
    """A text in NFC. Raises: InputError when it holds what cannot be printed."""
    if not text.isprintable():
        raise InputError(field=name, given=Said("a text with control characters"), wanted="one line of text")
    return unicodedata.normalize("NFC", text)


def told(fault: LedgerError, *, missing: bool = False) -> Response:
    """A fault as a problem. missing: whether a wrong number in the address means that there is no such thing.

    Raises: the fault itself when it is not the device's to mend.
    """
    if isinstance(fault, InputError):
        given = kind_of(fault.given)
        says = f"{fault.field}: {given} was given; wanted is {fault.wanted}."
        status = 404 if missing else problems.status_of(fault)
        return problem(status, says, field=fault.field, given=given, wanted=fault.wanted)
    status = 503 if isinstance(fault, LockedError) else problems.status_of(fault)
    if status >= 500 and not isinstance(fault, LockedError):
        raise fault
    return problem(status, str(fault), sentences=list(getattr(fault, "sentences", ())))


def kind_of(value: object) -> str:
    """What kind of value was given, without the value.

    >>> kind_of("Ann"), kind_of(Said("an empty text")), kind_of(7), kind_of(None)
    ('a text of 3 characters', 'an empty text', 'a number', 'something else')
    """
    match value:
        case Said():
            return str(value)
        case str():
            return f"a text of {len(value):,} characters"
        case int():
            return "a number"
        case _:
            return "something else"
