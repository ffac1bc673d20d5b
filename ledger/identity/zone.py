"""The machine-readable zone of a passport or identity card: its lines as typed, with their check digits.

Decides: which of the five forms the lines have, what they say, and which check digit does not hold, so that a slip of
the finger is found. Leaves to others: reading a zone from a picture, what a place asks for. The name in the zone is
transliterated and cut: it never replaces the name that is printed.
Source: ICAO Doc 9303, 8th edition: part 3 section 4.9 (check digits), parts 4 to 7 (TD3, TD1, TD2, MRV-A, MRV-B), part
11 appendix D.2 (document numbers of more than nine characters).

>>> check_digit("520727")
'3'
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

_FORMS = {(2, 44): "TD3", (3, 30): "TD1", (2, 36): "TD2"}
_LOOKS_LIKE = {"O": "0", "I": "1", "S": "5", "B": "8", "Z": "2", "G": "6"}
_LOOKS_LIKE |= {digit: letter for letter, digit in _LOOKS_LIKE.items()}
_TYPES = {"P": "passport", "I": "identity-card", "A": "identity-card", "C": "identity-card", "V": "travel-document"}


@dataclass(frozen=True)
class Zone:
    """What the lines say.

    faults: one sentence for each check digit that does not hold, with its line, or why it is no zone.
    """

    form: str = ""
    code: str = ""
    issuer: str = ""
    number: str = ""
    nationality: str = ""
    birth: str = ""
    """YYMMDD; < where the day or month is not known"""
    sex: str = ""
    expiry: str = ""
    family: str = ""
    given: str = ""
    optional: str = ""
    faults: tuple[str, ...] = ()

    @property
    def document_type(self) -> str:
        """The kind of document, as a slip names it."""
        return _TYPES.get(self.code[:1], "other")

    def birth_date(self, today: date) -> date | None:
        """The day of birth: the latest with these two digits of a year that is not after today; None if not known."""
        return _day(self.birth, today.year)

    def expires(self, today: date, *, years: int = 20) -> date | None:
        """The last day of validity: the latest within so many years from today; None where there is none."""
        return _day(self.expiry, today.year + years)


def _day(digits: str, latest_year: int) -> date | None:
    if not re.fullmatch(r"\d{6}", digits):
        return None
    year = latest_year - (latest_year - int(digits[:2])) % 100
    try:
        return date(year, int(digits[2:4]), int(digits[4:]))
    except ValueError:
        return None


def check_digit(text: str) -> str:
    """The check digit of a piece of a zone: weights 7, 3, 1; A is 10, < is 0."""
    weights = (7, 3, 1)
    values = (0 if c == "<" else int(c, 36) for c in text)
    return str(sum(value * weights[place % 3] for place, value in enumerate(values)) % 10)


def read(lines: Sequence[str]) -> Zone:
    """The zone that these lines are. Spaces do not count and small letters are read as capitals."""
    typed = [re.sub(r"\s", "", line).upper().replace("\u00ab", "<<") for line in lines if line.strip()]
    lengths = {len(line) for line in typed}
    form = _FORMS.get((len(typed), lengths.pop()), "") if len(lengths) == 1 else ""
    if not form or not all(re.fullmatch(r"[A-Z0-9<]+", line) for line in typed):
        told = ", ".join(str(len(line)) for line in typed) or "none"
        wanted = "two lines of 44 or 36 characters or three of 30, of letters, digits and <"
        return Zone(faults=(f"These are not the lines of a zone: wanted are {wanted}; given are {told}.",))
    if form == "TD1":
        return _td1(typed)
    return _two_lines(typed, form if typed[0][0] != "V" else "MRV-A" if form == "TD3" else "MRV-B")


def _two_lines(lines: Sequence[str], form: str) -> Zone:
    first, second = lines
    faults: list[str] = []
    optional = second[28:42] if form == "TD3" else second[28:35] if form == "TD2" else second[28:]
    number, optional = _number(second[:9], second[9], optional, faults, at=(2, 1), long=form == "TD2")
    _held("birth date", second[13:19], second[19], faults, (2, 14))
    _held("expiry date", second[21:27], second[27], faults, (2, 22))
    if form == "TD3":
        _held("optional data", second[28:42], second[42], faults, (2, 29), empty="<")
        _held("whole second line", second[:10] + second[13:20] + second[21:43], second[43], faults, (2, 0))
    elif form == "TD2":
        _held("whole second line", second[:10] + second[13:20] + second[21:35], second[35], faults, (2, 0))
    family, given = _names(first[5:])
    return Zone(
        form, first[:2].rstrip("<"), first[2:5].rstrip("<"), number, second[10:13].rstrip("<"), second[13:19],
        second[20].replace("<", ""), second[21:27], family, given, optional.rstrip("<"), tuple(faults),
    )  # fmt: skip


def _td1(lines: Sequence[str]) -> Zone:
    first, second, third = lines
    faults: list[str] = []
    number, optional = _number(first[5:14], first[14], first[15:], faults, at=(1, 6), long=True)
    _held("birth date", second[:6], second[6], faults, (2, 1))
    _held("expiry date", second[8:14], second[14], faults, (2, 9))
    _held("first two lines", first[5:] + second[:7] + second[8:15] + second[18:29], second[29], faults, (2, 0))
    family, given = _names(third)
    return Zone(
        "TD1", first[:2].rstrip("<"), first[2:5].rstrip("<"), number, second[15:18].rstrip("<"), second[:6],
        second[7].replace("<", ""), second[8:14], family, given, optional.rstrip("<"), tuple(faults),
    )  # fmt: skip


def _number(
    nine: str, digit: str, optional: str, faults: list[str], *, at: tuple[int, int], long: bool
) -> tuple[str, str]:
    """The document's number and what is left of the optional data.

    A number of more than nine characters has < in place of its check digit and goes on in the optional data, where
    its check digit is the last character before the next <.
    """
    if digit == "<" and long and optional[:1] not in ("", "<"):
        rest, _, left = optional.partition("<")
        _held("document number", nine + rest[:-1], rest[-1], faults, (at[0], 0))
        return nine + rest[:-1], left
    _held("document number", nine, digit, faults, at)
    return nine.rstrip("<"), optional


def _held(what: str, text: str, digit: str, faults: list[str], at: tuple[int, int], *, empty: str = "") -> None:
    """Says it where a check digit does not hold. at: its line, and the character there with which the text begins.

    The character is 0 where the text is put together from several pieces.
    """
    if digit == check_digit(text) or (digit == empty and not text.strip("<")):
        return
    line, start = at
    hint = _hint(text, digit, start) if start else ", so one character is wrong"
    faults.append(f"Line {line}: the check digit of the {what} does not hold: {digit} stands there{hint}.")


def _hint(text: str, digit: str, start: int) -> str:
    """One character that is easily mistaken and would make it hold, if there is just one."""
    found = [
        (at, swapped)
        for at, letter in enumerate(text)
        if (swapped := _LOOKS_LIKE.get(letter)) and check_digit(text[:at] + swapped + text[at + 1 :]) == digit
    ]
    if len(found) != 1:
        return ", so one character is wrong"
    at, swapped = found[0]
    return f"; compare character {start + at} of the line: is {text[at]} perhaps {swapped}"


def _names(field: str) -> tuple[str, str]:
    family, _, given = field.rstrip("<").partition("<<")
    return family.replace("<", " ").strip(), given.replace("<", " ").strip()
