"""Stolen goods: words or a pasted list against the book, with every reason; the dossier, and the paper "nothing found".

Decides: that nothing is asked by address, where it would stand in histories and logs, and that whoever asks for an
authority is kept with the question. Leaves comparing, answering and telling to their acts.
"""

from typing import TYPE_CHECKING

from ledger.acts import answering, holding, inquiring, matching, telling
from ledger.acts.opening import settings_of
from ledger.errors import InputError
from ledger.web.visits import OWNERS, STAFF, Route, Visit, faults_of

if TYPE_CHECKING:
    from starlette.responses import Response

_ASKS = ("agency", "officer", "case", "power")
_LIST_BYTES = 512 * 1024


def page(visit: Visit) -> "Response":
    """The empty form."""
    return _shown(visit)


def _shown(visit: Visit, **values: object) -> "Response":
    usual: dict[str, object] = {
        "answer": None,
        "matched": None,
        "kept": None,
        "faults": [],
        "unlogged": "",
        "values": dict(visit.fields),
        "status": 200,
    }
    return visit.page("inquiry.html", **{**usual, **values})  # type: ignore[arg-type]


def ask(visit: Visit) -> "Response":
    """Searches or matches; kept as an entry where somebody asks for an authority."""
    try:
        match visit.fields.get("do", ""):
            case "words":
                return _words(visit)
            case "list":
                return _list(visit)
            case "nothing":
                return _nothing(visit)
            case other:
                raise InputError(field="do", given=other, wanted="words, list or nothing")
    except InputError as wrong:
        return _shown(visit, faults=faults_of(wrong), status=422)


def _who(visit: Visit) -> dict[str, str]:
    """Who asks, and on what power, as far as it was said. Raises: InputError for a power without an agency."""
    found = {name: visit.fields.get(name, "").strip() for name in _ASKS}
    who = {name: text for name, text in found.items() if text}
    if who and "agency" not in who:
        raise InputError(field="agency", given="nothing", wanted="which authority asks")
    return who


def _words(visit: Visit) -> "Response":
    who, question = _who(visit), visit.fields.get("question", "")
    if not who:
        return _shown(visit, answer=inquiring.search(visit.book, question))
    answer, entry = visit.write(lambda: inquiring.ask(visit.book, question, who))
    return _shown(visit, answer=answer, kept=entry.seq)


def _lines(visit: Visit) -> tuple[str, ...]:
    given = visit.uploads.get("file", [])
    data = next((one.data for one in given if one.data), visit.fields.get("list", "").encode())
    return matching.lines(data)


def _list(visit: Visit) -> "Response":
    who, lines = _who(visit), _lines(visit)
    appraised = visit.fields.get("appraised") == "yes"
    if not who:
        return _shown(visit, matched=matching.match(visit.book, lines, appraised=appraised))
    found, entry = visit.write(lambda: matching.ask(visit.book, lines, who, appraised=appraised))
    return _shown(visit, matched=found, kept=entry.seq)


def _nothing(visit: Visit) -> "Response":
    """The negative answer as a paper; where anything agrees, the pointers instead."""
    who, lines = _who(visit), _lines(visit)
    if "agency" not in who:
        raise InputError(field="agency", given="nothing", wanted="which authority asks")
    sheet, appraised = settings_of(visit.book.folder).sheet, visit.fields.get("appraised") == "yes"
    found = visit.write(
        lambda: answering.nothing_found(visit.book, lines, who, sheet, at=visit.now, appraised=appraised)
    )
    if found.entry is None:
        says = "Something agrees, so that a person must judge: no answer was given and nothing was kept."
        return _shown(visit, matched=found.matched, unlogged=says, status=409)
    return visit.pdf(found.paper, f"nothing-found-{found.entry.seq}.pdf")


def dossier(visit: Visit) -> "Response":
    """One item's whole history as a paper, for one recipient; an entry of its own."""
    said = visit.fields
    try:
        slip, line = holding.item_named(said.get("item", "").strip())
        wanted = [said.get(name, "").strip() for name in ("recipient", "basis", "process")]
        for name, text in zip(("recipient", "basis"), wanted, strict=False):
            if not text:
                raise InputError(field=name, given="nothing", wanted="who gets it, and on what it rests")
        request = telling.Request(
            wanted[0],
            wanted[1],
            parties=said.get("parties") == "yes",
            reasons=said.get("reasons") == "yes",
            process=wanted[2],
        )
        sheet = settings_of(visit.book.folder).sheet
        _, data = visit.write(lambda: telling.tell(visit.book, slip, line, request, sheet, at=visit.now))
    except InputError as wrong:
        return _shown(visit, faults=faults_of(wrong), status=422)
    return visit.pdf(data, f"dossier-{slip}-{line}.pdf")


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/inquiry", page=page, who=STAFF, name="inquiry", place="Inquiries"),
    Route(
        method="POST", path="/inquiry", page=ask, who=STAFF, name="inquiry-ask", most_bytes=_LIST_BYTES, most_files=1
    ),
    Route(method="POST", path="/inquiry/dossier", page=dossier, who=OWNERS, name="inquiry-dossier", again=True),
)
