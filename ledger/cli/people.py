"""Commands on people and on the shop's facts: staff list, add, left; shop facts, permit."""

import click

from ledger.acts import permitting, setting_up, staffing
from ledger.cli import given, opened, said
from ledger.cli.keys import PAPER_KEY_SHOWN
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import told
from ledger.errors import InputError
from ledger.shop import facts as shop_facts


@click.command("list")
@for_a_book
@click.pass_obj
def list_(asked: Asked) -> None:
    """List who works and worked here."""
    book = opened.a_book(asked)
    people = staffing.people(book)
    document = [
        {"staff": one.staff, "role": one.role, "until": one.until, "opens_the_book": one.opens} for one in people
    ]
    rows = [(one.staff, one.role, one.until, "yes" if one.opens else "no") for one in people]
    said.answer(asked, {"staff": document}, said.table(("staff", "role", "until", "opens the book"), rows))


@click.command()
@click.argument("staff_id", metavar="STAFF")
@click.option(
    "--role", type=click.Choice(["clerk", "owner"]), default="clerk", show_default=True, help="What she may do."
)
@click.option("--name", "name_file", metavar="FILE", help="File with her name; - is standard input.")
@click.option("--pass-phrase", metavar="FILE", help="File with her pass-phrase, mode 0600; asked for without it.")
@for_a_book
@click.pass_obj
def add(asked: Asked, staff_id: str, role: str, name_file: str | None, pass_phrase: str | None) -> None:
    """Record that a person works here, with a pass-phrase of her own.

    STAFF is a short word that stands in entries; her name lies in the vault. Only an owner can do this.
    """
    book = opened.a_book(asked, unlocked=True)
    owner = opened.owners_keys(book)
    name = staff_id if name_file is None else given.words(asked, name_file, "--name")
    staffing.must_be_new(book, staff_id)
    said_phrase = None if staffing.has_slot(book, staff_id) else given.new_pass_phrase(staff_id, pass_phrase)
    entry = staffing.join(book, owner, staff_id, role=role, name=name, pass_phrase=said_phrase)
    told(asked, entry, f"{staff_id} works here as {role}", staff=staff_id, role=role)


@click.command()
@click.argument("staff_id", metavar="STAFF")
@click.option("--until", metavar="DAY", help="Her last day, such as 2026-11-24; today without it.")
@for_a_book
@click.pass_obj
def left(asked: Asked, staff_id: str, until: str | None) -> None:
    """Record that a person works here no longer.

    Her pass-phrase opens nothing any more. When an owner leaves, a new paper key is shown once: write it down. Only
    an owner can do this, and not for herself.
    """
    book = opened.a_book(asked, unlocked=True)
    owner = opened.owners_keys(book)
    day = given.day(until, opened.zone(book), opened.clock(), "--until")
    gone = staffing.leave(book, owner, staff_id, day)
    entry, paper_key = gone.entry, gone.paper_key
    # Shown at once, before anything else can fail; if even that came too late, `staff paper-key` makes another.
    if paper_key is not None and not asked.json:
        click.echo(PAPER_KEY_SHOWN.format(paper_key))
    told(
        asked,
        entry,
        f"{staff_id} works here no longer after {day}",
        staff=staff_id,
        until=day.isoformat(),
        paper_key=paper_key,
    )
    if entry.public["role"] == "owner" and not gone.had_slot and not asked.json:
        click.echo(
            f"The slot of {staff_id} was gone already; if nobody saw the paper key that was made when it went, "
            "run `counterfoil staff paper-key`."
        )
    opened.close(book, asked)


@click.command()
@click.argument("file", required=False, metavar="[FILE]")
@for_a_book
@click.pass_obj
def facts(asked: Asked, file: str | None) -> None:
    """Show the shop's facts, or record new ones from a day on.

    FILE is TOML as `init` leaves it in the book's folder. Papers of earlier days keep the earlier facts.
    """
    book = opened.a_book(asked, unlocked=file is not None)
    if file is not None:
        new = shop_facts.read(given.data(asked, file))
        if blank := shop_facts.unfilled(new):
            as_found = getattr(new, blank[0])
            raise InputError(
                field=blank[0], given=as_found, wanted="your shop's own, in place of the words of the form"
            )
        entry = setting_up.set_facts(book, new)
        told(asked, entry, f"These facts hold from {new.from_day} on", facts=new.record())
        return
    known = opened.shop(book).record()
    rows = [
        (name, "; ".join(map(str, value)) if isinstance(value, list) else _table(value))
        for name, value in known.items()
    ]
    said.answer(asked, known, said.table(("fact", "says"), rows))


def _table(value: object) -> str:
    return "; ".join(f"{name} = {said}" for name, said in value.items()) if isinstance(value, dict) else str(value)


@click.command()
@click.argument("file", required=False, metavar="[FILE]")
@for_a_book
@click.pass_obj
def permit(asked: Asked, file: str | None) -> None:
    """Show what authorities permit, or record a permission.

    FILE, JSON or TOML or - for standard input, holds: permission (its id in a rule file), by (who gave it), reference,
    from and until (days), and item (SLIP/LINE) where it is for one item. The newest record of a permission counts.
    """
    book = opened.a_book(asked, unlocked=file is not None)
    if file is not None:
        permission = permitting.read_permission(given.document(asked, file))
        entry = permitting.permit(book, permission)
        what = "the shop" if permission.item is None else "item {}/{}".format(*permission.item)
        told(asked, entry, f"{permission.permission} is permitted to {what}", permission=permission.permission)
        return
    known = permitting.known(book, opened.today(book))
    rows = [
        (one["permission"], one["subject"], one["from"], one["until"], "yes" if one["in_force"] else "no")
        for one in known
    ]
    text = said.table(("permission", "for", "from", "until", "in force"), rows)
    said.answer(asked, {"permissions": known}, text if known else "No permission was recorded.")
