"""The program's face on a terminal: the table of its commands. Each is imported only when it is called.

Decides: names, order and one-line helps of commands; that whatever stops a command is said in one sentence with an
exit code. Leaves to each command's module what it does.
"""

from __future__ import annotations

import click

from ledger.cli.lazily import Called, LazyGroup
from ledger.cli.options import Asked, on_the_group

_EXIT_CODES = """\b
Exit codes: 0 done; 1 something else; 2 what was given cannot be taken;
3 the book is not sound; 4 a rule file is at fault or silent; 5 locked;
6 the disk or database said no; 7 the law says no; 8 something is due,
late or undecided."""


def _called(module: str, **says: str) -> dict[str, Called | LazyGroup]:
    """Commands of one module: `name="what it does"`; a name that is a word of Python ends with _, and - is _."""
    names = {name: name.rstrip("_").replace("_", "-") for name in says}
    return {names[name]: Called(f"ledger.cli.{module}:{name}", text) for name, text in says.items()}


_TABLE: dict[str, Called | LazyGroup] = {
    **_called("demonstration", demo="Build the demonstration shop in DIR and show what it holds."),
    **_called("books", init="Make a new book in DIR."),
    "slip": LazyGroup(
        "slip",
        "One visit: its seller, its items, its payout.",
        {
            **_called("scans", scan="Read a scanned barcode or the typed lines of a document into a slip's party."),
            **_called(
                "slips",
                schema="Print the JSON Schema of a slip.",
                check="Show duties and assessments of a slip; write nothing.",
                present="Freeze a slip under its number, for the seller to sign.",
                record="Record a purchase: present and record in one, or what was presented.",
                refuse="Record that a purchase was not made, as far as the rules let it.",
            ),
            **_called(
                "undone",
                withdraw="Record that a presented slip was not completed.",
                void="Undo a recorded slip by a lawful return.",
                correct="Correct a part of a recorded slip by a new entry.",
            ),
            **_called("looking", list_="List slips, newest first.", show="Show one slip with its entries."),
        },
    ),
    "item": LazyGroup(
        "item",
        "One article: where it lies and how it leaves.",
        _called(
            "items",
            show="Show an item: evidence, holds, history.",
            move="Record that an item lies elsewhere now.",
            out="Record that an item left, unless a hold forbids it.",
            label="Draw the bag labels of a slip's items.",
        ),
    ),
    "hold": LazyGroup(
        "hold",
        "What may not leave yet, and the orders of authorities.",
        _called(
            "holds",
            list_="List items in stock with the moment from which they may leave.",
            order="Record an authority's order to hold items.",
            confirmed="Record that a spoken order was confirmed in writing.",
            renewed="Record that an authority renewed its order.",
            notice="Record the shop's own notice before an order ends.",
            lift="Record that an order no longer stands.",
        ),
    ),
    "payout": LazyGroup(
        "payout",
        "What became of the money.",
        _called(
            "payouts",
            list_="List payouts and their states.",
            owed="List what is still to be paid.",
            paid="Record that a slip's payout was made.",
            failed="Record that a payout came back, such as a bounced cheque.",
            reissued="Record that a payout was made again.",
        ),
    ),
    "report": LazyGroup(
        "report",
        "Reports to the authorities and their receipts.",
        _called(
            "reporting",
            due="List reports that are owed, soonest first.",
            list_="List every report, with what was done and when.",
            rates_="Show how many reports of each month were late, and how many told something wrong.",
            asked_="Record that an authority asks for a report.",
            make="Make a report: its paper and its entry.",
            show="Show where a report stands, and every step taken with it.",
            sent="Record that a report was sent.",
            delivered="Record that a report was delivered.",
            received="Record the authority's receipt of a report.",
            extended="Record that the recipient of a report gave more time.",
            failed="Record that the usual way of a report failed.",
        ),
    ),
    "task": LazyGroup(
        "task",
        "What else is due beside reports.",
        _called(
            "tasks",
            due="List tasks that are still to be done, soonest first.",
            happened="Record that something happened that a rule file gives a name.",
        ),
    ),
    "day": LazyGroup(
        "day",
        "The shop's day: its close and its sheet.",
        _called("days", close="Close a day and seal the book.", sheet="Draw the sheet of a day."),
    ),
    "inquiry": LazyGroup(
        "inquiry",
        "Answers to stolen-goods questions.",
        _called(
            "inquiries",
            search="Search items by the words of a description.",
            match="Match a list of stolen articles against the book, in bulk.",
            nothing_found="Answer that nothing was found, with a paper and an extract that can be checked later.",
            dossier="Draw one item's whole history for an authority.",
            extract="Hand out part of the book as a zip that a stranger can check.",
        ),
    ),
    "process": LazyGroup(
        "process",
        "Requests of authorities, and goods that they take.",
        _called(
            "processes",
            record="Record a request of an authority.",
            note="Record what followed a request.",
            list_="List requests of authorities, oldest first, with what is to follow.",
            show="Show one request with everything that followed it.",
            taken="Record that goods were seized or surrendered, with the receipt for them.",
            returned="Record that goods which were taken came back to the shop.",
        ),
    ),
    "inspection": LazyGroup(
        "inspection",
        "Inspections: what is shown, checked and found.",
        _called(
            "inspections",
            open_="Prepare everything since the last inspection in one folder.",
            shelf="Hold the shelf against the book, both ways, by scanned labels.",
            sample="Draw a random sample of items from a seed that the inspector gives.",
            record="Record an inspection, sealed right after the last entry, and draw its paper.",
            cured="Record that a finding of an inspection was put right.",
            list_="List inspections, oldest first, with what is still to be cured.",
        ),
    ),
    "law": LazyGroup(
        "law",
        "Rule files: what the law of a place asks.",
        {
            **_called(
                "laws",
                check="Look for faults in rule files, and run their cases.",
                explain="Show the duties of given facts, with the way to each.",
                schema="Print the JSON Schema of a rule file.",
            ),
            **_called("adopting", adopt="Put a rule file into force in a book."),
            **_called("laws", diff="Show what changes between two rule files."),
        },
    ),
    "assay": LazyGroup(
        "assay",
        "What tests and marks can and cannot show.",
        _called(
            "assays",
            weigh="Weigh the evidence of one item.",
            mark="Say what a stamp claims.",
        )
        | _called(
            "bench",
            coating="Say what an X-ray reading of a coating would show.",
            density_="Say what weights in air and in water show.",
        ),
    ),
    "book": LazyGroup(
        "book",
        "The book itself: is it whole, and its seal.",
        _called(
            "books",
            verify="Check that nothing in the book has changed.",
            seal="Print the signed seal over the book as it stands.",
            verify_extract="Check an extract; no book is needed.",
            rebuild="Make the derived tables anew from entries and vault.",
        ),
    ),
    "staff": LazyGroup(
        "staff",
        "People who may open the book.",
        _called(
            "people",
            list_="List who works and worked here.",
            add="Record that a person works here, with a pass-phrase of her own.",
            left="Record that a person works here no longer.",
        )
        | _called(
            "keys",
            passphrase="Change your own pass-phrase.",
            reset="Give a person a new pass-phrase and a new key.",
            paper_key="Make a new paper key.",
        ),
    ),
    "shop": LazyGroup(
        "shop",
        "Facts about the shop that papers print.",
        _called(
            "people",
            facts="Show the shop's facts, or record new ones from a day on.",
            permit="Show what authorities permit, or record a permission.",
        ),
    ),
    **_called("serving", serve="Open the counter in a browser."),
    **_called("books", unlock="Open the vault for the day.", lock="Close the vault."),
    **_called("care", doctor="Say how the book is kept on this machine, and what to mend."),
}


class Counterfoil(LazyGroup):
    """The whole program: whatever stops a command is said in one sentence, with its exit code."""

    def invoke(self, ctx: click.Context) -> object:
        """Run the command that was called."""
        asked = ctx.ensure_object(Asked)
        try:
            return super().invoke(ctx)
        except click.UsageError as fault:
            if not asked.json:
                raise
            from ledger.cli.failing import stop_usage

            stop_usage(fault)
        except (click.ClickException, click.exceptions.Exit, click.Abort, EOFError, KeyboardInterrupt, BrokenPipeError):
            raise
        except Exception as fault:
            from ledger.cli.failing import stop

            stop(fault, asked)


def _version(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if wanted:
        from ledger.acts.opening import PROGRAM

        click.echo(f"counterfoil {PROGRAM}")
        ctx.exit()


main = Counterfoil(
    "counterfoil",
    "The purchase book of a shop that buys secondhand precious metal.",
    _TABLE,
    epilog=_EXIT_CODES,
)
main.params += [
    click.Option(
        ["--version"], is_flag=True, is_eager=True, expose_value=False, callback=_version, help="Print the version."
    ),
    *on_the_group(),
]
