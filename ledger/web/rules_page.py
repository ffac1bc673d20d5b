"""The rule files in force, rule by rule in words, and the adoption of another after its differences were seen.

Decides: that a file is shown with what it changes before it can be adopted, and that the same bytes are adopted that
were shown: they travel in the form. Leaves all else to `acts.governing` and `acts.setting_up`.
"""

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING

from ledger.acts import governing, setting_up
from ledger.errors import InputError, RuleFileWrong
from ledger.moments import parse_day
from ledger.web.visits import OWNERS, STAFF, Route, Visit

if TYPE_CHECKING:
    from starlette.responses import Response

CAUTION = (
    "A rule file is a person's reading of the law on a date: compare it with the law in force, and ask a licensed"
    " lawyer or the authority before use."
)
_FILE_BYTES = 2 * 1024 * 1024


def page(visit: Visit) -> "Response":
    """The files in force."""
    return _shown(visit)


def _shown(visit: Visit, **values: object) -> "Response":
    session = visit.session
    usual: dict[str, object] = {
        "files": governing.in_force(visit.book, visit.now.date()),
        "caution": CAUTION,
        "owner": session is not None and session.role == "owner",
        "difference": None,
        "text": "",
        "digest": "",
        "name": "",
        "wrong": (),
        "faults": [],
        "values": dict(visit.fields),
        "status": 200,
    }
    return visit.page("rules.html", **{**usual, **values})  # type: ignore[arg-type]


def differ(visit: Visit) -> "Response":
    """What an uploaded file would change; nothing is written."""
    given = next((one for one in visit.uploads.get("file", []) if one.data), None)
    if given is None:
        says = "Choose a rule file, such as town.toml."
        return _shown(visit, faults=[{"path": "file", "says": says}], status=422)
    try:
        found = governing.difference(visit.book, given.data, "the file")
    except RuleFileWrong as wrong:
        return _shown(visit, wrong=wrong.faults, status=422)
    return _shown(
        visit,
        difference=found,
        text=given.data.decode(),
        digest=found.file.digest,
        values={"compared_on": found.file.read_on.isoformat()},
    )


def adopt(visit: Visit) -> "Response":
    """Puts the file into force that was shown."""
    text, digest = visit.fields.get("text", ""), visit.fields.get("digest", "")
    data = _as_shown(text, digest)
    day, keys = parse_day(visit.fields.get("compared_on", ""), "compared_on"), visit.owner_keys
    book = replace(visit.book, keys=keys)
    visit.write(lambda: setting_up.adopt(book, data, "the file", compared_on=day, by=book.by))
    return visit.see("/rules")


def _as_shown(text: str, digest: str) -> bytes:
    """The bytes of the file as they were shown: a form sends every line's end as two characters.

    Raises: InputError where neither form of line ends gives the file that was shown.
    """
    for data in (text.replace("\r\n", "\n").encode(), text.encode()):
        if hashlib.sha256(data).hexdigest() == digest:
            return data
    raise InputError(
        field="file", given="another file", wanted="the file whose differences were shown; choose it again"
    )


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/rules", page=page, who=STAFF, name="rules", place="Rules"),
    Route(
        method="POST",
        path="/rules/differences",
        page=differ,
        who=OWNERS,
        name="rules-differences",
        most_bytes=_FILE_BYTES,
        most_files=1,
    ),
    Route(
        method="POST",
        path="/rules/adopt",
        page=adopt,
        who=OWNERS,
        name="rules-adopt",
        again=True,
        most_bytes=_FILE_BYTES,
    ),
)
