"""What is stamped on an article, read as claims.

Decides: which metal, fineness, construction and part each piece of a stamp speaks of; the longest reading wins, a
number or word with several meanings keeps them all, and letters that no table knows are a maker's, never a fineness. A
character that could not be read is "?", and leaves every meaning that the whole mark may have had. Leaves to `judging`
whether a claim holds: a mark of fineness is not believed without a test, a mark of plating is.

>>> [claim.words() for claim in read("1/20 12K GF")]
['gold-filled: a layer of 500.0 fine gold, 1/20 of the weight']
>>> [claim.words() for claim in read("14KP QZX")]
['gold, at least 583.3', 'QZX: a maker or dealer, no claim of fineness']
>>> [claim.completed for claim in read("2?K")]
['20K', '21K', '22K', '23K', '24K']
"""

from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from typing import Any

from ledger.assay import stamps, worn
from ledger.assay.stamps import Piece
from ledger.assay.tolerances import COMMON_CONTROL_MARK, Allowance, Made, allowances
from ledger.measures import Fineness, thousandths


@dataclass(frozen=True)
class Claim:
    """One thing that a stamp says, in one of its meanings."""

    text: str
    """the letters of the stamp that say it"""
    kind: str = "metal"
    """metal, maker, origin, stone, weight (of bullion), part, unread"""
    metal: str | None = None
    """gold, silver, platinum, palladium, base; None: not said"""
    fineness: Fineness | None = None
    """parts per million; of the layer, where the construction is layered or plated"""
    construction: str | None = None
    """solid, layered, plated, weighted, hollow, base; None: not said"""
    fraction: tuple[int, int] | None = None
    """share of the metal weight that is the layer, as (1, 20)"""
    tolerance_ppm: int = 0
    """how far below the mark the law lets metal without solder lie: the law of the making where it is known, else that
    of the United States for articles made from 1 October 1981"""
    tolerance_solder_ppm: int = 0
    status: str = "practice"
    """law, practice or memory: how firmly this meaning is known"""
    source: str = ""
    note: str = ""
    ambiguous: bool = False
    """the same letters have other meanings, which are read too"""
    under: tuple[str, int] | None = None
    """metal and parts per million under a layer, as for vermeil"""
    where: str = ""
    """where on the article it was read"""
    covers: str = ""
    """the part that the mark covers: as stamped, else where it was read; empty: the article"""
    allowances: tuple[Allowance, ...] = field(default=(), repr=False)
    """every tolerance that can govern the mark"""
    worn: bool = False
    """a character of the stamp could not be read, and this meaning hangs on it"""
    completed: str = ""
    """the letters with those that this meaning takes for the unread ones"""

    @property
    def at_most_ppm(self) -> int | None:
        """Gold in the whole of a declared layered article as made, parts per million, rounded down; None: not said."""
        if self.fraction is None or self.fineness is None:
            return None
        return int(self.fineness) * self.fraction[0] // self.fraction[1]

    @property
    def tolerance_most_ppm(self) -> int:
        """The largest tolerance that can govern the mark: below that, the metal is below it under any of the laws."""
        return max((each.ppm for each in self.allowances), default=self.tolerance_ppm)

    def words(self) -> str:
        """The claim in words."""
        said = self._words()
        if not self.worn or self.kind == "unread":
            return said
        return f"if the mark is {self.completed}: {said}" if self.completed else f"if nothing else is said: {said}"

    def _words(self) -> str:
        if self.kind != "metal":
            return f"{self.text}: {_SAYS[self.kind]}, no claim of fineness"
        fine = "" if self.fineness is None else thousandths(self.fineness)
        metal = self.metal or "metal not said"
        if self.construction == "layered" and self.metal == "gold":
            layer = f"{fine} fine gold" if fine else "gold, karat not said"
            share = f"{self.fraction[0]}/{self.fraction[1]} of the weight" if self.fraction else "share not said"
            return f"gold-filled: a layer of {layer}, {share}"
        if self.construction in ("solid", None):
            return f"{metal}, at least {fine}" if fine else f"{metal}, fineness not said"
        return f"{self.construction}: {metal}" + (f" {fine}" if fine and fine != "0.0" else "")

    def record(self) -> dict[str, Any]:
        """As parts of the book hold it: text, whole numbers and truth values; what is not said is left out."""
        record: dict[str, Any] = {"text": self.text, "kind": self.kind, "status": self.status, "source": self.source}
        for name in ("metal", "construction", "note", "where", "completed"):
            if getattr(self, name):
                record[name] = getattr(self, name)
        if self.covers != self.where:
            record["covers"] = self.covers
        if self.fineness is not None:
            record |= {"fineness_ppm": int(self.fineness), "tolerance_ppm": self.tolerance_ppm}
        if self.tolerance_most_ppm != self.tolerance_ppm:
            record["tolerance_most_ppm"] = self.tolerance_most_ppm
        if self.fraction:
            record["fraction"] = f"{self.fraction[0]}/{self.fraction[1]}"
        for name in ("ambiguous", "worn"):
            if getattr(self, name):
                record[name] = True
        if self.under:
            record["under"] = {"metal": self.under[0], "fineness_ppm": self.under[1]}
        return record


_SAYS = {
    "maker": "a maker or dealer",
    "origin": "where it was made or tested",
    "stone": "about stones",
    "weight": "a weight",
    "part": "a part of the article",
    "unread": "too little could be read, it may be any mark",
}


FINE_PPM = 990_000
"""Finenesses of bullion begin here."""


def read(text: str, where: str = "", made: Made | None = None) -> tuple[Claim, ...]:
    """The claims of one stamp, in the order in which they stand. Never raises: what cannot be read is a maker's.

    text: as read from the article; "?" stands for a character that could not be read. where: place on the article.
    made: what is known of its making; meanings that cannot be are left out, unless none would be left.
    """
    return _read(text[:200], where, made or Made())


@lru_cache(maxsize=4096)
def _read(text: str, where: str, made: Made) -> tuple[Claim, ...]:
    folded = stamps.fold(text)
    pieces = _worn(folded) if "?" in folded else stamps.pieces(folded)
    made = _by_its_own_word(pieces, made)
    pieces = _possible(pieces, made)
    control = any(piece.source == COMMON_CONTROL_MARK.law for piece in pieces)
    return tuple(dict.fromkeys(_claim(piece, where, made, control) for piece in pieces))


def _worn(folded: str) -> tuple[Piece, ...]:
    """All meanings of a stamp with unread characters: those of every mark of the tables that it may have been."""
    whole, possible = worn.completions(folded)
    readings = [stamps.pieces(each) for each in possible]
    found: list[Piece] = []
    for piece in dict.fromkeys(piece for reading in readings for piece in reading):
        legible = "?" not in folded[piece.start : piece.end]
        if legible and all(piece in reading for reading in readings):
            found.append(piece)
        elif piece.kind != "maker":
            text = folded[piece.start : piece.end].strip()
            completed = "" if legible or "?" in piece.text else piece.text
            found.append(replace(piece, text=text, completed=completed, worn=True))
    return _still_open(sorted(found, key=lambda piece: piece.start), whole)


def _still_open(found: list[Piece], whole: bool) -> tuple[Piece, ...]:
    """Which of the meanings exclude one another; a layer or plate is one in all meanings that say so."""
    unsure = [piece for piece in found if piece.worn]
    kinds = {(piece.kind, piece.metal, piece.construction) for piece in unsure}
    agreed = len(kinds) == 1 and unsure[0].construction not in ("solid", None)
    several = not (whole and (agreed or len(unsure) == 1))
    return tuple(replace(piece, ambiguous=piece.ambiguous or several) if piece.worn else piece for piece in found)


def _by_its_own_word(pieces: tuple[Piece, ...], made: Made) -> Made:
    """The making, with the country that the stamp itself names, where nobody said another."""
    named = {piece.countries for piece in pieces if piece.kind == "origin" and piece.countries and not piece.ambiguous}
    return replace(made, country=next(iter(named))[0]) if made.country is None and len(named) == 1 else made


def _possible(pieces: tuple[Piece, ...], made: Made) -> tuple[Piece, ...]:
    """The pieces without the meanings that country or date shut out; of no letters is the last meaning left out."""
    kept: list[Piece] = []
    for piece in pieces:
        same = [each for each in pieces if _letters(each) == _letters(piece)]
        can = [each for each in same if _can_be(each, made)]
        if piece in can or not can:
            alone = len(can) == 1 and len(same) > 1 and not piece.worn
            kept.append(replace(piece, ambiguous=False) if alone else piece)
    return tuple(kept)


def _letters(piece: Piece) -> tuple[int, int, str]:
    return piece.start, piece.end, piece.completed


def _can_be(piece: Piece, made: Made) -> bool:
    first, last = piece.years
    elsewhere = bool(piece.countries) and made.country is not None and made.country not in piece.countries
    days = date(first, 1, 1) if first else None, date(last, 12, 31) if last else None
    return piece.kind != "metal" or (not elsewhere and made.can_be(*days))


def _claim(piece: Piece, where: str, made: Made, control: bool) -> Claim:
    claim = Claim(
        text=piece.text,
        kind=piece.kind,
        metal=piece.metal,
        fineness=None if piece.ppm is None else Fineness(piece.ppm),
        construction=piece.construction,
        fraction=piece.fraction,
        status=piece.status,
        source=piece.source,
        note=piece.note,
        ambiguous=piece.ambiguous,
        under=piece.under,
        where=where,
        covers=piece.covers or where,
        worn=piece.worn,
        completed=piece.completed,
    )
    if not piece.ppm or piece.metal is None or piece.construction not in ("solid", "weighted", "hollow"):
        return claim
    known = made if made.country or len(piece.countries) != 1 else replace(made, country=piece.countries[0])
    # Half a karat was allowed on karat marks; a number of fine metal says what it is to the figure.
    exact = piece.plumb or piece.ppm >= FINE_PPM
    found = allowances(piece.metal, known, plumb=exact, case=piece.covers == "case")
    found = (COMMON_CONTROL_MARK,) if control else found
    if not found:
        return claim
    return replace(claim, allowances=found, tolerance_ppm=found[0].ppm, tolerance_solder_ppm=found[0].solder_ppm)
