"""Small rule files for the tests of the law room, written where they are used."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from ledger.law import files
from ledger.law.duties import Duties, weigh
from ledger.law.holds import Hold, renewed
from ledger.law.rules import RuleFile

HEAD = """
format = "rules/0"
jurisdiction = "xx-sample"
name = "Sample"
layer = "state"
known_from = 2020-01-01
read_on = 2026-01-01
checked_until = 2030-12-31
zone = "America/New_York"
currency = "USD"
"""

US_DAYS = """
[calendar]
weekend = ["saturday", "sunday"]
from = 2026-01-01
until = 2027-12-31
source = "5 U.S.C. 6103(a)"
closed = [
  { day = 2026-11-11, name = "Veterans Day" },
  { day = 2026-11-26, name = "Thanksgiving Day" },
  { day = 2026-12-25, name = "Christmas Day" },
  { day = 2027-01-01, name = "New Year's Day" },
]
"""
"""The days off of late 2026, as 5 U.S.C. 6103(a) sets them; a state's own list differs."""

COMMON = """
says = "A sample rule."
from = 2020-01-01
source = "Sample Act s. 1"
basis = "invented"
"""


def rule(kind: str, id: str, body: str, source: str = "Sample Act s. 1") -> str:
    """The text of one rule, with what every rule must have."""
    common = COMMON if "from =" not in body else COMMON.replace("from = 2020-01-01\n", "")
    common = common.replace("Sample Act s. 1", source)
    return f'\n[[{kind}]]\nid = "{id}"{common}{body}\n'


def recipient(id: str) -> str:
    """The text that declares one recipient."""
    return f'\n[[recipient]]\nid = "{id}"\nname = "The {id}"\n'


def text_of(*tables: str, **head: str) -> bytes:
    """The bytes of a rule file; `head` replaces values of the head, as TOML text."""
    lines = []
    for line in HEAD.strip().splitlines():
        name = line.partition(" ")[0]
        lines.append(f"{name} = {head.pop(name)}" if name in head else line)
    lines += [f"{name} = {value}" for name, value in head.items()]
    return ("\n".join(line for line in lines if not line.endswith("= ")) + "\n" + "".join(tables)).encode()


def file_of(*tables: str, **head: str) -> RuleFile:
    """A rule file of these tables."""
    return files.read(text_of(*tables, **head), "sample.toml")


def ring(**facts: Any) -> dict[str, Any]:
    """Facts of one article."""
    return {"line": 1, "kind": "single", "goods": "jewelry", "article": "ring", "metal": "gold", **facts}


def facts(*items: dict[str, Any], **others: Any) -> dict[str, Any]:
    """Facts of one slip; one ring unless articles are given."""
    return {"items": list(items) or [ring()], **others}


def local(text: str, zone: str = "America/New_York") -> datetime:
    """A moment by its wall clock; the first of two equal ones."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


def shown(moment: datetime | None) -> str | None:
    """A moment by its wall clock and offset, to the minute: two equal instants of one zone read the same."""
    return moment.isoformat(timespec="minutes") if moment else None


def held(duties: Duties, line: int = 1) -> Hold:
    """The only hold on an article."""
    (found,) = [one for one in duties.holds if one.line == line]
    return found


def free(
    file: RuleFile, bought: str, events: dict[str, str] | None = None, **given: Any
) -> tuple[str | None, str | None]:
    """First day on which the only article is free, plain and cautious, by the days of its moments.

    A moment that is not a midnight is shown whole.
    """
    at = local(bought)
    hold = held(weigh([file], facts(**given), at=at))
    moments = {"purchase": at} | {name: local(text) for name, text in (events or {}).items()}
    zone = file.zone or ZoneInfo("America/New_York")
    later = renewed(hold, file, moments, zone)
    return _day(later.plain), _day(later.cautious)


def _day(moment: datetime | None) -> str | None:
    text = shown(moment)
    return text[:10] if text and "T00:00" in text else text
