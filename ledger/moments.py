"""Moments: a local time with its zone, and a moment with only an offset, read from text and written back.

Decides: which texts name one moment exactly. A local moment carries its date and clock, the offset from UTC
and the zone's name, and the three must agree; so an hour that a clock change skips or repeats is never guessed.
Leaves to others: what the moment means (a purchase, a deadline) and reading the machine's clock, which only
faces do. The rules of each zone come from the pinned package tzdata and never from the machine, so that the version
that is recorded (`TABLES`) is the one that was used.

>>> moment = parse_local("2026-11-24T10:15:00-05:00[America/New_York]", "occurred_at")
>>> moment.date().isoformat(), local_text(moment)
('2026-11-24', '2026-11-24T10:15:00-05:00[America/New_York]')
"""

import re
import zoneinfo
from datetime import UTC, date, datetime, tzinfo
from zoneinfo import ZoneInfo

import tzdata

from ledger.errors import InputError

# The package's own folder, so that nothing else is looked at; as a path it is read without importlib.resources, which
# would cost a command that needs no book a tenth of its start.
zoneinfo.reset_tzpath(to=[f"{folder}/zoneinfo" for folder in tzdata.__path__])
TABLES = f"tzdata {tzdata.IANA_VERSION}"
"""the release of the IANA time zone tables that all moments are counted by"""

LOCAL_EXAMPLE = "2026-11-24T10:15:00-05:00[America/New_York]"
OFFSET_EXAMPLE = "2026-11-24T10:15:00-05:00"

_CLOCK = r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(?:\.\d{1,6})?"
_OFFSET = r"[+-]\d{2}:\d{2}"
_LOCAL = re.compile(rf"({_CLOCK})({_OFFSET})\[([A-Za-z0-9_+/-]{{1,60}})\]", re.ASCII)
_MOMENT = re.compile(rf"({_CLOCK})({_OFFSET}|Z)", re.ASCII)


def zone(name: str, field: str) -> ZoneInfo:
    """The time zone of that name. Raises: InputError for a name that the tables do not hold."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError):  # unknown, malformed, or the name of a folder of zones
        raise InputError(
            field=field, given=name, wanted="a zone of the IANA time zone tables, such as 'America/New_York'"
        ) from None


def parse_local(text: str, field: str) -> datetime:
    """The local moment that an RFC 9557 text names, with its zone as tzinfo.

    text: date, clock with seconds, offset and zone, such as `2026-11-24T10:15:00-05:00[America/New_York]`.
    Raises: InputError when a piece is missing, when the clock never showed this time in that zone, or when the
    offset is not the zone's at that moment.
    Source: RFC 9557 section 3.4. It leaves to the reader what to do with an offset that its zone did not have; this
    one refuses, since either may be the one that was meant.
    """
    found = _LOCAL.fullmatch(text)
    if not found:
        raise InputError(field=field, given=text, wanted=f"a local moment with its zone: {LOCAL_EXAMPLE}")
    instant = _instant(found[1] + found[2], text, field)
    there = instant.astimezone(zone(found[3], field))
    if there.replace(tzinfo=None) != instant.replace(tzinfo=None):
        wanted = f"an offset that {found[3]} had then: at that instant it was {local_text(there)}"
        raise InputError(field=field, given=text, wanted=wanted)
    return there


def parse_day(text: str, field: str) -> date:
    """The day that a text names, such as 2026-11-24. Raises: InputError.

    >>> parse_day("2026-11-24", "until")
    datetime.date(2026, 11, 24)
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(field=field, given=text, wanted="a day, such as 2026-11-24") from None


def parse_moment(text: str, field: str) -> datetime:
    """The moment that an RFC 3339 text names; a zone in brackets after it is checked as `parse_local` does.

    Raises: InputError for a text without offset, or a date or clock that does not exist.
    """
    if text.endswith("]"):
        return parse_local(text, field)
    found = _MOMENT.fullmatch(text)
    if not found:
        raise InputError(field=field, given=text, wanted=f"a moment with its offset: {OFFSET_EXAMPLE}")
    return _instant(found[1] + found[2].replace("Z", "+00:00"), text, field)


def local_text(moment: datetime) -> str:
    """RFC 9557 text of an aware moment whose tzinfo is a ZoneInfo; fractions of a second only where there are any."""
    if not isinstance(moment.tzinfo, ZoneInfo):
        raise InputError(field="moment", given=moment.isoformat(), wanted="a moment with the name of its zone")
    return f"{moment.isoformat()}[{moment.tzinfo.key}]"


def place(zone_: tzinfo | None) -> ZoneInfo | None:
    """The zone itself if it names a place, such as "America/New_York"; None for UTC, fixed offsets and the like."""
    if isinstance(zone_, ZoneInfo) and "/" in (zone_.key or "") and not zone_.key.startswith("Etc/"):
        return zone_
    return None


def local_or_none(moment: datetime | None) -> str | None:
    """RFC 9557 text of a moment, None where there is none."""
    return None if moment is None else local_text(moment)


def _instant(iso: str, given: str, field: str) -> datetime:
    try:
        moment = datetime.fromisoformat(iso)
        moment.astimezone(UTC)  # years 1 and 9999 have moments that no other zone can show
    except (ValueError, OverflowError):
        wanted = "a date and a clock time that exist, in the years 1 to 9999"
        raise InputError(field=field, given=given, wanted=wanted) from None
    return moment
