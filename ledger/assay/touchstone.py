"""The touchstone: what a streak under acid allows, how far its acid can be believed, how deep a rub reaches.

Decides: the interval of fineness that one streak leaves, for acids made for karat golds and for the acid that colours
silver; whether the acid was right, by the known streak beside it, its batch and its age; how much metal a rub takes
off. Leaves to `findings` which streaks are used and to `judging` what they say with the other tests.

>>> allows(583_333, "holds", needles=False)
Interval(low_ppm=541666, high_ppm=1000000)
>>> removed_um(length_mm=20, width_mm=3, film_um=0.5, contact_mm2=1)
30.0
>>> [SILVER_COLOURS[colour].words() for colour in ("dark-red", "green")]
['800.0 to 1000.0', '0.0 to 800.0']
"""

from collections.abc import Sequence
from datetime import date

from ledger.assay.assessments import Interval
from ledger.assay.evidence import SilverStreak, Streak

KARAT_PPM = 41_667
"""One karat, 1/24, to the nearest part per million."""
AQUA_REGIA_ABOVE_PPM = 750_000
"""Acids for gold finer than 18 karat are aqua regia, which loses its strength; weaker ones are nitric acid with a
little hydrochloric. Common practice, by makers' instructions."""
STALE_DAYS = 21
"""Age at which aqua regia is to be renewed: about three weeks, by a supplier's instructions."""
NOTCH_UM = 200
"""Depth of a filed notch from which a streak counts as deep, micrometres; a choice of this project."""

SILVER_COLOURS = {
    "bright-red": Interval(925_000, 1_000_000),
    "dark-red": Interval(800_000, 1_000_000),
    "brown": Interval(0, 925_000),
    "green": Interval(0, 800_000),
    "blue": Interval(0, 0),
    "yellow": Interval(0, 0),
    "none": Interval(0, 0),
}
"""Fineness of silver that a colour under dichromate and nitric acid allows. Fine silver turns bright red, 925 dark red,
800 brown, 500 green; nickel turns blue, lead and tin yellow, palladium stays as it is, copper and brass turn brown as
well. Source: makers' instructions, common practice; each colour may be taken for its neighbour, a choice of this
project."""


def allows(acid_ppm: int, result: str, needles: bool) -> Interval:
    """Fineness of gold that one streak allows, parts per million.

    acid_ppm: the fineness that the acid is made for. result: holds, fades or gone. Good to one karat, with comparison
    needles to half a karat. Source: W. Walchli, Touching Precious Metals, Gold Bulletin 14 (1981), for what needles
    reach; one karat without them is common practice, no published source.
    """
    doubt = KARAT_PPM // 2 if needles else KARAT_PPM
    if result == "holds":
        return Interval(max(0, acid_ppm - doubt), 1_000_000)
    if result == "fades":
        return Interval(max(0, acid_ppm - 2 * KARAT_PPM - doubt // 2), min(1_000_000, acid_ppm + doubt // 2))
    return Interval(0, max(0, acid_ppm - KARAT_PPM + doubt // 2))


def acid_of(streak: Streak, others: Sequence[Streak] = ()) -> str:
    """How far the acid can be believed: right, weak, strong, stale or not-shown.

    others: the other streaks of the article. A known streak beside this one shows its acid right, too weak (poorer gold
    held than may) or too strong (finer gold failed than may); so does one beside another streak under acid of the same
    batch, the worst counting. Without one, aqua regia past its three weeks is stale; of other acids nothing is known to
    fix an age.
    """
    if streak.control is None:
        batch = streak.acid_ppm, streak.batch.strip().casefold()
        shown = {
            _by_control(other)
            for other in others
            if batch[1] and other.control and (other.acid_ppm, other.batch.strip().casefold()) == batch
        }
        found = next((state for state in ("weak", "strong", "right") if state in shown), "")
        return found or ("stale" if _is_stale(streak) else "not-shown")
    return _by_control(streak)


def _by_control(streak: Streak) -> str:
    assert streak.control is not None
    known, did = streak.control
    between = allows(streak.acid_ppm, did, streak.needles)
    if known < between.low_ppm:
        return "weak"
    return "strong" if known > between.high_ppm else "right"


ACID_WORDS = {
    "weak": "gold poorer than it is made for held beside it: the acid is too weak",
    "strong": "gold finer than it is made for failed beside it: the acid is too strong, or another one",
    "stale": f"aqua regia opened more than {STALE_DAYS} days before, and no known streak beside it",
}
"""Why what held under an acid is not used."""


def _is_stale(streak: Streak) -> bool:
    opened, tested = _day(streak.opened), _day(streak.at)
    if streak.acid_ppm <= AQUA_REGIA_ABOVE_PPM or opened is None or tested is None:
        return False
    return (tested - opened).days > STALE_DAYS


def _day(text: str) -> date | None:
    """The day that a text begins with, as 2026-11-24; None: it begins with none."""
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def silver_allows(streak: SilverStreak) -> Interval | None:
    """Fineness of silver that a colour allows, parts per million; None: a known streak beside it was another colour."""
    if streak.control is not None:
        known, colour = streak.control
        between = SILVER_COLOURS[colour]
        if not between.low_ppm <= known <= between.high_ppm:
            return None
    return SILVER_COLOURS[streak.colour]


def removed_um(*, length_mm: float, width_mm: float, film_um: float, contact_mm2: float) -> float:
    """Depth of metal that one streak takes off the article, micrometres: its volume over the area that was rubbed.

    length_mm, width_mm, film_um: of the streak on the stone. contact_mm2: of the place on the article; above 0.
    """
    return length_mm * width_mm * film_um / contact_mm2


LIGHT_UM = tuple(round(removed_um(length_mm=20, width_mm=3, film_um=0.5, contact_mm2=area)) for area in (5, 1))
"""What a light streak of usual size takes off a broad facet (5 mm2) and a narrow edge (1 mm2): less than many a
gold-filled layer is thick."""


def reach(deep: bool) -> str:
    """How deep a streak of that kind saw, in words."""
    if deep:
        return f"from below {NOTCH_UM} micrometres"
    return f"from the outer {LIGHT_UM[0]} to {LIGHT_UM[1]} micrometres"
