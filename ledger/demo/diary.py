"""What else happens in the six weeks: goods that leave or may not, orders, inquiries, a cheque that comes back.

Decides: the moments and the words. Items are named by their visit and line, since slip numbers are the book's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Happening:
    """One thing that happens beside the visits."""

    at: str
    by: str
    what: str
    """a key of `acting.ACTS`"""
    visit: str = ""
    line: int = 0
    words: Mapping[str, str] = field(default_factory=dict)


FIRST_DAY, LAST_DAY = "2026-10-05", "2026-11-14"
SHUT = ("2026-10-19", "2026-10-25")
"""the week in which the shop was shut, and nothing was bought"""
END = "2026-11-16 10:00"

NEVER_CONFIRMED = "anchor-with-a-filed-notch"
"""the visit whose report the sheriff has not confirmed yet"""

CLASS_RING = "class-ring-and-a-plated-one"
WATCH = "gold-watch-with-a-misread-number"
DETECTIVE = {
    "agency": "Ardle Police, property crimes",
    "officer": "Det. Ruth Sallow (invented)",
    "case": "AP-26-1187",
    "power": "Norrowa Precious Goods Act s. 12 (invented)",
}

HAPPENINGS: tuple[Happening, ...] = (
    Happening(
        "2026-10-12 10:20", "mara", "out", "solid-ring-and-gold-filled-locket", 1,
        {"outcome": "sold", "to": "a customer who saw it in the window"},
    ),
    Happening("2026-10-16 09:20", "ada", "payout", "bag-of-broken-chain", words={"state": "failed"}),
    Happening(
        "2026-10-17 10:05", "ada", "payout", "bag-of-broken-chain",
        words={"state": "reissued", "instrument": "transfer", "reference": "transfer 88-0150"},
    ),
    Happening(
        "2026-10-20 10:00", "ada", "move", "sterling-set-bought-as-one", 1,
        {"to": "wall safe", "place": "premises", "because": "shelf needed"},
    ),
    Happening(
        "2026-10-21 11:15", "ada", "order", "platinum-that-a-magnet-pulls", 1,
        {
            "agency": "Sheriff of Tamsett County", "officer": "Deputy Noll Varga (invented)", "case": "TC-26-0440",
            "power": "Norrowa Precious Goods Act s. 12 (invented)", "until": "2026-11-30", "form": "written",
        },
    ),
    Happening(
        "2026-10-26 12:00", "mara", "out", "solid-ring-and-gold-filled-locket", 1,
        {"outcome": "sold", "to": "a customer who saw it in the window"},
    ),
    Happening(
        "2026-10-27 15:10", "mara", "out", "bullion-coins-above-the-cash-ceiling", 1,
        {"outcome": "sold", "to": "a collector"},
    ),
    Happening(
        "2026-10-29 09:40", "tobias", "out", "bag-of-broken-chain", 1,
        {"outcome": "melted", "because": "hold ended, no use as chain"},
    ),
    Happening(
        "2026-10-29 09:50", "tobias", "out", "weighted-candlesticks-stripped", 1,
        {"outcome": "sent-out", "to": "a refiner, shells only"},
    ),
    Happening(
        "2026-11-02 09:15", "tobias", "out", "stamped-18K-assays-16K", 1,
        {"outcome": "melted", "because": "its stamp is not true, so it is not sold as it is"},
    ),
    Happening(
        "2026-11-02 16:00", "ada", "correct", WATCH,
        words={"works": "48121", "because": "a 1 of the works was read as a 7; looked at again under the microscope"},
    ),
    Happening(
        "2026-11-04 12:00", "tobias", "void", "bracelet-given-back",
        words={"because": "the seller asked for it back the next day and returned the cheque"},
    ),
    Happening(
        "2026-11-09 10:30", "ada", "lift", "platinum-that-a-magnet-pulls", 1,
        {"by": "Deputy Noll Varga (invented), Sheriff of Tamsett County", "form": "written"},
    ),
    Happening(
        "2026-11-12 10:30", "ada", "inquiry",
        words={"question": "10K class ring, blue stone, boat, J.T.M. 1998"},
    ),
    Happening(
        "2026-11-12 11:00", "ada", "order", CLASS_RING, 1,
        {**DETECTIVE, "until": "", "form": "written"},
    ),
    Happening("2026-11-12 11:30", "ada", "dossier", CLASS_RING, 1, {"parties": "yes"}),
    Happening(
        "2026-11-12 16:20", "tobias", "out", CLASS_RING, 1,
        {"outcome": "returned-to-seller", "because": "the seller came back for it"},
    ),
    Happening(
        "2026-11-13 15:30", "ada", "inquiry",
        words={"question": "platinum tiara, 34 emeralds, crest of a seahorse"},
    ),
    Happening("2026-11-13 16:00", "ada", "dossier", WATCH, 1, {"parties": ""}),
)  # fmt: skip
