"""Duties of one slip under three layers, against the same written by hand: `python -m tests.bench.bench_duties`.

The floor is `tests.bench.duties_by_hand`: same answers, same traces, as plain dicts; that they are the same is
asserted before anything is timed. Ours is `weigh`, whose answers are values, and `weigh(...).record()`, the dicts.
No two slips have the same moment, and days, goods and amounts change.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from ledger.law.duties import weigh
from tests.bench import duties_by_hand as by_hand
from tests.bench.pairs import compare, table, timed

GOAL = 0.1
SLIPS_A_SECOND = 2_000
START = datetime(2026, 3, 2, 9, 0, 0, tzinfo=ZoneInfo("America/Chicago"))


def slip(minor: int = 20_000, instrument: str = "cash", goods: str = "jewelry") -> dict[str, Any]:
    """The facts of one slip with one article, all stated."""
    money = {"currency": "USD", "minor": minor}
    return {
        "shop": {"state": "Norrowa", "county": "Tamsett", "municipality": "Pellwick"},
        "slip": {
            "channel": "counter",
            "place": "shop",
            "staff": "clerk-1",
            "instrument": instrument,
            "total": money,
            "items": 1,
            "articles": 1,
            "occurred": "2026-11-24T10:15:00-06:00[America/Chicago]",
            "declaration": {"text": by_hand.WORDS, "language": "en", "signed": True},
        },
        "seller": {
            "kind": "person",
            "name": "A. Sample",
            "birth_date": "1985-01-01",
            "age": 41,
            "address": {"text": "1 Mill Lane, Pellwick", "street": "1 Mill Lane", "city": "Pellwick"},
            "phone": "555 0100",
            "declared_dealer": False,
            "documents": [
                {
                    "type": "driver-licence",
                    "number": "N1",
                    "issuer": "Norrowa",
                    "government": True,
                    "photo": True,
                    "descriptive": True,
                    "current": True,
                }
            ],
            "captures": {"photo": True, "print": True, "signature": True},
        },
        "items": [
            {
                "line": 1,
                "kind": "single",
                "goods": goods,
                "article": "ring",
                "pieces": 1,
                "pictures": 2,
                "metal": "gold",
                "metal_colour": "yellow",
                "fineness_ppm": 585_000,
                "marks": ["14K"],
                "marked": True,
                "serials": [],
                "serial_obliterated": False,
                "inscriptions": [],
                "stones": [],
                "description": "Ring, yellow metal, plain",
                "weight": "5.0 g",
                "gross_mg": 5_000,
                "net_mg": 5_000,
                "price": money,
            }
        ],
    }


SLIPS = tuple(
    slip(minor, instrument, goods)
    for minor, instrument, goods in (
        (20_000, "cash", "jewelry"),
        (50_000, "cash", "coin"),
        (50_001, "cash", "jewelry"),
        (900_000, "transfer", "tableware"),
    )
)


def moments() -> Iterator[datetime]:
    """Moments of one year of business, each once, some hundred on each day."""
    for number in count():
        yield START + timedelta(days=number // 100 % 250, minutes=4 * (number % 100))


def check(constants: dict[str, Any]) -> None:
    """Both sides give the same record on many days."""
    for number in range(0, 25_000, 61):
        at = START + timedelta(days=number // 100 % 250, minutes=4 * (number % 100))
        facts = SLIPS[number % len(SLIPS)]
        assert by_hand.duties(facts, at, constants) == weigh(by_hand.LAYERS, facts, at=at).record()


def main() -> None:
    """Checks, times, and prints the table."""
    constants = by_hand.prepare(SLIPS[0], START)
    check(constants)
    hand_at, our_at, record_at = moments(), moments(), moments()
    numbers = count()

    def hand() -> Any:
        return by_hand.duties(SLIPS[next(numbers) % 4], next(hand_at), constants)

    def ours(at: Iterator[datetime], *, record: bool) -> Any:
        found = weigh(by_hand.LAYERS, SLIPS[next(numbers) % 4], at=next(at))
        return found.record() if record else found

    floor = timed(hand, repeat=200)
    rows = [
        compare("law.weigh, three layers", floor, timed(partial(ours, our_at, record=False), repeat=200), goal=GOAL),
        compare("law.weigh and its record", floor, timed(partial(ours, record_at, record=True), repeat=200), goal=GOAL),
    ]
    table(*rows)
    print(f"{1 / rows[0].ours:,.0f} slips a second (goal {SLIPS_A_SECOND:,})")


if __name__ == "__main__":
    main()
