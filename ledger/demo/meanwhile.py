"""Acts out what happens beside the visits: goods leaving or kept back, orders, inquiries, corrections, a void."""

from collections.abc import Callable

from ledger.acts import correcting, holding, inquiring, leaving, paying, telling, undoing
from ledger.book import reading
from ledger.demo.diary import DETECTIVE, Happening
from ledger.demo.setting import local
from ledger.demo.story import SHEET, Story
from ledger.errors import ForbiddenByLaw


def act(story: Story, happening: Happening) -> None:
    """One thing that happens."""
    now = story.go(local(happening.at), happening.by)
    story.tell(now, ACTS[happening.what](story, happening))


def _item(story: Story, happening: Happening) -> tuple[int, int]:
    return story.numbers[happening.visit], happening.line


def _out(story: Story, happening: Happening) -> str:
    slip, line = _item(story, happening)
    words = happening.words
    outcome = words["outcome"]
    try:
        leaving.out(
            story.book, slip, line, outcome, at=story.now(), to=words.get("to", ""), because=words.get("because", "")
        )
    except ForbiddenByLaw as refused:
        return f"REFUSED  {refused}"
    return f"item {slip}/{line} {outcome.replace('-', ' ')}"


def _move(story: Story, happening: Happening) -> str:
    slip, line = _item(story, happening)
    words = happening.words
    leaving.move(story.book, slip, line, words["to"], at=story.now(), because=words["because"], to_place=words["place"])
    return f"item {slip}/{line} moved to the {words['to']}"


def _payout(story: Story, happening: Happening) -> str:
    slip, words = story.numbers[happening.visit], happening.words
    state, instrument, reference = words["state"], words.get("instrument"), words.get("reference")
    paying.settle(story.book, slip, state, at=story.now(), instrument=instrument, reference=reference)
    return f"slip {slip}: its payout {state}" + (f" by {instrument}" if instrument else ", the cheque bounced")


def _order(story: Story, happening: Happening) -> str:
    slip, line = _item(story, happening)
    words = happening.words
    asked = holding.OrderAsked(
        items=((slip, line),),
        agency=words["agency"],
        officer=words["officer"],
        case=words["case"],
        power=words["power"],
        from_=story.now(),
        until=local(words["until"]) if words["until"] else None,
        form=words["form"],
    )
    name, _ = holding.order(story.book, asked)
    story.orders[happening.visit, line] = name
    return f"item {slip}/{line} held by order of {words['agency']}" + (", open-ended" if not words["until"] else "")


def _lift(story: Story, happening: Happening) -> str:
    words = happening.words
    name = story.orders[happening.visit, happening.line]
    holding.lift(story.book, name, at=story.now(), by=words["by"], form=words["form"])
    slip, line = _item(story, happening)
    return f"the order on item {slip}/{line} lifted"


def _correct(story: Story, happening: Happening) -> str:
    slip = story.numbers[happening.visit]
    with story.reading() as connection:
        row = reading.slip_row(connection, story.book.origin, slip)
        said = reading.open_entry(connection, story.book, row.presented_seq).get("item/1/description")
    serials = [
        {**serial, "text": happening.words["works"]} if serial["of"] == "works" else serial
        for serial in said["serials"]
    ]
    changes = {"serials": serials}
    entry = correcting.correct(story.book, slip, "item/1/description", changes, happening.words["because"])
    return f"slip {slip}: the number of the works corrected by entry {entry.seq}"


def _void(story: Story, happening: Happening) -> str:
    slip = story.numbers[happening.visit]
    undoing.void(story.book, slip, happening.words["because"], at=story.now())
    return f"slip {slip} undone: goods back to the seller, money back, its reports to be corrected"


def _inquiry(story: Story, happening: Happening) -> str:
    question = happening.words["question"]
    answer, _ = inquiring.ask(story.book, question, dict(DETECTIVE))
    pointers = ", ".join(
        f"{pointer.slip}/{pointer.line} ({len(pointer.agrees)} of {pointer.of} words)" for pointer in answer.pointers
    )
    return f'asked for "{question}": {pointers or "nothing found"}, over entries 0 to {answer.size - 1}'


def _dossier(story: Story, happening: Happening) -> str:
    slip, line = _item(story, happening)
    recipient = f"{DETECTIVE['officer']}, {DETECTIVE['agency']}"
    request = telling.Request(recipient, DETECTIVE["power"], parties=bool(happening.words["parties"]))
    _, paper = telling.tell(story.book, slip, line, request, SHEET, at=story.now())
    name = story.papers.put(f"dossier-item-{slip}-{line}.pdf", paper)
    return f"history of item {slip}/{line} told to an officer: {name}"


ACTS: dict[str, Callable[[Story, Happening], str]] = {
    "out": _out,
    "move": _move,
    "payout": _payout,
    "order": _order,
    "lift": _lift,
    "correct": _correct,
    "void": _void,
    "inquiry": _inquiry,
    "dossier": _dossier,
}
