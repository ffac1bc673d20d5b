"""What can go wrong, and who can put it right.

Every error says one sentence that ends with what to do, and carries the exit code that the command
returns. A broken law is never an exception: see `ledger.law.duties`.

>>> str(InputError(field="items[2].weight", given="-3", wanted="a weight above zero"))
"items[2].weight: '-3' was given; wanted is a weight above zero."
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, NamedTuple

if TYPE_CHECKING:  # no command should have to import it for the sake of a fault that it may have
    from pathlib import PurePath


class LedgerError(Exception):
    """Anything this program stops for. `exit_code` is what a command returns for it."""

    exit_code: ClassVar[int] = 1


class Said(str):
    """What was given, in words that stand without quotation marks: said of a value that must not be repeated."""

    __slots__ = ()

    def __repr__(self) -> str:
        return str(self)


@dataclass(kw_only=True, eq=False)
class InputError(LedgerError):
    """Something typed or handed in cannot be taken as it is. For the clerk, now."""

    field: str
    given: object
    wanted: str
    exit_code: ClassVar[int] = 2

    def __str__(self) -> str:
        given = repr(self.given)
        if len(given) > 90:
            given = f"{given[:80]}... ({len(given):,} characters)"
        return f"{self.field}: {given} was given; wanted is {self.wanted}."


class RuleError(LedgerError):
    """A rule file is at fault or silent. For whoever keeps the rules."""

    exit_code = 4


class Spot(NamedTuple):
    """Where in a text a fault stands, so that a face can show the line with a mark under it."""

    line: int
    """counted from 1"""
    column: int
    """counted from 1, in characters"""
    says: str
    """what is wrong there and what to write instead"""
    source: str
    """the line as it stands"""


@dataclass(kw_only=True, eq=False)
class RuleFileWrong(RuleError):
    """All faults of one rule file at once, each with its line and what to write instead."""

    path: str
    faults: tuple[str, ...]
    spots: tuple[Spot, ...] = ()
    """the same faults with their columns, where the reader knows them"""

    def __str__(self) -> str:
        return f"{self.path} cannot be used: " + " ".join(self.faults)


@dataclass(kw_only=True, eq=False)
class NoRuleForDay(RuleError):
    """The file does not speak about this day. Never a default."""

    jurisdiction: str
    on: str
    why: str
    rule: str = ""

    def __str__(self) -> str:
        what = f"The rule {self.rule} of {self.jurisdiction}" if self.rule else f"The rule file of {self.jurisdiction}"
        remedy = "Read the law of that day and adopt a file that covers it."
        return f"{what} says nothing about {self.on}: {self.why}. {remedy}"


class BookError(LedgerError):
    """The book is not sound. Stop writing, audit."""

    exit_code = 3


@dataclass(kw_only=True, eq=False)
class ChainBroken(BookError):
    """An entry does not follow from the one before it."""

    seq: int
    expected: bytes
    found: bytes

    def __str__(self) -> str:
        return (
            f"Entry {self.seq} does not follow from entry {self.seq - 1}: its link should be {self.expected.hex()}"
            f" and is {self.found.hex()}. Stop writing to this book and run `counterfoil book verify`."
        )


@dataclass(kw_only=True, eq=False)
class CaptureChanged(BookError):
    """A part or picture is not the one its entry names."""

    seq: int
    expected: str
    found: str
    what: str = "a picture"

    def __str__(self) -> str:
        return (
            f"Entry {self.seq}: {self.what} should have the digest {self.expected} and has {self.found}."
            " Keep the file, stop writing to this book and run `counterfoil book verify`."
        )


@dataclass(kw_only=True, eq=False)
class BookUnsound(BookError):
    """Anything else that must not be in a book that is sound."""

    what: str

    def __str__(self) -> str:
        return f"{self.what} Stop writing to this book and run `counterfoil book verify`."


@dataclass(kw_only=True, eq=False)
class LockedError(LedgerError):
    """Something lies encrypted and the key is not here. For whoever holds the key."""

    what: str
    why: str
    exit_code: ClassVar[int] = 5

    def __str__(self) -> str:
        return f"{self.what} is locked: {self.why}."


@dataclass(kw_only=True, eq=False)
class StorageError(LedgerError):
    """The machine could not keep or read something."""

    path: "PurePath | str"
    why: str
    exit_code: ClassVar[int] = 6

    def __str__(self) -> str:
        return f"{self.path}: {self.why}."


@dataclass(kw_only=True, eq=False)
class ForbiddenByLaw(LedgerError):
    """An act stopped because duties are broken or undecided. The duties themselves are values; this carries them."""

    what: str
    sentences: tuple[str, ...]
    duties: tuple[object, ...] = field(default=(), repr=False)
    exit_code: ClassVar[int] = 7

    def __str__(self) -> str:
        return f"{self.what}: " + " ".join(self.sentences)


@dataclass(kw_only=True, eq=False)
class StillUndecided(LedgerError):
    """An act stopped because a person has to decide something first. For the clerk or the owner."""

    what: str
    sentences: tuple[str, ...]
    exit_code: ClassVar[int] = 8

    def __str__(self) -> str:
        return f"{self.what}: " + " ".join(self.sentences)
