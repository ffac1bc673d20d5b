"""Reports of an invented shop in every form, made through a real book: for golden files and for the tests that read
them back. Golden files are made anew with `python -m tests.make_report_golden`, after a look at them."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from ledger.acts import correcting, reporting, undoing
from tests import slip_samples
from tests.shops import ZONE, Shop

GOLDEN = Path(__file__).parent / "golden" / "reports"
ALL = ("csv", "json", "niem")
PLAIN = (("items", slip_samples.document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00"))
"""the sample with its ring alone"""


def at(shop: Shop, moment: datetime) -> None:
    """Set the shop's clock to a local moment."""
    shop.now = moment.replace(tzinfo=ZONE).astimezone(UTC)


def files(shop: Shop, report: str) -> dict[str, bytes]:
    """The files of a report that is made now, in every form, by the ends of their names."""
    return reporting.make_in(shop.book, report, "letter", ALL, at=shop.local())[1]


def _purchase(shop: Shop) -> str:
    shop.record()
    return "purchase-1.county-sheriff"


def _day(shop: Shop) -> str:
    shop.record()
    shop.record(*PLAIN, ("parties.0.name.family", "Varnham"))
    shop.wait(days=1)
    return "day-2026-11-24.county-sheriff"


def _week_over_a_year_end(shop: Shop) -> str:
    for day in (datetime(2026, 12, 28, 10), datetime(2026, 12, 31, 23, 59, 30), datetime(2027, 1, 1, 0, 0, 30)):
        at(shop, day)
        shop.record(*PLAIN)
    at(shop, datetime(2027, 1, 4, 9))
    return "week-2026-12-28.town-police"


def _nil(shop: Shop) -> str:
    at(shop, datetime(2026, 12, 7, 9))
    return "week-2026-11-30.town-police"


def _change_of_the_clocks(shop: Shop) -> str:
    # 15 U.S.C. 260a: clocks go forward on the second Sunday of March, in 2027 the 14th.
    for moment in (datetime(2027, 3, 14, 1, 59), datetime(2027, 3, 14, 3, 1)):
        at(shop, moment)
        shop.record(*PLAIN)
    at(shop, datetime(2027, 3, 15, 9))
    return "day-2027-03-14.county-sheriff"


def _corrected(shop: Shop) -> str:
    shop.record()
    shop.record(*PLAIN)
    shop.wait(days=1)
    report = "day-2026-11-24.county-sheriff"
    files(shop, report)
    reporting.sent(shop.book, report, at=shop.local(), how="by hand")
    correcting.correct(shop.book, 1, "item/1/description", {"metal_colour": "white"}, "seen in daylight")
    undoing.void(shop.book, 2, "a change of mind", at=shop.local())
    return report


CASES: Mapping[str, Callable[[Shop], str]] = {
    "purchase": _purchase,
    "day": _day,
    "week-over-a-year-end": _week_over_a_year_end,
    "nil": _nil,
    "change-of-the-clocks": _change_of_the_clocks,
    "corrected": _corrected,
}


def made(shop: Shop, case: str) -> dict[str, bytes]:
    """The files of one of the cases."""
    return files(shop, CASES[case](shop))
