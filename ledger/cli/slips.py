"""Commands on a slip that becomes a purchase: schema, check, present, record, refuse.

Decides: where a slip's pictures are read from, what is printed. Leaves to the acts what is written, to law and assay
what duties and assessments say.
"""

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from ledger.acts import drafting, handing_over, inquiring, recording, undoing
from ledger.acts.examining import Examined
from ledger.acts.opening import settings_of
from ledger.acts.recording import Recorded
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book
from ledger.chain import seals
from ledger.cli import given, margin, opened, papers, said
from ledger.cli.options import Asked, Command, as_json, for_a_book
from ledger.errors import InputError, LedgerError
from ledger.slip import reading as slip_reading
from ledger.slip.document import Slip

BROKEN, UNDECIDED = 7, 8


def _answers(command: Command) -> Command:
    """`--answer RULE=REASON` and `--answers FILE`"""
    one = click.option(
        "--answer",
        "told",
        metavar="RULE=REASON",
        multiple=True,
        help="A person's answer to something undecided; may be given again. No names: others can read command lines.",
    )
    many = click.option(
        "--answers", "told_in", metavar="FILE", help="The same as a JSON or TOML table of rules and reasons."
    )
    return one(many(command))


@click.command()
@as_json
@click.pass_obj
def schema(asked: Asked) -> None:
    """Print the JSON Schema of a slip."""
    from ledger.slip.schema import SCHEMA

    text = json.dumps(SCHEMA, indent=2, ensure_ascii=False)
    said.answer(asked, SCHEMA, text)


@click.command()
@click.argument("file", metavar="FILE")
@_answers
@for_a_book
@click.pass_context
def check(ctx: click.Context, file: str, told: tuple[str, ...], told_in: str | None) -> None:
    """Show duties and assessments of a slip; write nothing.

    FILE is a slip document, JSON or TOML; - is standard input. Its pictures lie beside it. Ends with 7 when a duty is
    broken, else with 8 when something is undecided and not answered.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    slip, beside = _slip(asked, file)
    answers = _read_answers(asked, told, told_in)
    drafting.looked_at(slip, _pictures_in(beside))
    examined = recording.check(book, slip)
    verdict = _verdict(examined, answers)
    before = inquiring.sold_before(book, slip) if book.keys is not None else None
    known = [f"The seller has sold here before: slips {', '.join(map(str, before))}."] if before else []
    document = {**examined.record(), "sold_before": before, "exit_code": verdict}
    said.answer(asked, document, [*margin.text(examined, answers), *known])
    ctx.exit(verdict)


def _verdict(examined: Examined, answers: Mapping[str, str]) -> int:
    if examined.duties.stopping():
        return BROKEN
    return UNDECIDED if examined.unanswered(answers) else 0


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--no-papers", is_flag=True, help="Do not draw the page to sign.")
@papers.out
@_answers
@for_a_book
@click.pass_obj
def present(
    asked: Asked, file: str, no_papers: bool, out: Path | None, told: tuple[str, ...], told_in: str | None
) -> None:
    """Freeze a slip under its number, for the seller to sign.

    The page to sign is drawn; `slip record FILE --presented NUMBER` records the purchase afterwards.
    """
    book = opened.a_book(asked, unlocked=True)
    slip, beside = _slip(asked, file)
    answers = _read_answers(asked, told, told_in)
    recording.ready(book, slip, answers=answers, what="The slip cannot be presented", signed=False)
    draft = drafting.begin(book)
    locked = drafting.lock_pictures(book, draft, slip, _pictures_in(beside))
    done = recording.present(book, slip, draft, locked, answers=answers)
    draw = {} if no_papers else {f"slip-{done.slip}-to-sign.pdf": handing_over.slip_page}
    _tell(asked, book, done, draw, out)


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--presented", type=int, metavar="NUMBER", help="The slip was presented before, under this number.")
@click.option("--no-papers", is_flag=True, help="Draw neither stub nor purchase report.")
@papers.out
@_answers
@for_a_book
@click.pass_obj
def record(
    asked: Asked,
    file: str,
    presented: int | None,
    no_papers: bool,
    out: Path | None,
    told: tuple[str, ...],
    told_in: str | None,
) -> None:
    """Record a purchase: present and record in one, or what was presented.

    Stub and purchase report are drawn. Ends with 7 when a duty is broken and with 8 when something is undecided and
    not answered: then nothing was written.
    """
    book = opened.a_book(asked, unlocked=True)
    slip, beside = _slip(asked, file)
    answers = _read_answers(asked, told, told_in)
    recording.ready(book, slip, answers=answers, what="The purchase cannot be recorded")
    read = _pictures_in(beside)
    if presented is None:
        draft = drafting.begin(book)
        locked = drafting.lock_pictures(book, draft, slip, read)
        done = recording.record(book, slip, draft, locked, answers=answers)
    else:
        _still_open(book, presented)
        locked = drafting.lock_signature(book, drafting.resume(book, presented), slip, read)
        done = recording.record_presented(book, presented, slip, locked, answers=answers)
    draw: dict[str, _Draw] = {}
    if not no_papers:
        draw = {f"slip-{done.slip}-stub.pdf": handing_over.stub_paper, f"slip-{done.slip}-report.pdf": _shop_copy}
    _tell(asked, book, done, draw, out)


@click.command()
@click.argument("file", metavar="FILE")
@click.option(
    "--because",
    callback=given.free_text,
    required=True,
    help="Why nothing was bought; - reads it from standard input, @FILE from a file. No names on the command line.",
)
@for_a_book
@click.pass_obj
def refuse(asked: Asked, file: str, because: str) -> None:
    """Record that a purchase was not made, as far as the rules let it.

    FILE is the slip as far as it was written. Of it the book keeps only what the rule files allow to be kept of a
    refusal.
    """
    book = opened.a_book(asked, unlocked=True)
    slip, _beside = _slip(asked, file)
    entry, examined = undoing.refuse(book, slip, because)
    kept = examined.duties.refusal.may_record if examined.duties.refusal else ("date", "reason", "count")
    document = {"entry": entry.seq, "leaf": entry.leaf.hex(), "may_record": list(kept)}
    said.answer(asked, document, f"Refusal recorded as entry {entry.seq}; the rules let it hold: {', '.join(kept)}.")


def _slip(asked: Asked, file: str) -> tuple[Slip, Path]:
    """The slip of a file, and the folder in which its pictures lie."""
    data = given.data(asked, file)
    beside = Path.cwd() if file == "-" else Path(file).resolve().parent
    return slip_reading.read(data, toml=given.is_toml(data, file)), beside


def _read_answers(asked: Asked, told: tuple[str, ...], told_in: str | None) -> dict[str, str]:
    answers: dict[str, str] = {}
    for name, reason in (given.document(asked, told_in, "--answers") if told_in else {}).items():
        if not isinstance(reason, str) or not reason.strip():
            raise InputError(field=f"--answers {name}", given=reason, wanted="a reason in words")
        answers[name] = reason
    for text in told:
        name, equals, reason = text.partition("=")
        if not (equals and name.strip() and reason.strip()):
            raise InputError(field="--answer", given=text, wanted="RULE=REASON, such as xx-town/scan='worn away'")
        answers[name.strip()] = reason.strip()
    return answers


def _pictures_in(beside: Path) -> drafting.ReadFile:
    """Reads the pictures that lie beside a slip's document, by name. Raises: InputError when one is missing."""

    def read(name: str, part: str) -> bytes:
        path = beside / name  # a name without folders: the slip's schema takes no other
        if not path.is_file():
            raise InputError(field=part, given=name, wanted="the name of a picture that lies beside the slip")
        return given.data(Asked(), str(path), part)

    return read


def _still_open(book: Book, number: int) -> None:
    """Nothing, if a slip waits to be recorded; so that no signature is locked away for one that does not."""
    with engines.reading(book.engine) as connection:
        state = reading.slip_row(connection, book.origin, number).state
    if state != "presented":
        raise InputError(field="--presented", given=f"slip {number}, {state}", wanted="a slip that is presented")


_Draw = Callable[..., bytes]


def _shop_copy(connection: Any, book: Book, number: int, sheet: str) -> bytes:
    return handing_over.purchase_report(
        connection, book, number, sheet, copy="Shop's copy", recipient="the shop's own file"
    )


def _tell(asked: Asked, book: Book, done: Recorded, draw: Mapping[str, _Draw], out: Path | None) -> None:
    """Print what now stands in the book, and where its papers lie."""
    drawn, not_drawn = _drawn(book, done, draw, out)
    entry = done.purchase or done.presented
    sealed = seals.read_seal(done.seal)
    short = seals.short_form(sealed.size, sealed.root)
    document = {
        "slip": done.slip,
        "state": "presented" if done.purchase is None else "recorded",
        "entry": entry.seq,
        "leaf": entry.leaf.hex(),
        "seal": short,
        "seal_note": done.seal,
        "papers": [str(path) for path in drawn],
        "papers_not_drawn": not_drawn,
        "may_leave": done.examined.leaves(),
    }
    lines = [
        f"Slip {done.slip} is {document['state']}: entry {entry.seq}, leaf {entry.leaf.hex()[:16]}, seal {short}.",
        *margin.leave_lines(done.examined),
        *(f"Paper: {path}" for path in drawn),
    ]
    said.answer(asked, document, lines)
    if not_drawn:
        click.echo(f"Slip {done.slip} stands in the book, but a paper could not be drawn: {not_drawn[0]}", err=True)
        raise SystemExit(1)


def _drawn(book: Book, done: Recorded, draw: Mapping[str, _Draw], out: Path | None) -> tuple[list[Path], list[str]]:
    sheet = settings_of(book.folder).sheet
    drawn, failed = [], []
    for name, paper in draw.items():
        try:
            with engines.reading(book.engine) as connection:
                data = paper(connection, book, done.slip, sheet)
            drawn.append(papers.keep(book, out, name, data))
        except LedgerError as fault:
            failed.append(str(fault))
    return drawn, failed
