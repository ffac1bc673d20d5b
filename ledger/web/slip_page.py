"""The slip page: one draft as the paper it becomes, with its items, the payout and the margin beside it.

Decides: what a post of the page does (save, add a row, read a line of shorthand) and where the eye goes on. Leaves to
`slip.editing` the change itself, to `acts.drafts` keeping it, to `web.parties` the people, to the acts the law.
Every post saves the draft; a page without scripts and one with them post the same form to the same place.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from starlette.responses import Response

from ledger.acts import drafts
from ledger.acts.examining import Examined
from ledger.errors import InputError
from ledger.moments import local_text
from ledger.slip import completeness, editing, schema
from ledger.slip import fields as form
from ledger.slip.document import Slip
from ledger.web import items_page, margin_page, parties
from ledger.web.posted import number
from ledger.web.visits import STAFF, Route, Visit

INSTRUMENTS: Final = ("", *schema.SCHEMA["properties"]["payout"]["properties"]["instrument"]["enum"])
PRESSED: Final = "x-pressed"
"""a header: the page's script pressed the button, and puts the answer in place itself"""
_NAMED: Final = re.compile(r' name="([^"]+)"')
MOST_FIELDS: Final = 8_000
MOST_BYTES: Final = 512 * 1024


@dataclass(frozen=True)
class Seen:
    """A draft as it is looked at: what was worked out about it, and what cannot be taken yet."""

    kept: drafts.Kept
    margin: drafts.Margin
    faults: tuple[Mapping[str, str], ...]
    """path on the page and the sentence"""


def seen(visit: Visit, kept: drafts.Kept) -> Seen:
    """What is known about a draft now."""
    beside = drafts.margin(visit.book, kept)
    told = [(fault.field, fault.wanted) for fault in beside.faults]
    if beside.examined is not None:
        told += [(owed.field, owed.wanted) for owed in beside.examined.owed]
    places = items_page.places(kept.fields)
    faults = []
    for field, wanted in told:
        path = _on_page(form.path_of(field), places)
        faults.append({"path": path, "says": f"{margin_page.named(path)}: wanted is {wanted}."})
    return Seen(kept, beside, tuple(faults))


def _on_page(path: str, places: Sequence[int]) -> str:
    """A path of the document as the page numbers its items, which may have blank ones between."""
    top, _, rest = path.partition(".")
    number, dot, member = rest.partition(".")
    if top == "items" and number.isdigit() and int(number) < len(places):
        return f"items.{places[int(number)]}{dot}{member}"
    return path


def show(visit: Visit) -> Response:
    """GET /slip/{draft}."""
    kept = drafts.open_(visit.book, visit.path["draft"])
    return visit.page("slip.html", **values(visit, seen(visit, kept)))


def margin(visit: Visit) -> Response:
    """GET /slip/{draft}/margin: the margin alone, as it stands for what was saved last."""
    kept = drafts.open_(visit.book, visit.path["draft"])
    return visit.page("margin.html", **values(visit, seen(visit, kept)))


def post(visit: Visit) -> Response:
    """POST /slip/{draft}: saves, and does what the button says.

    A page with scripts that asks for JSON only saves: nothing is read or added while somebody types.
    """
    kept = drafts.open_(visit.book, visit.path["draft"])
    version, posted = version_of(visit), posted_of(visit)
    if visit.wants_json:
        return _saved(visit, _keep(visit, kept, editing.usual(posted), version))
    do = visit.fields.get("do", "save")
    fields, anchor = editing.applied(editing.read_lines(posted), do, test=_test_of(visit, posted))
    try:
        now = _keep(visit, kept, editing.usual(fields), version)
    except InputError as fault:
        if fault.field != "draft":
            raise
        return conflict(visit)
    place = margin_page.field_id(anchor) if anchor else "items" if _lines_read(posted) else ""
    if PRESSED in visit.request.headers:
        return visit.page("slip.html", **values(visit, seen(visit, now), go=place))
    return visit.see(f"/slip/{now.id}#{place}" if place else f"/slip/{now.id}")


def posted_of(visit: Visit) -> dict[str, str]:
    """The fields of the form that are kept."""
    return {name: value for name, value in parties.kept_fields(visit.fields).items() if value.strip()}


def version_of(visit: Visit) -> int:
    """The version that was on the page; the newest one where somebody chose to put his own in place of it.

    Raises: InputError where the form brings none: then nobody knows what it would be put in place of.
    """
    text = visit.fields.get("unkept.mine") or visit.fields.get("version", "")
    return number(text, "version", "the form of this slip, with the version that it was made from")


def conflict(visit: Visit) -> Response:
    """The page with what was typed, where somebody else saved meanwhile: to keep one of the two."""
    kept = drafts.open_(visit.book, visit.path["draft"])
    mine = replace(kept, fields=posted_of(visit), version=version_of(visit))
    return visit.page("slip.html", 409, **values(visit, seen(visit, mine), newest=kept.version))


def _lines_read(posted: Mapping[str, str]) -> bool:
    return any(
        posted.get(f"ui.line.{place}", "") != posted.get(f"ui.read.{place}", "")
        for place in range(editing.items_shown(posted))
    )


def _keep(visit: Visit, kept: drafts.Kept, fields: Mapping[str, str], version: int) -> drafts.Kept:
    """Saves the fields with those that follow from them."""
    beside = drafts.margin(visit.book, replace(kept, fields=fields))
    after = fields if beside.examined is None else drafts.following(fields, beside.examined)
    return visit.write(lambda: drafts.save(visit.book, kept.id, after, version=version))


def _test_of(visit: Visit, fields: Mapping[str, str]) -> Callable[[str], Mapping[str, str]]:
    """What a new test of a kind has at once: who makes it, when, and the instrument used for the last one."""

    def begun(kind: str) -> Mapping[str, str]:
        instrument = next(
            (
                fields.get(name.removesuffix("test") + "instrument", "")
                for name, value in fields.items()
                if name.startswith("items.") and name.endswith(".test") and value == kind
            ),
            "",
        )
        by = visit.session.staff if visit.session else ""
        found = {"by": by, "at": local_text(visit.now), "instrument": instrument}
        return {name: value for name, value in found.items() if value}

    return begun


def _saved(visit: Visit, kept: drafts.Kept) -> Response:
    """The answer to a page that saved itself: version, time, and what the margin, the count and the total say now."""
    now = values(visit, seen(visit, kept))
    beside = visit.page("margin.html", **now)
    return visit.json(
        {
            "version": kept.version,
            "saved_at": now["saved_at"],
            "margin": bytes(beside.body).decode(),
            "count": now["counted"]["says"],
            "differs": now["counted"]["differs"],
            "total": now["total"],
            "payout": {name: kept.fields.get(f"payout.{name}", "") for name in ("amount", "currency", "payee")},
        }
    )


def values(visit: Visit, looked: Seen, *, newest: int | None = None, go: str = "") -> dict[str, Any]:
    """Everything that the slip page's templates use.

    newest: the version somebody else saved meanwhile, where there is one. go: id of the field at which to go on.
    """
    kept, examined, fields = looked.kept, looked.margin.examined, looked.kept.fields
    told = looked.faults
    beside = margin_page.beside(
        examined,
        fields,
        form.reasons_of(fields),
        faults=told,
        sold_before=looked.margin.sold_before,
        says=looked.margin.says,
    )
    at_fields = [one for one in told if fields.get(one["path"])]
    return {
        "kept": kept,
        "fields": fields,
        "faults": at_fields,
        "conflict": newest is not None,
        "newest": newest,
        "go": go,
        "items": items_page.rows(fields, examined, at_fields),
        "choices": items_page.CHOICES,
        "pictures": items_page.PICTURES,
        "questions": tuple(margin_page.questions(examined, fields)) if examined is not None else (),
        "declarations": examined.duties.declarations if examined is not None else (),
        "instruments": INSTRUMENTS,
        "place_kinds": ("", *schema.PLACE_KINDS),
        "spots": editing.size_of(fields, "spot") + 1,
        "margin": beside,
        "margin_counts": _counts(beside),
        "counted": counted(examined.slip if examined is not None else None, fields),
        "total": _total(examined),
        "saved_at": kept.saved_at.astimezone(visit.now.tzinfo).strftime("%H:%M:%S"),
        "parties": parties.view(visit, kept, fields, at_fields),
        "unseen": lambda sheet: tuple(unseen(fields, str(sheet))),
    }


def unseen(fields: Mapping[str, str], sheet: str) -> Iterator[tuple[str, str]]:
    """Fields of the draft that the page does not show, so that a post of the page does not lose them."""
    shown = set(_NAMED.findall(sheet))
    for name, value in fields.items():
        if value and name not in shown and not name.startswith("why."):
            yield name, value


def counted(slip: Slip | None, fields: Mapping[str, str]) -> dict[str, Any]:
    """The articles on the tray held against those that the lines describe."""
    on_tray = fields.get("tray.articles", "")
    lines = completeness.articles(slip) if slip is not None and items_page.places(fields) else 0
    differs = on_tray != str(lines)
    return {"says": f"{lines} of {on_tray or '?'} articles described", "differs": differs}


def _total(examined: Examined | None) -> str:
    if examined is None or not examined.slip.taken or not examined.slip.total_taken:
        return ""
    return f"{examined.slip.total_taken} taken"


def _counts(beside: margin_page.Beside) -> tuple[tuple[str, int], ...]:
    states = [one.state for one in (*beside.duties, *beside.policy, *beside.met)]
    return tuple((word, states.count(word)) for word in margin_page.ORDER if word in states)


ROUTES: Final = (
    Route(method="GET", path="/slip/{draft}", page=show, who=STAFF, name="slip"),
    Route(
        method="POST",
        path="/slip/{draft}",
        page=post,
        who=STAFF,
        name="slip-save",
        most_bytes=MOST_BYTES,
        most_fields=MOST_FIELDS,
    ),
    Route(method="GET", path="/slip/{draft}/margin", page=margin, who=STAFF, name="slip-margin", idle=False),
)
