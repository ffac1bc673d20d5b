"""The form of what devices ask: a call with its schema, the OpenAPI document made of all calls, how a fault is told.

Decides: that a document is held against the same schema that is published, that faults are problems in the form of RFC
9457, and that none of them repeats what was sent: only its field, its kind and what is wanted.
Leaves to others: who speaks (`guard`), what a call does (`api`), the slip's own schema (`slip.schema`).
"""

import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.responses import JSONResponse, Response

from ledger.errors import ForbiddenByLaw, InputError, LedgerError, LockedError, NoRuleForDay, Said, StillUndecided
from ledger.slip.checking import PointNumber, compile_schema
from ledger.slip.schema import SCHEMA
from ledger.web.visits import Route

Node = dict[str, Any]
BEARER: Final = "device"
_STATUS: Final[tuple[tuple[type[LedgerError], int], ...]] = (
    (InputError, 422),
    (ForbiddenByLaw, 409),
    (StillUndecided, 409),
    (NoRuleForDay, 409),
    (LockedError, 503),
)
PROBLEM: Final[Node] = {
    "type": "object",
    "description": "A fault, in the form of RFC 9457.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"const": "about:blank"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "one sentence that ends with what to do"},
        "field": {"type": "string", "description": "the member that is wrong"},
        "given": {"type": "string", "description": "what kind of value was given; the value itself is not repeated"},
        "wanted": {"type": "string"},
        "sentences": {"type": "array", "items": {"type": "string"}, "description": "each duty that stops the act"},
    },
}
REFUSAL: Final[Node] = {
    "type": "object",
    "description": "The counter's door did not let the request in.",
    "required": ["says", "kind"],
    "properties": {"says": {"type": "string"}, "kind": {"type": "string"}, "field": {"type": "string"}},
}


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
                "Problem": PROBLEM,
                "Refusal": REFUSAL,
            },
            "securitySchemes": {BEARER: {"type": "http", "scheme": "bearer"}},
        },
        "security": [{BEARER: []}],
    }


def _operation(call: Call) -> Node:
    problem = {"content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    refusal = {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Refusal"}}}}
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
            **{status: {"description": says, **problem} for status, says in _PROBLEMS.items()},
            **{status: {"description": says, **refusal} for status, says in _REFUSALS.items()},
            "403": {
                "description": "this device, or this address, may not ask that",
                "content": {**problem["content"], **refusal["content"]},
            },
        },
    }
    if call.body is not None:
        made["requestBody"] = {"required": True, "content": {"application/json": {"schema": _lifted(call.body)}}}
    return made


_NUMBER: Final[Node] = {"type": "integer", "minimum": 0, "maximum": 10**18 - 1}
_KEY: Final[Node] = {"type": "string", "pattern": "^[!-~]{8,200}$"}
_PROBLEMS: Final = {
    "404": "there is no such thing in the book",
    "409": "the law says no, or something is undecided",
    "422": "something sent cannot be taken as it is",
    "503": "the vault is closed until somebody of the shop signs in",
}
_REFUSALS: Final = {
    "400": "this is no request that the counter understands",
    "401": "no token of a device that is in use",
    "405": "not by this method",
    "413": "more than this call takes",
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
    status = next((status for kind, status in _STATUS if isinstance(fault, kind)), None)
    if status is None:
        raise fault
    if isinstance(fault, InputError):
        given = kind_of(fault.given)
        says = f"{fault.field}: {given} was given; wanted is {fault.wanted}."
        return problem(404 if missing else status, says, field=fault.field, given=given, wanted=fault.wanted)
    sentences = list(getattr(fault, "sentences", ()))
    return problem(status, str(fault), **({"sentences": sentences} if sentences else {}))


_TITLES: Final = {
    403: "Not for this device",
    404: "Not in this book",
    409: "It cannot be done now",
    422: "It cannot be taken as it is",
    503: "The vault is closed",
}


def problem(status: int, detail: str, **more: Any) -> Response:
    """One problem, RFC 9457."""
    document = {"type": "about:blank", "title": _TITLES[status], "status": status, "detail": detail, **more}
    return JSONResponse(document, status, media_type="application/problem+json")


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
