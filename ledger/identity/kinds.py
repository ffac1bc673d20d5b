"""Kinds of documents that people show to prove who they are.

Decides: for each kind, whether a government issues it, whether it usually carries a photograph, and whether it
describes its holder (sex, height, eyes ...). Single documents differ: what lies on the counter is said on the slip.
Leaves to others: which kinds a place accepts, and how many (rule files). A document that was read proves nothing
about who holds it.
Source: the closed list of Tenn. Code 38-1-203 (state licence, state identity card, passport, military identity card,
border-crossing card, immigration document) and the groups of RCW 19.60.025 (two government documents, one of them
descriptive; one with a picture); further kinds are common practice, no published source.

>>> kind("passport").photo, kind("utility-bill").government
(True, False)
"""

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.errors import InputError


@dataclass(frozen=True)
class DocumentKind:
    """One kind of document; `says` is its name for people."""

    name: str
    says: str
    government: bool
    photo: bool
    descriptive: bool


def _table(*rows: tuple[str, str, str]) -> Mapping[str, DocumentKind]:
    """From name, words and letters: g government, p photograph, d describes its holder."""
    return {name: DocumentKind(name, says, "g" in traits, "p" in traits, "d" in traits) for name, says, traits in rows}


KINDS = _table(
    ("driver-licence", "driver's licence", "gpd"),
    ("identity-card", "identity card of a state or nation", "gpd"),
    ("passport", "passport", "gp"),
    ("passport-card", "passport card", "gp"),
    ("military-id", "military identity card", "gpd"),
    ("residence-permit", "permanent resident card or residence permit", "gpd"),
    ("immigration-document", "immigration document", "gp"),
    ("border-crossing-card", "border crossing card", "gp"),
    ("tribal-id", "tribal identity card", "gp"),
    ("consular-id", "consular identity card", "gp"),
    ("weapon-permit", "weapon permit", "gpd"),
    ("travel-document", "refugee or stateless travel document", "gp"),
    ("birth-certificate", "birth certificate", "g"),
    ("vehicle-registration", "vehicle registration", "g"),
    ("tax-or-insurance-card", "tax or social insurance card", "g"),
    ("court-document", "court document", "g"),
    ("student-id", "student identity card", "p"),
    ("employee-id", "employee identity card", "p"),
    ("bank-card", "bank or credit card", ""),
    ("utility-bill", "utility bill", ""),
    ("other", "other document", ""),
)


def kind(name: str, field: str = "type") -> DocumentKind:
    """The kind of that name. Raises: InputError for a name that the table does not hold."""
    found = KINDS.get(name)
    if found is None:
        raise InputError(field=field, given=name, wanted="one of " + ", ".join(KINDS))
    return found
