"""Commands on what else is due beside reports: due, happened."""

import click

from ledger.acts import happening, tasking
from ledger.cli import given, opened, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told

_DUE = 8


@click.command()
@for_a_book
@click.pass_context
def due(ctx: click.Context) -> None:
    """List tasks that are still to be done, soonest first.

    Tasks of slips and items, of the shop, and notices that the shop owes before orders end. Needs no key, so that a
    machine can run it at night. Ends with 8 when something is due within a day, or late.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    now = opened.now(book)
    tasks = tasking.open_tasks(book, at=now)
    rows = [
        (
            one.about,
            one.what,
            one.who,
            said.moment(one.due) if one.due else f"waiting for {one.waiting_for}" if one.waiting_for else "no day",
            "late" if one.late_at(now) else " ",
            one.met_by or f"done:{one.rule.rpartition('/')[2]}",
            one.rule,
        )
        for one in tasks
    ]
    text = said.table(("about", "what", "who", "due", "", "done by event", "rule"), rows)
    document = {"tasks": [{**one.record(), "late": one.late_at(now)} for one in tasks]}
    said.answer(asked, document, text if tasks else "No task is open.")
    ctx.exit(_DUE if any(one.is_near(now) for one in tasks) else 0)


@click.command()
@click.argument("event", metavar="EVENT")
@click.argument("subject", metavar="SUBJECT")
@click.option("--said", "words", callback=given.free_text, help="What the book should say of it. No names.")
@at
@for_a_book
@click.pass_obj
def happened(asked: Asked, event: str, subject: str, words: str, at: str | None) -> None:
    """Record that something happened that a rule file gives a name.

    EVENT is its id in a rule file in force, lift:RULE for a hold that runs until it is lifted, or done:RULE for a task
    that no event fulfils, as `task due` names it. SUBJECT is SLIP, SLIP/LINE, shop or report/REPORT. Tasks that it
    fulfils are done, and holds and tasks that wait for it begin.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    entry, meets = happening.happen(book, event, subject, at=when, said=words)
    done = "".join(f"; done: {one['jurisdiction']}/{one['rule']}" for one in meets)
    told(asked, entry, f"{event} happened to {subject}{done}", when, event=event, subject=subject, done=meets)
