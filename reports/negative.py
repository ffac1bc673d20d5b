"""The negative answer: what was searched for, in which entries, by which rules, and that nothing was found.

Decides: what such an answer says, and what it does not: an article that was never entered, or was described by nothing
that agrees, is not found either. Leaves to others the search.
"""

from dataclasses import dataclass

from reports.fonts import setting_type
from reports.goods import KEY_CAUTION
from reports.page import BODY, Column, Imprint, Row, Sheet

_LIMIT = (
    "Nothing found means that no item of the entries named agrees with what was asked as the rules above say. An"
    " article that was never entered, or whose record has nothing in common with the words asked, is not found either."
)
_HOW = (
    "The answer is an entry of the book. The extract that goes with this paper shows question and answer as that entry"
    " fixed them, and can be checked without the shop."
)


@dataclass(frozen=True)
class Negative:
    """One question of which nothing was found."""

    imprint: Imprint
    asked: tuple[str, ...]
    recipient: str
    basis: str
    last: int
    """number of the last entry that was searched"""
    rules: str
    answered_at: str


def draw(answer: Negative, sheet: str = "letter") -> bytes:
    """The answer as a PDF. Raises: InputError for a character that no font has."""
    with setting_type(answer) as case:
        page = Sheet(case, "Answer: nothing found", answer.imprint, sheet)
        page.pairs(
            [
                ("To", answer.recipient, True),
                ("On the basis of", answer.basis, False),
                ("Answered", answer.answered_at, False),
                ("Searched", f"entries 0 to {answer.last} of the book", True),
                ("By these rules", answer.rules, False),
            ]
        )
        page.heading("Asked for, and nothing found", keep=60)
        page.table(_COLUMNS, [Row((str(number), words)) for number, words in enumerate(answer.asked, 1)], BODY, 3)
        page.notice("What this answer means", (_LIMIT, _HOW, KEY_CAUTION))
        return page.finish()


_COLUMNS = (Column("No.", 0.4), Column("Article, in the words of the question", 6))
