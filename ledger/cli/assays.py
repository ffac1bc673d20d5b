"""Commands at the bench: what tests and marks can and cannot show. They need no book and write nothing."""

from typing import Any

import click

from ledger.assay import marks, strip, weighing
from ledger.assay.assessments import Assessment
from ledger.assay.tolerances import Made
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
        *(f"Suspected: {suspicion.replace('-', ' ')}." for suspicion in assessment.suspicions),
        *said.listed("Each part", [part.words() for part in assessment.parts]),
        *said.listed("Reasons", [f"{one.rule}: {one.text}" for one in assessment.reasons]),
        *said.listed(
            "Conflicts", [one.what + (f"; {one.settled_by}" if one.settled_by else "") for one in assessment.conflicts]
        ),
        *said.listed("Tests owed", [f"{one.test}, which decides {one.decides}" for one in assessment.owed]),
        CAUTION,
    ]


@click.command()
@click.argument("text", metavar="TEXT")
@click.option("--made-in", metavar="COUNTRY", help="Where the article was made: two capital letters, such as US.")
@click.option("--made-from", metavar="DATE", help="It was made in this year, or on this day, at the earliest.")
@click.option("--made-to", metavar="DATE", help="It was made in this year, or on this day, at the latest.")
@as_json
@click.pass_obj
def mark(asked: Asked, text: str, made_in: str | None, made_from: str | None, made_to: str | None) -> None:
    """Say what a stamp claims.

    TEXT is the stamp as read, such as "1/20 12K GF"; "?" stands for a character that cannot be read. All meanings are
    shown where there are several. What is known of the making leaves out those that cannot be.
    """
    known = {"country": made_in, "from": made_from, "to": made_to}
    made = Made.read({name: told for name, told in known.items() if told is not None})
    claims = marks.read(text, made=made)
    rows = [(claim.words(), claim.status, claim.source) for claim in claims]
    notes = dict.fromkeys(claim.note for claim in claims if claim.note)
    allowed = dict.fromkeys(
        f"{claim.metal}, {allowance.words()}; {allowance.law}" for claim in claims for allowance in claim.allowances
    )
    lines = [said.table(("claim", "by", "source"), rows), *notes, *said.listed("The law allows", allowed)]
    unknown = f"No claim stands in {text!r}."
    told = [{**claim.record(), "says": claim.words()} | _allowances(claim) for claim in claims]
    document = {"mark": text, "claims": told, "caution": CAUTION}
    said.answer(asked, document, [*(lines if claims else [unknown]), CAUTION])


def _allowances(claim: marks.Claim) -> dict[str, list[dict[str, Any]]]:
    return {"allowances": [each.record() for each in claim.allowances]} if claim.allowances else {}
