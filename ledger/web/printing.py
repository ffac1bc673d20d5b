"""Papers of one slip, drawn when they are asked for: the page to sign, the stub, the bag labels, the shop's report.

Decides: which address is which paper, and that a paper about a person that is drawn again after the day of its slip
is a look, recorded as one. Bag labels name no person, so nobody is looked at. Leaves what a paper shows to
`acts.handing_over`.

>>> kind_of("stub").copy
"the seller's stub"
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ledger.acts import handing_over, looking
from ledger.acts.opening import settings_of
from ledger.book import reading
from ledger.errors import InputError
from ledger.moments import parse_local
from ledger.web.posted import number
from ledger.web.visits import STAFF, Route, Visit

if TYPE_CHECKING:
    import sqlalchemy as sa
    from starlette.responses import Response

Name = Literal["to-sign", "stub", "labels", "report"]


@dataclass(frozen=True)
class Kind:
    """One paper of a slip. copy: how a look names it; personal: it names the seller."""

    name: Name
    copy: str
    personal: bool = True


KINDS: tuple[Kind, ...] = (
    Kind("to-sign", "the page to sign"),
    Kind("stub", "the seller's stub"),
    Kind("labels", "the bag labels", personal=False),
    Kind("report", "the shop's report"),
)


def kind_of(name: str) -> Kind:
    """The paper of that name. Raises: InputError naming those that there are."""
    for kind in KINDS:
        if kind.name == name:
            return kind
    raise InputError(field="paper", given=name, wanted="one of " + ", ".join(kind.name for kind in KINDS))


def paper(visit: Visit) -> "Response":
    """One paper as a PDF, shown in the browser."""
    kind, slip = kind_of(visit.path["kind"]), number(visit.path["slip"], "slip", "the number of a slip in this book")
    with visit.reading() as connection:
        row = reading.slip_row(connection, visit.book.origin, slip)
        data = _drawn(connection, visit, kind.name, slip)
    happened = parse_local(row.presented_at, "occurred_at")
    if kind.personal and happened.date() < visit.now.astimezone(happened.tzinfo).date():
        why = f"{kind.copy} drawn again after the day of the slip"
        visit.write(lambda: looking.look(visit.book, f"slip/{slip}", why))
    return visit.pdf(data, f"slip-{slip}-{kind.name}.pdf")


def _drawn(connection: "sa.Connection", visit: Visit, name: Name, slip: int) -> bytes:
    sheet = settings_of(visit.book.folder).sheet
    if name == "to-sign":
        return handing_over.slip_page(connection, visit.book, slip, sheet)
    if name == "stub":
        return handing_over.stub_paper(connection, visit.book, slip, sheet)
    if name == "labels":
        return handing_over.labels(connection, visit.book, slip)
    copy, recipient = "Shop's copy", "the shop's own file"
    return handing_over.purchase_report(connection, visit.book, slip, sheet, copy=copy, recipient=recipient)


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/paper/slip/{slip}/{kind}", page=paper, who=STAFF, name="paper"),
)
