"""Reads one slip whole from the book: what was presented and recorded, what was corrected, what became of it.

Papers, corrections and answers start here. Duties and assessments are worked out again from the exact rule files and
evidence that governed the slip, so that a paper drawn in ten years says what one drawn at the counter said.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

import sqlalchemy as sa

from ledger.acts.examining import weigh
from ledger.assay import weighing
from ledger.assay.assessments import Assessment, Policy
from ledger.assay.strip import Strip, strip_of
from ledger.book import reading
from ledger.book.pages import Book
from ledger.errors import InputError
from ledger.law.duties import Duties
from ledger.law.holds import Hold
from ledger.moments import parse_moment
from ledger.shop import adopted
from ledger.shop.facts import ShopFacts
from ledger.shop.settings import Settings
from ledger.slip import facts, rebuilding
from ledger.slip.document import Item, Slip


@dataclass(frozen=True)
class Correction:
    """A later entry that says what a part should read."""

    seq: int
    part: str
    was: Any
    now: Any
    because: str
    at: str
    by: str


@dataclass(frozen=True)
class Whole:
    """One slip with everything the book says of it."""

    book: Book
    row: sa.Row[Any]
    presented: reading.Opened
    purchase: reading.Opened | None
    corrections: tuple[Correction, ...]
    shop: ShopFacts
    shop_told: Mapping[str, Any]
    """what rule files could ask about the shop on the slip's day"""
    files: tuple[Any, ...]
    undone: reading.Opened | None = None
    """the void, where the purchase was undone by a lawful return"""

    @property
    def number(self) -> int:
        """The slip's number."""
        return int(self.row.slip)

    @cached_property
    def parts(self) -> Mapping[str, Any]:
        """Parts by name, as presented and recorded, corrections not applied."""
        after = self.purchase.parts if self.purchase else ()
        return dict((*self.presented.parts, *after))

    @cached_property
    def slip(self) -> Slip:
        """The slip as its parts say it. Raises: InputError when some of it was forgotten."""
        if "visit" not in self.parts:
            raise InputError(field="slip", given=self.number, wanted="a slip whose seller's data were not forgotten")
        return rebuilding.slip_of(self.parts)

    @cached_property
    def today(self) -> Mapping[str, Any]:
        """Parts by name, as they read after all corrections."""
        return {**self.parts, **{each.part: each.now for each in self.corrections}}

    @cached_property
    def slip_today(self) -> Slip:
        """The slip as it reads after all corrections. Raises: as `slip`."""
        return rebuilding.slip_of(self.today) if self.corrections else self.slip

    @cached_property
    def recorded_at(self) -> datetime:
        """When the newest of its two entries was written, in the zone of the purchase."""
        entry = (self.purchase or self.presented).entry
        return parse_moment(entry.recorded_at, "recorded_at").astimezone(self.slip.occurred_at.tzinfo)

    @cached_property
    def duties(self) -> Duties:
        """The duties under the rule files that governed the slip, and under the policy of its assessments."""
        return self.weighed(self.slip)

    @cached_property
    def duties_today(self) -> Duties:
        """The duties of the slip as it reads after all corrections, under the rule files that governed it."""
        return self.weighed(self.slip_today) if self.corrections else self.duties

    def weighed(self, slip: Slip) -> Duties:
        """What the rule files that governed the slip ask of a slip that reads otherwise."""
        recorded = self.assessment(1)
        policy = Policy() if recorded is None else Policy.parse(recorded["policy"])
        return weigh(
            slip,
            files=self.files,
            settings=Settings(policy=policy),
            recorded_at=self.recorded_at,
            shop=self.shop_told,
            program=self.book.program,
            past=self.parts.get("duties", {}).get("past"),
        ).duties

    @cached_property
    def told(self) -> Mapping[str, Any]:
        """The slip's facts by the names that rule files use, all items included."""
        return self._told(self.slip)

    @cached_property
    def told_today(self) -> Mapping[str, Any]:
        """The same after all corrections."""
        return self._told(self.slip_today) if self.corrections else self.told

    def _told(self, slip: Slip) -> Mapping[str, Any]:
        assessments = {
            line: reweighed(item, recorded)
            for line, item in enumerate(slip.items, 1)
            if (recorded := self.assessment(line)) is not None
        }
        return facts.facts_of(slip, shop=self.shop_told, assessments=assessments, every_item=True)

    @property
    def holds(self) -> tuple[Hold, ...]:
        """The holds as they were recorded with the purchase; none while it is only presented."""
        recorded = self.parts.get("duties", {}).get("holds", ())
        return tuple(Hold.parse(each) for each in recorded)

    def assessment(self, line: int) -> Mapping[str, Any] | None:
        """What the book holds as the assessment of an item."""
        found: Mapping[str, Any] | None = self.parts.get(f"item/{line}/assessment")
        return found

    def strip(self, line: int) -> Strip | None:
        """The fineness strip of an item as it was recorded; None: the book holds no assessment of it."""
        recorded = self.assessment(line)
        return None if recorded is None else strip_of(recorded)


def reweighed(item: Item, recorded: Mapping[str, Any]) -> Assessment:
    """The assessment of an item's evidence under the policy that was in force when it was recorded."""
    policy = Policy.parse(recorded["policy"])
    return weighing.weigh_item(facts.evidence_of(item), policy=policy, program=recorded["program"])


def whole(connection: sa.Connection, book: Book, number: int) -> Whole:
    """A slip whole. Raises: InputError when there is no such slip, LockedError."""
    row = reading.slip_row(connection, book.origin, number)
    presented = reading.open_entry(connection, book, row.presented_seq)
    purchase = None if row.recorded_seq is None else reading.open_entry(connection, book, row.recorded_seq)
    governing = (purchase or presented).entry.public["rules"]
    return Whole(
        book=book,
        row=row,
        presented=presented,
        purchase=purchase,
        corrections=tuple(_corrections(connection, book, number)),
        shop=adopted.shop_on(connection, book.origin, row.local_day),
        shop_told=adopted.told_on(connection, book.origin, row.local_day),
        files=tuple(adopted.rule_file(connection, book.origin, digest) for digest in governing),
        undone=reading.open_entry(connection, book, row.closed_seq) if row.state == "voided" else None,
    )


def _corrections(connection: sa.Connection, book: Book, number: int) -> list[Correction]:
    found = []
    for seq in reading.seqs_about(connection, book.origin, f"slip/{number}"):
        entry = reading.entry_at(connection, book.origin, seq)
        if not entry.kind.startswith("correction/"):
            continue
        said = reading.open_parts(connection, book, entry).get("correction")
        if said is not None:
            found.append(
                Correction(seq, said["part"], said["was"], said["is"], said["because"], entry.recorded_at, entry.by)
            )
    return found
