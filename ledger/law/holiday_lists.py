"""Named lists of days off, as the `holidays` library computes them.

Decides: how a list is asked for. Leaves to the rule file which list, and which of its days are off there; to the
library what the list holds. The library is loaded only where a file names a list, since loading it takes longer
than reading most files.

>>> days, version = listed("US", "", True, date(2026, 11, 1), date(2026, 11, 30))
>>> days[date(2026, 11, 26)]
'Thanksgiving Day'
"""

from datetime import date

from ledger.errors import InputError


def listed(country: str, subdivision: str, observed: bool, first: date, last: date) -> tuple[dict[date, str], str]:
    """The days of a list from `first` to `last` with their names, and the version of the library.

    country, subdivision: ISO 3166 codes; no subdivision for the whole country's list. observed: whether days that
    move off a weekend are off on the day they move to. Raises: InputError for a list that the library does not have.
    """
    import holidays
    from holidays.version import __version__

    try:
        found = holidays.country_holidays(
            country,
            subdiv=subdivision or None,
            years=range(first.year, last.year + 1),
            observed=observed,
            language="en_US",
        )
    except NotImplementedError:
        name = f"{country}-{subdivision}" if subdivision else country
        raise InputError(
            field="list", given=name, wanted="a country and part that the holidays library lists"
        ) from None
    return {day: name for day, name in sorted(found.items()) if first <= day <= last}, __version__
