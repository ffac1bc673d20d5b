"""Commands at the bench: what tests and marks can and cannot show. They need no book and write nothing."""

import click

from ledger.assay import marks, strip, weighing
from ledger.assay.assessments import Assessment
from ledger.cli import given, said
from ledger.cli.options import Asked, as_json
from ledger.errors import InputError

CAUTION = (
    "An assessment is not a certified assay. Touchstone acids are corrosive and toxic, X-ray analysers emit ionising"
    " radiation: follow the maker's instructions and local law. Ask the seller before a test that marks the article."
)


@click.command()
@click.argument("file", metavar="FILE")
@as_json
@click.pass_obj
def weigh(asked: Asked, file: str) -> None:
    """Weigh the evidence of one item.

    FILE, JSON or TOML or - for standard input, is an item as a slip holds it, or at least its marks, weighings and
    evidence.
    """
    item = given.document(asked, file)
    if not item.keys() & {"marks", "weighings", "evidence"}:
        wanted = "an item's marks, weighings and evidence; `counterfoil slip check` weighs those of a whole slip"
        raise InputError(field="item", given=", ".join(item) or "nothing", wanted=wanted)
    assessment = weighing.weigh_item(item)
    document = {"says": assessment.headline(), **assessment.record(), "caution": CAUTION}
    said.answer(asked, document, _text(assessment))


def _text(assessment: Assessment) -> list[str]:
    return [
        assessment.headline(),
        strip.words(strip.strip(assessment)),
        *said.listed("Reasons", [f"{one.rule}: {one.text}" for one in assessment.reasons]),
        *said.listed(
            "Conflicts", [one.what + (f"; {one.settled_by}" if one.settled_by else "") for one in assessment.conflicts]
        ),
        *said.listed("Tests owed", [f"{one.test}, which decides {one.decides}" for one in assessment.owed]),
        CAUTION,
    ]


@click.command()
@click.argument("text", metavar="TEXT")
@as_json
@click.pass_obj
def mark(asked: Asked, text: str) -> None:
    """Say what a stamp claims.

    TEXT is the stamp as read, such as "1/20 12K GF". All meanings are shown where there are several.
    """
    claims = marks.read(text)
    rows = [(claim.words(), claim.status, claim.source) for claim in claims]
    lines = [said.table(("claim", "by", "source"), rows), *(claim.note for claim in claims if claim.note)]
    unknown = f"No claim stands in {text!r}."
    document = {"mark": text, "claims": [claim.record() for claim in claims], "caution": CAUTION}
    said.answer(asked, document, [*(lines if claims else [unknown]), CAUTION])
