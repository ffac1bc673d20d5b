"""An article's own page: what it is, what the tests showed, what holds it, where it lay; its people after a look.

Decides: what is shown at once and what behind a reason. Leaves all values to `acts.article`, and moving, leaving and
labels to their acts, whose refusals stand on the page.
"""

from typing import TYPE_CHECKING

from markupsafe import Markup

from ledger.acts import article, handing_over, holding, leaving, wording
from ledger.errors import ForbiddenByLaw, InputError
from ledger.law.facts import TAKERS
from ledger.law.rules import PLACES
from ledger.web.posted import number
from ledger.web.visits import STAFF, Route, Visit, faults_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.responses import Response

_OUTCOMES = [(word, word.replace("-", " ")) for word in leaving.OUTCOMES]
_PLACES = [("", "the shop's own name for it"), *((word, word) for word in (*PLACES, "secure-storage"))]
_TAKERS = [("", "not stated"), *((word, word.replace("-", " ")) for word in TAKERS)]


def _which(visit: Visit) -> tuple[int, int]:
    return holding.item_named(f"{visit.path['slip']}/{visit.path['line']}")


def page(visit: Visit) -> "Response":
    """The article without its people."""
    return _shown(visit)


def _shown(
    visit: Visit,
    *,
    people: article.People | None = None,
    refused: "Sequence[str]" = (),
    wrong: InputError | None = None,
) -> "Response":
    slip, line = _which(visit)
    found = article.article(visit.book, slip, line, at=visit.now)
    return visit.page(
        "article.html",
        status=409 if refused else 422 if wrong else 200,
        one=found,
        strip=Markup(found.strip),
        people=people,
        refused=refused,
        faults=faults_of(wrong),
        values=dict(visit.fields),
        outcomes=_OUTCOMES,
        places_known=_PLACES,
        takers=_TAKERS,
        short=wording.short,
        free=found.standing is not None and found.standing.free_at(visit.now),
        ours=found.state in leaving.OURS,
    )


def act(visit: Visit) -> "Response":
    """Moves the article, lets it leave, or opens its people; what the act refuses stands on the page."""
    slip, line = _which(visit)
    said = visit.fields
    try:
        match said.get("do", ""):
            case "move":
                _move(visit, slip, line)
            case "out":
                _out(visit, slip, line)
            case "people":
                why = said.get("why", "")
                return _shown(visit, people=visit.write(lambda: article.people(visit.book, slip, line, why)))
            case other:
                raise InputError(field="do", given=other, wanted="move, out or people")
    except ForbiddenByLaw as no:
        return _shown(visit, refused=(str(no),))
    except InputError as wrong:
        return _shown(visit, wrong=wrong)
    return visit.see(f"/item/{slip}/{line}")


def _move(visit: Visit, slip: int, line: int) -> None:
    said = visit.fields
    to = said.get("to", "").strip()
    if not to:
        raise InputError(field="to", given="nothing", wanted="what the shop calls the place: a safe, a shelf, a tray")
    because, known = said.get("because", "").strip(), said.get("known_as", "")
    stated = _stated(visit)
    visit.write(
        lambda: leaving.move(visit.book, slip, line, to, at=visit.now, because=because, to_place=known, stated=stated)
    )


def _out(visit: Visit, slip: int, line: int) -> None:
    said = visit.fields
    outcome, to, because = said.get("outcome", ""), said.get("has_it", "").strip(), said.get("out_because", "").strip()
    known, stated = said.get("out_known_as", ""), _stated(visit)
    visit.write(
        lambda: leaving.out(
            visit.book, slip, line, outcome, at=visit.now, to=to, because=because, to_place=known, stated=stated
        )
    )


def _stated(visit: Visit) -> leaving.Stated:
    """What was stated about the act, since a rule may let it happen on that condition."""
    said = visit.fields
    found = {name: said[name].strip() for name in ("taker", "permit", "state") if said.get(name, "").strip()}
    ticked = {name: True for name in ("identity_checked", "buyer_recorded") if said.get(name) == "yes"}
    return leaving.read_stated({**found, **ticked})


def label(visit: Visit) -> "Response":
    """The bag labels of the article's slip."""
    slip, _line = _which(visit)
    with visit.reading() as connection:
        data = handing_over.labels(connection, visit.book, slip)
    return visit.pdf(data, f"slip-{slip}-labels.pdf")


def picture(visit: Visit) -> "Response":
    """One picture of the article, as the copy made for showing."""
    slip, line = _which(visit)
    place = number(visit.path["number"], "picture", "the number of a picture")
    data, media_type = article.picture(visit.book, slip, line, place)
    return visit.sent(data, media_type, f"item-{slip}-{line}-{place}")


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/item/{slip}/{line}", page=page, who=STAFF, name="item"),
    Route(method="POST", path="/item/{slip}/{line}", page=act, who=STAFF, name="item-act"),
    Route(method="GET", path="/item/{slip}/{line}/label", page=label, who=STAFF, name="item-label"),
    Route(method="GET", path="/item/{slip}/{line}/picture/{number}", page=picture, who=STAFF, name="item-picture"),
)
