"""Pictures of a draft: taken or chosen at the counter, locked away at once, shown again to whoever writes the slip.

Decides: to which row of the slip a picture belongs, by the name of the field it came in; that one which a rule forbids
to keep is dropped with the reason. Leaves to `acts.drafts` locking, to `vault.pictures` what counts as a picture.
"""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from starlette.responses import Response

from ledger.acts import drafts
from ledger.errors import InputError, Said
from ledger.law.answers import Limit
from ledger.slip import filling
from ledger.web import reading_page
from ledger.web.visits import STAFF, Route, Upload, Visit

Fields = Mapping[str, str]

_FIELD: Final = re.compile(
    r"unkept\.file\.(parties|items)\.(\d{1,3})\.([a-z-]+)(?:\.(\d{1,2}))?",
)
_CLASSES: Final = {"print": "print", "document-front": "scan", "document-back": "scan"}
_NAMES: Final = {"image/jpeg": "picture.jpg", "image/png": "picture.png"}


def take(visit: Visit) -> Response:
    """POST /slip/{draft}/picture: every picture chosen in the form, each to the row that its field names."""
    draft = visit.path["draft"]
    if visit.fields.get("draft") != draft:
        raise InputError(field="draft", given=Said("the form of another slip"), wanted="the form of this slip")
    chosen = [(name, upload) for name, uploads in visit.uploads.items() for upload in uploads]
    if not chosen:
        raise InputError(field="picture", given=Said("no picture"), wanted="a picture that was taken or chosen")
    places = [(_row(name), upload) for name, upload in chosen]

    held = visit.write(lambda: reading_page.saved(visit))
    version, fields = held.version, held.fields
    for (path, told), upload in places:
        try:
            version, fields = _with(visit, version, fields, path, told, upload)
        except InputError as fault:
            if visit.wants_json or fault.field == "draft" or not path.startswith("parties."):
                raise
            said = f"A picture was not kept: {fault.given} was given; wanted is {fault.wanted}."
            fields = {**fields, f"ui.said.{path.split('.')[1]}": said}
    anchor = "parties" if places[0][0][0].startswith("parties") else "items"
    now = visit.write(lambda: drafts.save(visit.book, draft, fields, version=version))
    return reading_page.answered(visit, now, anchor, path=places[0][0][0])


def _row(name: str) -> tuple[str, dict[str, str]]:
    """The list in the document to which a field's picture belongs, and what the row says. Raises: InputError."""
    found = _FIELD.fullmatch(name)
    if found is None:
        raise InputError(field="picture", given=name[:60], wanted="a picture of a person or an item of this slip")
    top, number, word, document = found.groups()
    if top == "items":
        return f"items.{number}.pictures", {"shows": word}
    told = {"what": word} | ({"document": document} if document else {})
    return f"parties.{number}.captures", told


def _with(
    visit: Visit, version: int, fields: Fields, path: str, told: Mapping[str, str], upload: Upload
) -> tuple[int, Fields]:
    """The draft's version and fields with one picture more; with the reason in its place where a rule forbids it."""
    word = told.get("what", "")
    limit = _forbidding(visit, fields, word) if word else None
    if limit is not None:
        return version, filling.captured(fields, path, {**told, "not_taken": f"not kept: {limit.source}"})
    cls = _CLASSES.get(word, "seller") if word else "item"
    field = f"{path}.{word or told['shows']}"
    kept, file = visit.write(lambda: drafts.attach(visit.book, visit.path["draft"], upload.data, cls, field=field))
    if kept.version > version + 1:
        raise InputError(field="draft", given=Said("an older slip"), wanted="the slip as somebody else saved it")
    return kept.version, filling.captured(fields, path, {**told, "file": file})


def _forbidding(visit: Visit, fields: Fields, what: str) -> Limit | None:
    """The limit of a rule file by which a capture of this kind is not kept."""
    kept = drafts.open_(visit.book, visit.path["draft"])
    examined = drafts.margin(visit.book, replace(kept, fields=fields)).examined
    return None if examined is None else examined.forbids_capture(what)


def show(visit: Visit) -> Response:
    """GET /slip/{draft}/picture/{name}: the copy made for showing."""
    data, media_type = drafts.picture(visit.book, visit.path["draft"], visit.path["name"])
    return visit.sent(data, media_type, _NAMES.get(media_type, "picture"))


ROUTES: Final = (
    Route(
        method="POST",
        path="/slip/{draft}/picture",
        page=take,
        who=STAFF,
        name="slip-picture",
        most_bytes=reading_page.MOST_PICTURE,
        most_fields=8_000,
        most_files=20,
    ),
    Route(
        method="GET",
        path="/slip/{draft}/picture/{name}",
        page=show,
        who=STAFF,
        name="slip-picture-shown",
    ),
)
