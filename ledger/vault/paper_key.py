"""The key on paper: how 160 random bits are written so that a person can copy them by hand.

Decides: the letters, the groups and the check against slips of the pen. Leaves to others: what the key opens
(`slots`). The letters are those of Crockford's base 32, without I, L, O and U; read back, O counts as 0, I and
L as 1; case, spaces and hyphens do not count.
Source: D. Crockford, "Base 32", https://www.crockford.com/base32.html; the check of four letters is ours.

>>> text = written(bytes(range(20)))
>>> text
'000G-40R4-0M30-E209-185G-R38E-1W81-24GK-MM7P'
>>> read(text.lower().replace("0", "o")) == bytes(range(20))
True
"""

import hashlib

from ledger.errors import InputError

BITS = 160
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_SAME = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None, "\n": None, "\t": None, "\r": None})
_BODY, _CHECK = 32, 4


def written(key: bytes) -> str:
    """Nine groups of four letters for a key of 20 bytes: eight hold the key, the ninth checks them."""
    letters = _base32(int.from_bytes(key), _BODY) + _check(key)
    return "-".join(letters[at : at + 4] for at in range(0, len(letters), 4))


def read(text: str) -> bytes:
    """The 20 bytes of a written key. Raises: InputError; the letters are not in its sentence."""
    letters = text.upper().translate(_SAME)
    if has_form(text):
        number = 0
        for letter in letters[:_BODY]:
            number = number * 32 + _LETTERS.index(letter)
        key = number.to_bytes(BITS // 8)
        if _check(key) == letters[_BODY:]:
            return key
    raise InputError(
        field="paper key",
        given=f"{len(letters)} letters that do not check",
        wanted="the 36 letters and digits on the paper; compare them one by one",
    )


def has_form(text: str) -> bool:
    """Whether a text could be a written key, right or with a slip of the pen: as many letters, and only such.

    >>> has_form("000g 40r4 0m30 e209 185g r38e 1w81 24gk mm7p"), has_form("seven quiet geese cross the yard")
    (True, False)
    """
    letters = text.upper().translate(_SAME)
    return len(letters) == _BODY + _CHECK and set(letters) <= set(_LETTERS)


def _check(key: bytes) -> str:
    """20 bits of a hash: a wrong letter is missed once in a million."""
    digest = hashlib.sha256(b"counterfoil-paper-key/0" + key).digest()
    return _base32(int.from_bytes(digest[:3]) >> 4, _CHECK)


def _base32(number: int, letters: int) -> str:
    return "".join(_LETTERS[number >> 5 * place & 31] for place in reversed(range(letters)))
