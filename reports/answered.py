"""The answer to a request: what was asked on what power, what the shop gives, refuses or keeps, and who decided it.

Decides: that scope asked and scope given stand one under the other, each handed-over thing with its digest, and that
goods which are gone are told of. Leaves to others: what is decided, and whether the paper may be made at all.
"""

from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import KEY_CAUTION, LIMITS
from reports.page import BODY, SMALL, Column, Imprint, Row, Sheet

_KEEPS = (
    "What is named above is kept from being forgotten until then, or until the shop is told that it need not be."
    " Records that lie elsewhere, such as the recordings of cameras, are not under the book's control: name them if"
    " they are meant."
)

_POWER = (
    "Law: the power relied on is named as whoever asked named it. Whether it reaches what was asked is for a licensed"
    " lawyer or a court to say, not for this paper."
)


@dataclass(frozen=True)
class Answer:
    """One request with what came of it."""

    imprint: Imprint
    title: str
    to: str
    received: str
    case: str
    power: str
    scope: str
    call_back: str
    decision: str
    """in words; empty while nothing is decided"""
    because: str
    fields: tuple[str, ...] = ()
    handed: tuple[tuple[str, str, str], ...] = ()
    """(what, number of its entry, its SHA-256)"""
    keeps: tuple[str, ...] = ()
    """what is kept from being forgotten, and until when"""
    gone: tuple[str, ...] = ()
    """sentences on goods that are not here any more"""
    follow_up: tuple[tuple[str, str], ...] = ()


def draw(answer: Answer, sheet: str = "letter") -> bytes:
    """The answer as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(answer) as case:
        page = Sheet(case, answer.title, answer.imprint, sheet, file_title="Answer")
        page.pairs(
            [
                ("To", answer.to, True),
                ("Received", answer.received, False),
                ("Case", answer.case or "none named", False),
                ("Power relied on", answer.power, False),
                ("Asked for", answer.scope, False),
                ("Called back", answer.call_back, False),
            ]
        )
        page.heading("Decided", keep=40)
        page.text(answer.decision or "Nothing has been decided yet.", BODY, bold=True)
        if answer.because:
            page.text(f"Reason: {answer.because}", BODY)
        if answer.fields:
            page.text("Given: " + "; ".join(answer.fields), BODY)
        if answer.handed:
            rows = [(what, where, f"{digest[:32]}\n{digest[32:]}") for what, where, digest in answer.handed]
            page.table(_HANDED, [Row(one) for one in rows], SMALL)
        if answer.keeps:
            page.heading("Kept", keep=40)
            for sentence in (*answer.keeps, _KEEPS):
                page.text(sentence, BODY)
        if answer.gone:
            page.heading("No longer in the shop", keep=40)
            for sentence in answer.gone:
                page.text(sentence, BODY)
        if answer.follow_up:
            page.heading("To follow", keep=40)
            page.table(_FOLLOWS, [Row(one) for one in answer.follow_up], SMALL)
        page.signatures(["For the shop", "Received by"])
        page.notice("Cautions", (_POWER, KEY_CAUTION, LIMITS))
        return page.finish()


_HANDED = (Column("Handed over", 2), Column("Under entry", 1), Column("SHA-256", 4.5))
_FOLLOWS = (Column("What", 4), Column("By", 2))
