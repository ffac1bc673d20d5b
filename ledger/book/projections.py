"""Derives the search tables from entries and their opened parts: one function per kind of entry.

`apply` runs in the transaction that appends an entry, and again, entry by entry, when the tables are rebuilt; so
a rebuild gives the same rows. It copies what the entry's parts say and decides nothing: moments and duties were
worked out by the act and stand in the parts.
"""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import sqlite
from sqlalchemy.schema import CreateTable

from ledger.book import duty_rows, tables, words_index
from ledger.book.duty_rows import STEPS as STEPS
from ledger.book.lines import Blind as Blind
from ledger.book.lines import Line as Line
from ledger.book.lines import text
from ledger.book.statements import put
from ledger.chain import canonical
from ledger.errors import LedgerError
from ledger.identity import names
from ledger.likeness import articles
from ledger.slip import describing, rebuilding, searching
from ledger.slip.document import Item, Name

# Built once: they run for every purchase inside the write lock.
_SLIP_RECORDED = (
    tables.slips.update()
    .where(tables.slips.c.book == sa.bindparam("in_book"), tables.slips.c.slip == sa.bindparam("of_slip"))
    .values(state="recorded", recorded_seq=sa.bindparam("by_seq"))
)
_ITEMS_BOUGHT = (
    tables.items.update()
    .where(
        tables.items.c.book == sa.bindparam("in_book"),
        tables.items.c.slip == sa.bindparam("of_slip"),
        tables.items.c.state == sa.bindparam("was"),
    )
    .values(state="in stock", changed_seq=sa.bindparam("by_seq"))
)

NOT_AS_ACTS_WRITE = (
    LedgerError,
    LookupError,
    TypeError,
    ValueError,
    AttributeError,
    StopIteration,
    sa.exc.SQLAlchemyError,
)
"""what `apply` may stumble over in an entry that no act of this program wrote, or whose parts were lost"""

SHOP = "shop"
"""the place of an item that was never moved"""


def apply(connection: sa.Connection, line: Line) -> None:
    """Bring the derived tables from the state before an entry to the state after it."""
    put(connection, tables.mentions, [(line.entry.book, name, line.entry.seq) for name in line.entry.about])
    act = _KINDS.get(line.entry.kind.partition("/")[0])
    if act is not None:
        act(connection, line)


def clear(connection: sa.Connection, book: str) -> None:
    """Empty the derived tables of one book before a rebuild; of a SQLite file, which holds one book, altogether."""
    for table in tables.PROJECTIONS:
        mine = table.c.book == book if connection.dialect.name == "postgresql" else sa.true()
        connection.execute(table.delete().where(mine))
    words_index.remove(connection, book)


def create(connection: sa.Connection) -> None:
    """Make empty derived tables in an empty SQLite database, for a rebuild beside the book."""
    for statement in _layout():
        connection.exec_driver_sql(statement)
    words_index.create(connection)


@cache
def _layout() -> tuple[str, ...]:
    return tuple(str(CreateTable(table).compile(dialect=sqlite.dialect())) for table in tables.PROJECTIONS)


def dump(connection: sa.Connection, book: str) -> dict[str, Counter[tuple[Any, ...]]]:
    """Every derived row of one book, by table, each counted."""
    rows: dict[str, Counter[tuple[Any, ...]]] = {
        table.name: Counter(map(tuple, connection.execute(sa.select(table).where(table.c.book == book))))
        for table in tables.PROJECTIONS
    }
    rows[tables.WORDS] = Counter(words_index.rows(connection, book))
    return rows


def _presented(connection: sa.Connection, line: Line) -> None:
    entry = line.entry
    visit = line.get("visit", {})
    amount = line.get("payout/amount") or {}
    draft = next(name[len("draft/") :] for name in entry.about if name.startswith("draft/"))
    occurred = str(visit["occurred_at"])
    count = int(entry.public["items"])
    put(
        connection,
        tables.slips,
        [
            (
                entry.book,
                line.slip,
                draft,
                "presented",
                occurred,
                occurred[:10],
                entry.seq,
                None,
                None,
                count,
                amount.get("currency"),
                amount.get("minor"),
                visit["channel"],
            )
        ],
    )
    read = {number: _read_item(line, number) for number in range(1, count + 1)}
    put(connection, tables.items, [_item(line, draft, number, item) for number, item in read.items()])
    for number, item in read.items():
        words_index.put(connection, entry.book, line.slip, number, _index_words(item))
    put(connection, tables.seller_index, _seller_index(line))


def _item(line: Line, draft: str, number: int, item: Item) -> tuple[Any, ...]:
    price = line.get(f"item/{number}/price") or {}
    value = price.get("value") or {}
    offer = price.get("offer") or {}
    state = {"taken": "offered", "declined": "declined"}.get(price.get("answer", ""), "no offer")
    description = line.get(f"item/{number}/description")
    return (
        line.entry.book,
        line.slip,
        number,
        draft,
        state,
        describing.one_line(item),
        text({"description": _of_the_goods(description), "inscriptions": line.get(f"item/{number}/inscriptions")}),
        price.get("gross_mg"),
        price.get("net_mg"),
        value.get("fine_paid_mg"),
        text(_assessed(line.get(f"item/{number}/assessment"))),
        offer.get("currency"),
        offer.get("minor"),
        SHOP,
        line.entry.seq,
    )


def _index_words(item: Item) -> tuple[str, ...]:
    """The words of an item, and the tokens of what it is like."""
    return (*searching.tokens(item), *articles.tokens(articles.traits_of(item)))


def _of_the_goods(description: Mapping[str, Any]) -> dict[str, Any]:
    """A description without the seller's own words and answers: the tables lie in clear."""
    return {name: value for name, value in description.items() if name not in ("seller_says", "answers")}


def _assessed(assessment: Mapping[str, Any] | None) -> dict[str, Any]:
    """The outcome of an assessment, without its reasons."""
    wanted = ("construction", "standing", "metal", "seen", "payable", "confidence")
    return {name: assessment.get(name) for name in wanted} if assessment else {}


def _read_item(line: Line, number: int) -> Item:
    return rebuilding.item_of(line.get(f"item/{number}/description"), line.get(f"item/{number}/inscriptions"))


def _seller_index(line: Line) -> list[tuple[str, str, str, int]]:
    """Keyed digests of each party's document numbers, and of name + birth date where both are known."""
    assert line.blind is not None, "a slip has parts, and these lie behind the keys that also make the index"
    found: set[tuple[str, str]] = set()
    people: dict[str, dict[str, Any]] = {}
    for name, value in line.parts:
        who, _, what = name.rpartition("/")
        if "/document/" in name and isinstance(value.get("number"), str):
            found.add(("document", line.blind("document", names.number_key(value["number"]))))
        elif what in ("name", "birth_date"):
            people.setdefault(who, {})[what] = value
    for person in people.values():
        called, born = person.get("name"), person.get("birth_date")
        if isinstance(called, dict) and "not_known" not in called and isinstance(born, str):
            key = names.person_key(Name(**called).full, date.fromisoformat(born))
            found.add(("person", line.blind("person", key)))
    return [(line.entry.book, kind, digest, line.slip) for kind, digest in sorted(found)]


def _purchase(connection: sa.Connection, line: Line) -> None:
    entry = line.entry
    duties = line.get("duties", {})
    here = {"in_book": entry.book, "of_slip": line.slip, "by_seq": entry.seq}
    connection.execute(_SLIP_RECORDED, here)
    connection.execute(_ITEMS_BOUGHT, {**here, "was": "offered"})
    put(connection, tables.holds, [duty_rows.hold_row(entry.book, line.slip, hold) for hold in duties.get("holds", ())])
    for duty in duties.get("reports", ()):
        duty_rows.report_duty(connection, line, line.slip, duty)
    put(connection, tables.tasks, [duty_rows.task_row(entry, line.slip, task) for task in duties.get("tasks", ())])
    owed = duties.get("payout")
    if owed is not None:
        amount = owed["amount"]
        row = (
            entry.book,
            line.slip,
            "1",
            "owed",
            owed["instrument"],
            amount["currency"],
            amount["minor"],
            owed["at"],
            owed["cash_minor"],
            entry.seq,
        )
        put(connection, tables.payouts, [row])


def _withdrawn(connection: sa.Connection, line: Line) -> None:
    _set_slip(connection, line, state="withdrawn", closed_seq=line.entry.seq)
    _set_items(connection, line, state="withdrawn")


def _void(connection: sa.Connection, line: Line) -> None:
    _set_slip(connection, line, state="voided", closed_seq=line.entry.seq)
    _set_items(connection, line, state="returned to seller")
    duty_rows.reports_to_correct(connection, line)


def _payout(connection: sa.Connection, line: Line) -> None:
    payout, entry = tables.payouts, line.entry
    what = line.get("payout/method", {})
    name = str(entry.public.get("payout", 1))
    here = sa.and_(payout.c.book == entry.book, payout.c.slip == line.slip, payout.c.payout == name)
    values = {"state": entry.public["state"], "at": what["at"], "seq": entry.seq, "instrument": what["instrument"]}
    was = connection.execute(sa.select(payout.c.instrument, payout.c.minor).where(here)).one()
    if was.instrument != what["instrument"]:
        values["cash_minor"] = was.minor if what["instrument"] == "cash" else 0
    connection.execute(payout.update().where(here).values(values))


def _correction(connection: sa.Connection, line: Line) -> None:
    what = line.get("correction")
    number = int(what["line"])
    about = "item" if number else "slip"  # a part's name tells too: it stays in the vault
    row = (line.entry.book, line.entry.seq, line.slip, number, about, line.entry.public["corrects"])
    put(connection, tables.corrections, [row])
    duty_rows.reports_to_correct(connection, line)
    if what["part"] == "payout/amount":
        _correct_amount(connection, line, what["is"])
    if number:
        _correct_item(connection, line, number, what["part"].rpartition("/")[2], what["is"])
    _correct_seller(connection, line, what)
    duty_rows.follow(connection, line)


def _correct_amount(connection: sa.Connection, line: Line, now: Mapping[str, Any]) -> None:
    """The total of a slip, and the payout as long as it is owed: what was paid was paid."""
    slip, payout, book = tables.slips, tables.payouts, line.entry.book
    here = sa.and_(slip.c.book == book, slip.c.slip == line.slip)
    connection.execute(slip.update().where(here).values(currency=now["currency"], total_minor=now["minor"]))
    owed = sa.and_(payout.c.book == book, payout.c.slip == line.slip, payout.c.state == "owed")
    connection.execute(payout.update().where(owed).values(currency=now["currency"], minor=now["minor"]))
    # Of another amount no part is known to be cash, but that all of a payout in cash is.
    cash = sa.case((payout.c.instrument == "cash", now["minor"]), (payout.c.cash_minor > now["minor"], now["minor"]))
    connection.execute(payout.update().where(owed).values(cash_minor=sa.func.coalesce(cash, payout.c.cash_minor)))


def _correct_item(connection: sa.Connection, line: Line, number: int, name: str, now: Any) -> None:
    """Words, weights and price of an item as they read after a correction."""
    item, book = tables.items, line.entry.book
    here = sa.and_(item.c.book == book, item.c.slip == line.slip, item.c.line == number)
    changed: dict[str, Any] = {"changed_seq": line.entry.seq}
    if name in ("description", "inscriptions"):
        kept = canonical.decode(connection.execute(sa.select(item.c.description).where(here)).scalar_one().encode())
        kept[name] = _of_the_goods(now) if name == "description" else now
        read = rebuilding.item_of(kept["description"], kept["inscriptions"])
        changed |= {"words": describing.one_line(read), "description": text(kept)}
        changed |= {"gross_mg": read.gross_mg and int(read.gross_mg), "net_mg": read.net_mg and int(read.net_mg)}
        words_index.remove(connection, book, line.slip, number)
        words_index.put(connection, book, line.slip, number, _index_words(read))
    elif name == "price" and "offer" in now:
        changed |= {"currency": now["offer"]["currency"], "offer_minor": now["offer"]["minor"]}
    connection.execute(item.update().where(here).values(changed))


def _correct_seller(connection: sa.Connection, line: Line, what: Mapping[str, Any]) -> None:
    """The corrected number or name finds the slip from now on; so does the one that was written first."""
    index = tables.seller_index
    said = (*what.get("person", {}).items(), (what["part"], what["is"]))
    for row in _seller_index(replace(line, parts=said)):
        here = [column == value for column, value in zip(index.c, row, strict=True)]
        if connection.execute(sa.select(index.c.slip).where(*here)).first() is None:
            put(connection, index, [row])


def _moved(connection: sa.Connection, line: Line) -> None:
    for slip, number in _items_about(line):
        to = line.get(f"item/{number}/moved")["to"]
        item = tables.items
        here = sa.and_(item.c.book == line.entry.book, item.c.slip == slip, item.c.line == number)
        connection.execute(item.update().where(here).values(place=to, changed_seq=line.entry.seq))
        away = sa.and_(here, item.c.state.in_(("sent out", "consigned")))  # what is put somewhere is back
        connection.execute(item.update().where(away).values(state="in stock"))


def _outcome(connection: sa.Connection, line: Line) -> None:
    for slip, number in _items_about(line):
        state = line.entry.public["state"].replace("-", " ")
        at = line.get(f"item/{number}/outcome")["at"]
        put(connection, tables.outcomes, [(line.entry.book, line.entry.seq, slip, number, state, at)])
        item = tables.items
        here = sa.and_(item.c.book == line.entry.book, item.c.slip == slip, item.c.line == number)
        connection.execute(item.update().where(here).values(state=state, changed_seq=line.entry.seq))


def _items_about(line: Line) -> list[tuple[int, int]]:
    named = [name.split("/") for name in line.entry.about]
    return [(int(slip), int(number)) for _, slip, number in named]


def _rules_adopted(connection: sa.Connection, line: Line) -> None:
    entry, public = line.entry, line.entry.public
    row = (entry.book, entry.seq, public["jurisdiction"], public["digest"], public["compared_on"], entry.by)
    put(connection, tables.adoptions, [row])


def _shop(connection: sa.Connection, line: Line) -> None:
    put(connection, tables.shop_facts, [(line.entry.book, line.entry.seq, text(line.entry.public["facts"]))])


def _staff(connection: sa.Connection, line: Line) -> None:
    person, entry = tables.staff, line.entry
    here = sa.and_(person.c.book == entry.book, person.c.staff == entry.public["staff"])
    connection.execute(person.delete().where(here))
    row = (entry.book, entry.public["staff"], entry.public["role"], entry.public.get("until"), entry.seq)
    put(connection, person, [row])


def _day_closed(connection: sa.Connection, line: Line) -> None:
    put(connection, tables.days, [(line.entry.book, line.entry.public["day"], line.entry.seq)])


def _set_slip(connection: sa.Connection, line: Line, **values: Any) -> None:
    slip = tables.slips
    here = sa.and_(slip.c.book == line.entry.book, slip.c.slip == line.slip)
    connection.execute(slip.update().where(here).values(values))


def _set_items(connection: sa.Connection, line: Line, *, state: str) -> None:
    item = tables.items
    here = sa.and_(item.c.book == line.entry.book, item.c.slip == line.slip, item.c.state.in_(("offered", "in stock")))
    connection.execute(item.update().where(here).values(state=state, changed_seq=line.entry.seq))


_KINDS: Mapping[str, Callable[[sa.Connection, Line], None]] = {
    **duty_rows.KINDS,
    "presented": _presented,
    "purchase": _purchase,
    "withdrawn": _withdrawn,
    "void": _void,
    "payout": _payout,
    "correction": _correction,
    "moved": _moved,
    "outcome": _outcome,
    "rules-adopted": _rules_adopted,
    "shop": _shop,
    "staff": _staff,
    "day-closed": _day_closed,
}
