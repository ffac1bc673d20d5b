"""The rule files in force, as the owner reads them: who compared each with the law and when, and every rule in words.

Decides: what is told of a file, and what a new file would change before anybody adopts it. Leaves adopting to
`setting_up`, reading to `ledger.law`.
"""

from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Book
from ledger.law import differing, files
from ledger.law.rules import RuleFile
from ledger.shop import adopted

_TOLD_APART = ("kind", "meaning", "source", "quote", "address", "effect", "basis", "last day")


@dataclass(frozen=True)
class RuleTold:
    """One version of one rule."""

    id: str
    kind: str
    says: str
    cite: str
    quote: str
    address: str
    basis: str
    effect: str
    first: date
    last: date | None
    terms: tuple[tuple[str, str], ...]
    """what each key of it says, in words"""
    in_force: bool


@dataclass(frozen=True)
class InForce:
    """A rule file that governs the shop."""

    file: RuleFile
    by: str
    """who compared it with the law"""
    compared_on: str
    entry: int
    stale: str
    """that nobody compared it with the law of today, in words; empty where somebody did"""
    rules: tuple[RuleTold, ...]


@dataclass(frozen=True)
class Difference:
    """What a file would change, were it adopted."""

    file: RuleFile
    before: RuleFile | None
    """the file of its jurisdiction that is in force; None: the first of its jurisdiction"""
    changes: tuple[str, ...]
    apart: tuple[str, ...]
    """why it cannot stand beside the other files in force"""


def in_force(book: Book, on: date) -> list[InForce]:
    """The rule files in force, the widest layer first. on: today, in the shop's zone."""
    adoption = tables.adoptions.c
    with engines.reading(book.engine) as connection:
        known = adopted.in_force(connection, book.origin)
        wanted = sa.select(tables.adoptions).where(adoption.book == book.origin).order_by(adoption.seq)
        newest = {row.jurisdiction: row for row in connection.execute(wanted)}
    return [
        InForce(
            file,
            newest[file.jurisdiction].by,
            newest[file.jurisdiction].compared_on,
            newest[file.jurisdiction].seq,
            file.stale_on(on) or "",
            tuple(told(file, on)),
        )
        for file in sorted(known, key=lambda one: (_LAYERS.index(one.layer), one.jurisdiction))
    ]


_LAYERS = ("nation", "state", "county", "city")


def told(file: RuleFile, on: date) -> list[RuleTold]:
    """Every rule of a file in words, those that apply on a day first."""
    found = [
        RuleTold(
            rule.id,
            said["kind"],
            rule.says,
            rule.source.cite,
            rule.source.quote,
            rule.source.url,
            rule.source.basis,
            rule.effect,
            rule.first,
            rule.last,
            tuple((name, text) for name, text in said.items() if text and name not in _TOLD_APART),
            rule.in_force(on),
        )
        for rule in file.rules
        for said in (differing.describe(rule),)
    ]
    return sorted(found, key=lambda one: not one.in_force)


def difference(book: Book, data: bytes, name: str) -> Difference:
    """What a rule file would change. Writes nothing. Raises: RuleFileWrong with all its faults."""
    file = files.read(data, name)
    with engines.reading(book.engine) as connection:
        known = adopted.in_force(connection, book.origin)
    before = next((one for one in known if one.jurisdiction == file.jurisdiction), None)
    others = [one for one in known if one.jurisdiction != file.jurisdiction]
    changes = () if before is None else tuple(files.diff(before, file))
    return Difference(file, before, changes, files.check_together([*others, file]))
