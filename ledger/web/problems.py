"""A fault as a program is told it, be it a device or one of our own scripts: a problem in the form of RFC 9457.

Decides: the one form, and which status a fault of the house has. Leaves to whoever tells it what the sentence says.

>>> told = problem(404, "There is no such page.")
>>> told.status_code, told.media_type
(404, 'application/problem+json')
>>> told.body.decode()
'{"type":"about:blank","title":"Not Found","status":404,"detail":"There is no such page."}'
"""

from http import HTTPStatus
from typing import Any, Final

from starlette.responses import JSONResponse, Response

from ledger.errors import (
    BookError,
    ForbiddenByLaw,
    InputError,
    LedgerError,
    LockedError,
    RuleError,
    StillUndecided,
    StorageError,
)

MEDIA_TYPE: Final = "application/problem+json"
SCHEMA: Final[dict[str, Any]] = {
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
_STATUS: Final[tuple[tuple[type[LedgerError], int], ...]] = (
    (InputError, 422),
    (ForbiddenByLaw, 409),
    (StillUndecided, 409),
    (RuleError, 409),
    (LockedError, 423),
    (BookError, 500),
    (StorageError, 503),
)


def status_of(fault: LedgerError) -> int:
    """The status of an answer that tells this fault.

    >>> status_of(InputError(field="tray", given="7", wanted="a free number"))
    422
    """
    return next((status for kind, status in _STATUS if isinstance(fault, kind)), 500)


def problem(status: int, detail: str, **more: Any) -> Response:
    """One problem. more: members beside the usual ones; an empty one is left away.

    Source: RFC 9457, 4.2.1: a problem of the type about:blank has the phrase of its status as title.
    """
    told = {"type": "about:blank", "title": HTTPStatus(status).phrase, "status": status, "detail": detail}
    beside = {name: value for name, value in more.items() if value}
    return JSONResponse({**told, **beside}, status, media_type=MEDIA_TYPE)
