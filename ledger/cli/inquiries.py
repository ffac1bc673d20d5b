"""Commands that answer stolen-goods questions: search and dossier."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from ledger.acts import answering, extracting, holding, inquiring, matching, telling
from ledger.acts.inquiring import Answer
from ledger.acts.matching import Matched
from ledger.acts.opening import settings_of
from ledger.chain import seals
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.errors import InputError


@click.command()
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option("--file", metavar="FILE", help="The question and who asks it, JSON or TOML; - is standard input.")
@for_a_book
@click.pass_obj
def search(asked: Asked, words: tuple[str, ...], file: str | None) -> None:
    """Search items by the words of a description.

    WORDS alone (a mark, a colour, initials, a serial number) look and write nothing. FILE, with question and agency,
    and officer, case and power where they are known, is an inquiry: question and answer are kept in the book. A match
    is a pointer for a person to judge. Nothing found ends with 0.
    """
    if bool(words) == (file is not None):
        raise InputError(field="question", given="both" if words else "neither", wanted="either WORDS or --file FILE")
    entry = None
    if file is None:
        book = opened.a_book(asked)
        answer = inquiring.search(book, " ".join(words))
    else:
        book = opened.a_book(asked, unlocked=True)
        document = given.document(asked, file)
        question = given.texts({"question": document.pop("question", None)}, "question")[0]
        answer, entry = inquiring.ask(book, question, _who_asks(document))
    sealed = _short(answer)
    found = {
        "words": list(answer.words),
        "entries": answer.size,
        "seal": sealed,
        "entry": None if entry is None else entry.seq,
        "pointers": [pointer.record() for pointer in answer.pointers],
    }
    said.answer(asked, found, [_text(answer), *([] if entry is None else [f"Kept as entry {entry.seq}."])])


_TO_JUDGE = 8
_ASKS = ("officer", "case", "power")


def _who_asks(document: Mapping[str, Any]) -> dict[str, str]:
    """Agency, and officer, case and power where they are known. Raises: InputError."""
    who = given.texts(document, "agency", optional=_ASKS)
    return {name: text for name, text in zip(("agency", *_ASKS), who, strict=True) if text}


def _short(answer: Answer) -> str | None:
    if answer.seal is None:
        return None
    sealed = seals.read_seal(answer.seal)
    return seals.short_form(sealed.size, sealed.root)


def _text(answer: Answer) -> str:
    over = f"entries 0 to {answer.size - 1}"
    if not answer.pointers:
        return f"Nothing found in {over} for: {' '.join(answer.words)}"
    rows = [
        (
            f"{one.slip}/{one.line}",
            one.day,
            one.state,
            f"{len(one.agrees)} of {one.of}: {' '.join(one.agrees)}",
            one.words,
        )
        for one in answer.pointers
    ]
    head = f"{said.count(len(rows), 'pointer')} in {over}, for a person to judge:"
    return head + "\n" + said.table(("item", "bought", "state", "words that agree", "article"), rows)


@click.command()
@click.argument("item", metavar="SLIP/LINE")
@click.argument("file", metavar="FILE")
@papers.out
@for_a_book
@click.pass_obj
def dossier(asked: Asked, item: str, file: str, out: Path | None) -> None:
    """Draw one item's whole history for an authority.

    FILE, JSON or TOML or - for standard input, holds: recipient, basis (the section, consent, subpoena or warrant
    relied on), parties (true where the basis reaches the seller's data), process (the id of the request, for persons'
    data the second act beside the basis) and reasons (true where it reaches what the shop noted beside moves,
    corrections and returns). Handing it out is kept in the book.
    """
    slip, line = holding.item_named(item)
    book = opened.a_book(asked, unlocked=True)
    document = given.document(asked, file)
    reaches = {name: document.pop(name, False) for name in ("parties", "reasons")}
    for name, value in reaches.items():
        if not isinstance(value, bool):
            raise InputError(field=name, given=value, wanted="true or false")
    recipient, basis, process = given.texts(document, "recipient", "basis", optional=("process",))
    request = telling.Request(recipient, basis, **reaches, process=process)
    entry, data = telling.tell(book, slip, line, request, settings_of(book.folder).sheet, at=opened.now(book))
    path = papers.keep(book, out, f"dossier-{slip}-{line}.pdf", data)
    found = {"item": f"{slip}/{line}", "entry": entry.seq, "papers": [str(path)]}
    unlogged = _unlogged(request.parties, process)
    said.answer(asked, found | unlogged, [f"Handed out as entry {entry.seq}.", f"Paper: {path}", *unlogged.values()])


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--most", type=click.IntRange(1, 20), default=3, show_default=True, help="Pointers shown for a line.")
@click.option("--appraised", is_flag=True, help="Finenesses come from appraisals: another one rules an article out.")
@click.option(
    "--asked-by", metavar="FILE", help="Who asks, JSON or TOML: agency, and officer, case and power if known."
)
@for_a_book
@click.pass_obj
def match(asked: Asked, file: str, most: int, appraised: bool, asked_by: str | None) -> None:
    """Match a list of stolen articles against the book, in bulk.

    FILE, or - for standard input, holds one article a line, in any wording, as pasted text or CSV. What agrees and what
    disagrees stands beside each pointer, for a person to judge; a common article is never strong. With --asked-by
    the list and its answer are kept in the book as an inquiry; without it nothing is written.
    """
    told = None if asked_by is None else _who_asks(given.document(asked, asked_by, "--asked-by"))
    wanted = matching.lines(given.data(asked, file))
    entry = None
    if told is not None:
        found, entry = matching.ask(opened.a_book(asked, unlocked=True), wanted, told, most=most, appraised=appraised)
    else:
        found = matching.match(opened.a_book(asked), wanted, most=most, appraised=appraised)
    document = {
        "rules": matching.rules(common=False),
        "entry": None if entry is None else entry.seq,
        "lines": [_record(one) for one in found],
    }
    kept = [] if entry is None else [f"Kept as entry {entry.seq}."]
    said.answer(asked, document, [*map(_matched, found), *kept])


def _record(one: Matched) -> dict[str, Any]:
    return {"asked": one.asked, "pointers": [item.record() for item in one.found]}


def _matched(one: Matched) -> str:
    if not one.found:
        return f"{one.asked}\n  nothing like it"
    rows = [
        (
            f"{item.slip}/{item.line}",
            item.day,
            item.state,
            item.likeness.strength,
            "; ".join([*item.likeness.agrees, *(f"BUT {words}" for words in item.likeness.disagrees)]),
            item.words,
        )
        for item in one.found
    ]
    return one.asked + "\n" + said.table(("item", "bought", "state", "match", "reasons", "article"), rows)


@click.command()
@click.argument("file", metavar="FILE")
@papers.out
@for_a_book
@click.pass_obj
def extract(asked: Asked, file: str, out: Path | None) -> None:
    """Hand out part of the book as a zip that a stranger can check.

    FILE, JSON or TOML or - for standard input, holds: recipient, basis (the section, consent, subpoena or warrant
    relied on), items (a list such as "12/1") or entries (numbers), and if need be parts (names, * for any letters),
    parties (true where the basis reaches people's data) and process (the id of the request, for people's data the
    second act beside the basis). Everything else stays behind salted digests. Handing it out is an entry.
    """
    book = opened.a_book(asked, unlocked=True)
    wanted = extracting.read_wanted(given.document(asked, file))
    entry, data = extracting.extract(book, wanted, settings_of(book.folder).sheet, at=opened.now(book))
    path = papers.keep(book, out, f"extract-{entry.seq}.zip", data)
    found = {"entry": entry.seq, "manifest": entry.public["manifest"], "extract": str(path)}
    unlogged = _unlogged(wanted.parties, wanted.process)
    said.answer(asked, found | unlogged, [f"Handed out as entry {entry.seq}.", f"Extract: {path}", *unlogged.values()])


def _unlogged(parties: bool, process: str) -> dict[str, str]:
    """What is said where people's data were handed out on words alone."""
    if not parties or process:
        return {}
    says = "People's data went out on a basis in words; log the request with `process record` and name it as process."
    return {"unlogged": says}


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--asked-by", metavar="FILE", required=True, help="Who asks, JSON or TOML: agency, power, officer, case.")
@click.option("--appraised", is_flag=True, help="Finenesses come from appraisals: another one rules an article out.")
@papers.out
@for_a_book
@click.pass_context
def nothing_found(ctx: click.Context, file: str, asked_by: str, appraised: bool, out: Path | None) -> None:
    """Answer that nothing was found, with a paper and an extract that can be checked later.

    FILE, or - for standard input, holds one article a line. Question, rules and the entries searched are kept as an
    entry. Where anything agrees there is no such answer: the pointers are shown, and the command ends with 8.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked, unlocked=True)
    told = _who_asks(given.document(asked, asked_by, "--asked-by"))
    lines = matching.lines(given.data(asked, file))
    found = answering.nothing_found(
        book, lines, told, settings_of(book.folder).sheet, at=opened.now(book), appraised=appraised
    )
    if found.entry is None:
        document = {"nothing": False, "lines": [_record(one) for one in found.matched]}
        says = "Something agrees, so that a person must judge; no answer was given and nothing was kept."
        said.answer(asked, document, [*map(_matched, found.matched), says])
        ctx.exit(_TO_JUDGE)
    name = f"nothing-found-{found.entry.seq}"
    kept = [papers.keep(book, out, f"{name}.pdf", found.paper), papers.keep(book, out, f"{name}.zip", found.extract)]
    document = {"nothing": True, "entry": found.entry.seq, "papers": [str(path) for path in kept]}
    says = f"Nothing was found for {said.count(len(lines), 'article')}; kept as entry {found.entry.seq}."
    said.answer(asked, document, [says, *(f"Paper: {path}" for path in kept)])
