"""Parts: what an entry holds back behind a digest, to be shown alone to those it concerns.

Decides the bytes of a part (an RFC 9901 disclosure: base64url of the canonical array [salt, name, value]), its
digest, the list of part names, and the vault class each name belongs to. Leaves to `slip` and the acts what the
values hold, and to `vault` how disclosures lie encrypted. A disclosure is kept as it was made: digests are taken
of its text, never of a value written again.

>>> part = make("seller/birth_date", "1984-02-29", bytes(16))
>>> part.disclosure
'WyJBQUFBQUFBQUFBQUFBQUFBQUFBQUFBIiwic2VsbGVyL2JpcnRoX2RhdGUiLCIxOTg0LTAyLTI5Il0'
>>> read(part.disclosure) == part
True
>>> class_of("item/2/price")
'money'

Source: RFC 9901 (2025), 4.2.1 disclosures, 4.2.3 hashing, 9.3 salts of 128 bits, fresh for each.
"""

import base64
import re
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

import orjson

from ledger.chain import canonical
from ledger.errors import InputError

SALT_BYTES = 16

_PERSON = (
    "role name former_names birth_date address phones email workplace personally_known description vehicle dealer"
    " estate authority observed obtained answers document/# photo/# signature/#"
)
_ITEM = "description inscriptions evidence assessment conclusion weighings consent pieces moved outcome picture/#"

# '#' stands for a whole number from 1. FORMAT.md shows the same list; a test compares the two.
_NAMES: dict[str, str] = {
    **{f"{who}/{field}": "seller" for who in ("seller", "party/#") for field in _PERSON.split()},
    **{f"{who}/print/#": "print" for who in ("seller", "party/#")},
    **{f"{who}/scan/#": "scan" for who in ("seller", "party/#")},
    "declaration/text": "seller",
    "declaration/signature": "seller",
    "visit": "seller",
    "notes": "seller",
    "parcel": "seller",
    **{f"item/#/{field}": "item" for field in _ITEM.split()},
    "lot": "item",
    "item/#/price": "money",
    "item/#/proceeds": "money",
    "spot": "money",
    "payout/method": "money",
    "payout/payee": "money",
    "payout/amount": "money",
    "payout/reference": "money",
    "payout/trade": "money",
    "settlement": "money",
    "counts/money": "money",
    "duties": "law",
    "reason": "law",
    "event": "law",
    "report": "law",
    "recipient": "law",
    "correction": "law",
    "counts": "law",
    "look": "case",
    "inquiry": "case",
    "answer": "case",
    "order": "case",
    "permission": "case",
    "process": "case",
    "inspection": "case",
    "item": "case",
    "staff": "staff",
}
PART_NAMES: tuple[str, ...] = tuple(_NAMES)

_NUMBER = re.compile(r"(?<=/)[1-9][0-9]{0,5}(?=/|\Z)")
_PATH = re.compile(r"[a-z][a-z_]*(?:/(?:[a-z][a-z_]*|[1-9][0-9]{0,5}))*")
_TEXT = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Part:
    """One named value, the text that discloses it and the digest that its entry holds.

    disclosure: base64url without padding, kept as it was made.
    digest: 43 characters of base64url.
    """

    name: str
    value: Any
    disclosure: str
    digest: str


def make(name: str, value: Any, salt: bytes) -> Part:
    """A part under a salt that was drawn for it alone.

    salt: 16 random bytes.
    Raises: InputError for a name that is not on the list or a value that a book cannot hold; ValueError for a salt
    of another length.
    Shape: base64url(JCS([base64url(salt), name, value])).
    """
    if len(salt) != SALT_BYTES:
        raise ValueError(f"a salt has 16 bytes, not {len(salt)}")
    if not is_part_name(name):
        raise InputError(field="part", given=name, wanted="a name on the list in ledger/chain/FORMAT.md")
    data = canonical.encode([_base64url(salt), name, value])
    disclosure = _base64url(data)
    return Part(name, orjson.loads(data)[2], disclosure, digest_of(disclosure))


def read(disclosure: str) -> Part:
    """The part that a disclosure opens. Whether an entry holds its digest is the caller's question.

    A name that is not on the list is taken when it has the form of one: later forms may know more names.
    Raises: canonical.NotCanonical when the text is not what `make` writes.
    """
    match canonical.decode_array(_from_base64url(disclosure)):
        case [str(salt), str(name), value] if len(_from_base64url(salt)) == SALT_BYTES and _PATH.fullmatch(name):
            return Part(name, value, disclosure, digest_of(disclosure))
    raise canonical.NotCanonical(reason="not a salt of 16 bytes, a part name and a value")


def digest_of(disclosure: str) -> str:
    """The digest that an entry holds for this disclosure.

    Shape: base64url(SHA-256(the disclosure's text as ASCII)), 43 characters.
    """
    return _base64url(sha256(disclosure.encode("ascii")).digest())


def is_part_name(name: str) -> bool:
    """Whether a part may be made under this name."""
    return _class(name) is not None


def class_of(name: str) -> str:
    """The class of vault key under which a part lies: seller, print, scan, item, money, law, case or staff.

    Raises: InputError for a name that is not on the list.
    """
    found = _class(name)
    if found is None:
        raise InputError(field="part", given=name, wanted="a name on the list in ledger/chain/FORMAT.md")
    return found


def _class(name: str) -> str | None:
    return None if "#" in name else _NAMES.get(_NUMBER.sub("#", name))


def _base64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def _from_base64url(text: str) -> bytes:
    """The bytes; NotCanonical for padding, other letters or stray bits, which would give one part two digests."""
    if _TEXT.fullmatch(text) and len(text) % 4 != 1:
        data = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        if _base64url(data) == text:
            return data
    raise canonical.NotCanonical(reason="not base64url without padding")
