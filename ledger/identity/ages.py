"""How old somebody is on a day.

Decides: on which day a year of age is complete. The day is the shop's local one; the caller knows it.
Leaves to others: which age a rule asks for.

>>> age_on(date(2008, 2, 29), date(2026, 2, 28)), age_on(date(2008, 2, 29), date(2026, 3, 1))
(17, 18)
"""

from datetime import date

from ledger.errors import InputError, Said


def age_on(birth: date, day: date) -> int:
    """Whole years completed on a day; a year is complete on the birthday itself.

    Who was born on a 29 February completes the year on 1 March of a common year. Places differ (some say
    28 February); the later day is chosen because it never lets a seller in a day too early.
    Raises: InputError for a day before the birth. The birth date itself is not repeated in the error.
    """
    if day < birth:
        raise InputError(field="birth_date", given=Said("a day after the slip's"), wanted="a day before the slip's")
    return day.year - birth.year - ((day.month, day.day) < (birth.month, birth.day))
