"""The visits of the story, in order: who comes when with what, and what each answers to the shop's offer.

Decides: the words that a clerk writes into a slip. Offers are not here: the clerk offers what the program works out
from the evidence, down to a whole dollar, unless a price was haggled, which is written beside its reason.
"""

from dataclasses import dataclass, field

from ledger.demo import people, wares, worn
from ledger.demo.bench import Members

TAKEN, DECLINED, NO_OFFER = "taken", "declined", ""


@dataclass(frozen=True)
class Offered:
    """One article on the tray, and what becomes of the offer for it."""

    item: Members
    answer: str = TAKEN
    price: str = ""
    """what was haggled; empty: what the program works out, down to a whole dollar"""
    differs: str = ""
    """why the clerk does not agree with the assessment; empty: agrees"""
    drawn_as: str = ""
    """key of `pictures.ARTICLES`; empty: the article's own word"""


@dataclass(frozen=True)
class Visit:
    """One slip of the story."""

    name: str
    """speaking name, for folders and the tour"""
    at: str
    staff: str
    seller: Members
    tray: tuple[Offered, ...]
    instrument: str = "cheque"
    reference: str = ""
    asks_cash_first: bool = False
    """the seller would rather have cash; the law's ceiling says no"""
    ending: str = "signed"
    """signed | withdrawn | left unsigned | signed elsewhere (recorded in one) | refused"""
    because: str = ""
    others: tuple[Members, ...] = ()
    channel: str = "counter"
    place: str = ""
    parcel: Members = field(default_factory=dict)
    answers: dict[str, str] = field(default_factory=dict)


TEST_OWED = "shop/test-owed"

VISITS: tuple[Visit, ...] = (
    Visit(
        "solid-ring-and-gold-filled-locket", "2026-10-05 10:15", "mara", people.BOZENA,
        (
            Offered(worn.WEDDING_RING),
            Offered(worn.LOCKET, price="9.00"),
        ),
        reference="cheque 2201",
    ),
    Visit(
        "seller-too-young", "2026-10-05 15:20", "tobias", people.DELL,
        (Offered(worn.FOX_CHAIN),),
        ending="refused",
        because="the seller is seventeen",
    ),
    Visit(
        "gilt-silver-goblet", "2026-10-06 11:05", "tobias", people.CORWIN,
        (Offered(wares.GOBLET),),
        instrument="cash",
    ),
    Visit(
        "hollow-bangle-weighed-again", "2026-10-07 14:30", "mara", people.HONG_DAO,
        (
            Offered(worn.BANGLE),
            Offered(
                worn.EARRINGS, DECLINED, "70.00", differs="too small for a density; offered on mark, reading and streak"
            ),
        ),
        reference="cheque 2202",
    ),
    Visit(
        "platinum-that-a-magnet-pulls", "2026-10-08 16:10", "mara", people.AMOS,
        (Offered(worn.PLATINUM_BAND),),
        instrument="cash",
    ),
    Visit(
        "sterling-set-bought-as-one", "2026-10-09 09:50", "tobias", people.QIUYUE,
        (Offered(wares.TEASPOONS),),
        instrument="transfer", reference="transfer 88-0141",
    ),
    Visit(
        "withdrawn-at-the-signature", "2026-10-10 11:40", "mara", people.PETRA,
        (Offered(wares.TEA_STRAINER, price="22.00", differs="no density made for so small a price"),),
        instrument="cash",
        ending="withdrawn",
        because="the seller wants to ask her sister first",
    ),
    Visit(
        "weighted-candlesticks-stripped", "2026-10-12 13:20", "tobias", people.LAYLA,
        (Offered(wares.CANDLESTICKS),),
        instrument="cash",
    ),
    Visit(
        "bag-of-broken-chain", "2026-10-13 10:30", "mara", people.RUFUS,
        (Offered(wares.BROKEN_CHAIN),),
        reference="cheque 2203",
    ),
    Visit(
        "bullion-coins-above-the-cash-ceiling", "2026-10-14 15:45", "mara", people.ILSE,
        (Offered(wares.FIRST_COIN), Offered(wares.SECOND_COIN)),
        reference="cheque 2204",
        asks_cash_first=True,
    ),
    Visit(
        "stamped-18K-assays-16K", "2026-10-15 12:10", "tobias", people.BOZENA,
        (Offered(worn.STAMPED_CHAIN),),
        reference="cheque 2205",
        answers={TEST_OWED: "bought for the 656 that all tests bear out, not for its stamp; melted after the hold"},
    ),
    Visit(
        "one-offer-taken-one-declined", "2026-10-16 16:40", "mara", people.HESTER,
        (
            Offered(worn.BROOCH),
            Offered(
                worn.POCKET_WATCH, DECLINED, "25.00", differs="offered as a watch; the case was not weighed alone"
            ),
        ),
        instrument="cash",
    ),
    Visit(
        "estate-at-home", "2026-10-26 10:40", "mara", people.GIDEON,
        (Offered(wares.SAUCE_BOAT), Offered(wares.NAPKIN_RINGS)),
        reference="cheque 2206",
        channel="home", place="40 Saltmarket, Pellwick",
    ),
    Visit(
        "dealer-with-a-melted-bar", "2026-10-27 11:30", "ada", people.WENDELINE,
        (Offered(wares.CAST_BAR),),
        instrument="transfer", reference="transfer 88-0163",
    ),
    Visit(
        "silver-bar-with-a-number", "2026-10-28 14:05", "tobias", people.OSRIC,
        (Offered(wares.SILVER_BAR),),
        reference="cheque 2207",
    ),
    Visit(
        "class-ring-and-a-plated-one", "2026-10-29 16:40", "tobias", people.LORNE,
        (Offered(worn.CLASS_RING, drawn_as="stone ring"), Offered(worn.PLATED_RING, NO_OFFER)),
        instrument="cash",
    ),
    Visit(
        "gold-watch-with-a-misread-number", "2026-10-30 10:20", "mara", people.MAUD,
        (Offered(worn.GOLD_WATCH),),
        reference="cheque 2208",
    ),
    Visit(
        "ring-by-parcel", "2026-10-31 12:00", "tobias", people.ANSEL,
        (Offered(worn.COCKTAIL_RING, drawn_as="stone ring"),),
        reference="cheque 2209",
        ending="signed elsewhere",
        channel="parcel",
        parcel={
            "carrier": "Norrowa Parcel Line",
            "received_at": "2026-10-31T09:05:00-05:00[America/Chicago]",
            "tamper_band": "whole",
            "tracking": "NPL 55 0081 2206",
        },
    ),
    Visit(
        "anchor-with-a-filed-notch", "2026-11-02 09:35", "mara", people.ZELJKA,
        (Offered(worn.ANCHOR_PENDANT),),
        reference="cheque 2210",
    ),
    Visit(
        "bracelet-given-back", "2026-11-03 13:15", "tobias", people.DOROTHEA,
        (Offered(worn.CHARM_BRACELET),),
        reference="cheque 2211",
    ),
    Visit(
        "brooch-of-two-metals", "2026-11-04 15:50", "mara", people.CYRIL,
        (
            Offered(
                worn.TWO_METAL_BROOCH,
                price="140.00",
                differs="bought whole as an ornament to be sold as it is, well below the metal of its smaller part",
                drawn_as="bow brooch",
            ),
        ),
        instrument="cash",
        others=(people.INES,),
    ),
    Visit(
        "unmarked-chain-not-bought", "2026-11-05 11:00", "tobias", people.TAMSIN,
        (Offered(worn.UNMARKED_CHAIN, NO_OFFER), Offered(worn.SIGNET, drawn_as="signet")),
        instrument="cash",
    ),
    Visit(
        "tray-with-a-monogram", "2026-11-06 15:25", "mara", people.ELENI,
        (Offered(wares.TRAY),),
        instrument="cash",
    ),
    Visit(
        "rose-chain", "2026-11-07 10:45", "mara", people.OKSANA,
        (Offered(worn.FOX_CHAIN),),
        instrument="cash",
    ),
    Visit(
        "medal-of-the-county-fair", "2026-11-10 14:20", "tobias", people.RUFUS,
        (Offered(wares.MEDAL),),
        instrument="cash",
    ),
    Visit(
        "not-signed-yet", "2026-11-14 12:30", "mara", people.SAEROM,
        (Offered(wares.THIMBLE),),
        ending="left unsigned",
        instrument="cash",
    ),
)  # fmt: skip
"""Slip numbers follow this order; the refused one has none."""
