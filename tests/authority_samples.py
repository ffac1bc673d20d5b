"""Sample papers about requests of authorities, goods that they take, and inspections. All invented."""

from reports.answered import Answer
from reports.custody import Line, Receipt
from reports.inspection import Findings, ShelfSheet, Shown
from tests.paper_samples import LEAF, imprint

_AGENCY = "Vessel Falls Police, property desk"
_AT = "Wed 5 Mar 2031 09:00 America/New_York"
_FOLLOWS = (("Return the goods or obtain a warrant", "Thu 3 Jul 2031 09:00 America/New_York"),)


def answer() -> Answer:
    """A subpoena that was narrowed, with something kept and something gone."""
    return Answer(
        imprint("Copy for the recipient", _AGENCY, 51),
        "Answer to a subpoena",
        "L. Tarrant, badge 4417, Vessel Falls Police, 555 0199",
        f"{_AT}, in person",
        "VF-2031-118",
        "Falls Code 9-4 (invented), subpoena 12",
        "the ring of slip 12, who sold it, and his telephone",
        "Wed 5 Mar 2031 09:20 America/New_York: the desk confirms officer and case",
        "Less is given than was asked for.",
        "the seller's telephone is beyond the power",
        ("item/1/description", "seller/name"),
        (("extract, its manifest", "52", "5e" * 32), ("another paper or file", "none", "7a" * 32)),
        ("slip/12: kept until Tue 3 Jun 2031 09:00 America/New_York.",),
        ("Item 12/2 (goblet) is not in stock: sold on Tue 4 Mar 2031 16:00 America/New_York.", "It went to a dealer."),
        _FOLLOWS,
    )


def receipt() -> Receipt:
    """Two articles seized on a warrant."""
    return Receipt(
        imprint("Copy for both sides", _AGENCY, 53),
        "seized",
        _AT,
        "L. Tarrant, badge 4417",
        "L. Tarrant, 4417, Vessel Falls Police, 555 0199",
        "VF-2031-118",
        "warrant 31-77 (invented)",
        "PR-2031-9",
        "one clear bag, sealed, seal 00417",
        "",
        (
            Line("12/1", "Ring, yellow metal, marked 14K, size 6.5", "6.30 g", "safe 2"),
            Line("12/2", "Goblet, white metal, dented", "141.20 g", "shelf 4"),
        ),
        _FOLLOWS,
    )


def shown() -> Shown:
    """A register with a voided slip, stock, a report and a rule file."""
    day = "4 Mar 2031 10:16"
    return Shown(
        imprint("Copy for the inspector", "an inspection", None),
        _AT,
        (38, 53),
        (
            (("40", "12", "", "presented to the seller", day, "mc", "2 items"), False),
            (("41", "12", "", "bought", day, "mc", "2 items"), False),
            (("", "12", "12/1", "article", "", "", "ring, marked 14K; 6.30 g; in stock"), False),
            (("42", "13", "", "bought", day, "mc", "1 item; voided"), True),
            (("43", "13", "", "undone", day, "mc", ""), False),
            (("44", "12", "", "corrected", day, "po", "entry 40: item/1/description; was size 6.5; is size 7"), False),
        ),
        (("12/1", "ring, marked 14K", "6.30 g", day, "safe 2", "in stock", "Fri 14 Mar 2031 10:16 America/New_York"),),
        (("purchase-12.police", "Purchase report", "police", "2031-03-04 to 2031-03-04", day, "received", day, day),),
        (("xx-vessel-falls", "Town of Vessel Falls", f"{'3c' * 32}.toml", "2031-01-02", "mc"),),
        (("Entries of the register", "6"), ("Slips", "2"), ("Items in stock", "1"), ("Reports", "1")),
    )


def shelf() -> ShelfSheet:
    """A shelf on which something lacks and something is too many."""
    return ShelfSheet(
        imprint("Copy for both sides", "an inspection", None),
        _AT,
        "safe 2",
        14,
        (("12/1", "ring, marked 14K", "safe 2", "in stock"),),
        (("9/9", "the book has no such item"), ("11/1", "by the book it is sold")),
        (("10/1", "watch", "bench", "sent out"),),
        ("8/1",),
    )


def findings() -> Findings:
    """An inspection with two findings and a sample."""
    return Findings(
        imprint("Copy for both sides", "Falls County Weights and Measures", 54),
        "R. Okonjo, number 12",
        "Falls County Weights and Measures",
        "Falls County Code 3-1 (invented)",
        "purchase records since the last inspection, and the articles in them",
        _AT,
        "M. Castellane",
        (53, LEAF),
        (("The label of item 12/1 cannot be read.", "2031-03-12"), ("No price sign is posted.", "no day named")),
        "The sign is posted by tomorrow.",
        ("ab" * 32,),
        ("Seed 7: 2 of 15 items, all items bought since the last inspection.", "Drawn: 12/1, 9/3"),
        "on this paper",
    )
