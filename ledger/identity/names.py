"""Names and numbers brought to a form in which equal ones are equal, and numbers made safe to show.

Decides: which differences of writing do not count: case, accents, order of words, punctuation; in numbers, spaces,
hyphens and symbols. The results go into a blind index (a keyed hash), so that a returning seller is found without
keeping a name in clear.
Leaves to others: the key of that index (vault), names that only sound alike (seller search).

>>> person_key("O'Hára, Zoë", date(1990, 1, 2)) == person_key("zoe OHARA", date(1990, 1, 2))
True
>>> number_key("d-417 229 0"), masked("D417-2290")
('D4172290', '••••2290')
"""

import unicodedata
from datetime import date

from ledger.errors import InputError, Said

# Letters that Unicode does not take apart into a base letter and an accent.
_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ħ": "h", "ŋ": "n", "ı": "i", "ŧ": "t"}
)
_JOINERS = frozenset("'’ʼʻ`´.\u200c\u200d")


def folded_name(text: str) -> str:
    """A name in small letters without accents and punctuation, its words in alphabetical order, one space between.

    Order does not count, since family names stand first in some places and last in others. Letters of other scripts
    keep their script: a name and its spelling in other letters are two names here.
    """
    bare = "".join(c for c in unicodedata.normalize("NFKD", text).casefold() if not unicodedata.combining(c))
    spaced = (c if c.isalnum() else "" if c in _JOINERS else " " for c in bare.translate(_LETTERS))
    return " ".join(sorted("".join(spaced).split()))


def person_key(name: str, birth: date) -> str:
    """What the blind index holds for a person: the folded name and the birth date."""
    return f"{folded_name(name)}|{birth.isoformat()}"


def number_key(number: str, field: str = "number") -> str:
    """A document's number in capitals and digits only.

    Spaces, hyphens and symbols are dropped, digits of every script become 0 to 9.
    Raises: InputError when nothing is left, when only zeros are, or when more than forty characters are.
    Source: the way owner-applied numbers are entered in national files of the United States (spaces, hyphens and
    symbols left out; a number of zeros only is refused), as a state's police terminal manual teaches it.
    """
    key = "".join(_letter_or_digit(c) for c in unicodedata.normalize("NFKC", number).upper() if c.isalnum())
    if not key.strip("0") or len(key) > 40:
        given = Said("a number without a letter or a digit above zero" if len(key) <= 40 else "a longer number")
        raise InputError(
            field=field, given=given, wanted="a number as it stands on the document, or why it is not known"
        )
    return key


def number_key_if_any(number: str) -> str:
    """The same, empty where the text is no number: for what somebody is still typing."""
    try:
        return number_key(number)
    except InputError:
        return ""


def _letter_or_digit(character: str) -> str:
    digit = unicodedata.decimal(character, None)
    return character if digit is None else str(digit)


def masked(number: str) -> str:
    """A number for an open screen: its last four characters, and nothing of one that is shorter than eight."""
    bare = "".join(c for c in number if c.isalnum())
    return "••••" + (bare[-4:] if len(bare) >= 8 else "")
