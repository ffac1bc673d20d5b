"""Invented values for the tests of the papers: a shop, a slip and an item that nobody owns."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.assay.assessments import Bar, Interval
from ledger.assay.strip import Strip
from ledger.chain import seals
from reports.authority import NilReport, ReportRecord, WeeklyReport
from reports.day_sheet import DayLine, DaySheet
from reports.declaration import SlipPage
from reports.dossier import Dossier, Event
from reports.goods import Correction, Field, Item, Judgement, Picture, Test, Weighing
from reports.hold_list import HoldLine, HoldList
from reports.label import Label
from reports.page import Imprint
from reports.purchase import PurchaseReport
from reports.stub import Stub, StubLine

BOOK = "counterfoil/0f1e2d3c4b5a69788796a5b4c3d2e1f0"
LEAF = "3f2a91c044d10b7e5a21c8f07712ab9d66e0f4137b25d89c0a4e5f61b3c2d7e8"
PRESENTED_LEAF = "77d0a1b2c3e4f5061728394a5b6c7d8e9f00112233445566778899aabbccdde0"
_SECRET = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = _SECRET.public_key().public_bytes_raw()
KEY = seals.fingerprint(PUBLIC)
_ROOT = bytes.fromhex("0ac518a56046983e1d90c808014aa89bf5da8e3ee1d9f0763cc0f78da3dbf0d0")
SEAL_NOTE = seals.seal(BOOK, 42, _ROOT, PUBLIC, _SECRET.sign)
SEAL_SHORT = seals.short_form(42, _ROOT)
AT = datetime(2031, 3, 4, 10, 15, tzinfo=ZoneInfo("America/New_York"))


def imprint(
    copy: str = "Shop's copy", recipient: str = "the shop's own file", entry: int | None = 41, leaf: str = LEAF
) -> Imprint:
    return Imprint(
        shop="Harrow Lane Metal Buyers",
        licence="Licence PM-0042, Town of Vessel Falls",
        address=("14 Harrow Lane", "Vessel Falls, Ardmore County"),
        book=BOOK,
        entry=entry,
        leaf=leaf if entry is not None else "",
        seal_note=SEAL_NOTE,
        seal_short=SEAL_SHORT,
        fingerprint=KEY,
        copy=copy,
        recipient=recipient,
        at=AT,
    )


GOBLET_STRIP = Strip(
    title="Plated, shown; silver 915.0 to 931.0 per thousand where tested; as its mark claims.",
    metal="silver",
    bars=(
        Bar("X-ray, surface, bowl", "xrf", "gold", 985_000, 999_000, True),
        Bar("X-ray, filed spot", "filed-xrf", "silver", 915_000, 931_000, False, "foot rim"),
        Bar("Density 10.32 g/cm\u00b3", "density", "silver", 880_000, 950_000, False),
    ),
    claim_label="STERLING",
    claim_ppm=925_000,
    claim_low_ppm=921_000,
    remains=Interval(915_000, 931_000),
    hatched=False,
    payable=Interval(915_000, 925_000),
    upper_bound=False,
)

RING_STRIP = Strip(
    title="Solid, likely; gold 577.0 to 594.0 per thousand where tested; as its mark claims.",
    metal="gold",
    bars=(
        Bar("X-ray, surface, inside", "xrf", "gold", 577_000, 594_000, True),
        Bar("Density 13.10 g/cm\u00b3", "density", "gold", 560_000, 620_000, False),
    ),
    claim_label="14K",
    claim_ppm=583_333,
    claim_low_ppm=580_333,
    remains=Interval(577_000, 594_000),
    hatched=True,
    payable=None,
    upper_bound=False,
)


def ring(line: int = 1) -> Item:
    return Item(
        line=line,
        title="Ring, yellow metal, 1 piece",
        fields=(
            Field("Metal colour", "yellow"),
            Field("Size", "6.5 (US ring)"),
            Field("Marks as read", "14K inside the shank"),
            Field("Inscription", "\u201cR fr A 6.12.58\u201d inside the shank", True),
            Field("Stones", None, True, "Ardmore County Code 7-3(b)(4)"),
            Field("Damage", None),
        ),
        weighings=(
            Weighing("gross", "4.05 dwt", "6.298 g", "bench scale 2", "Tue 4 Mar 2031 10:02", False),
            Weighing("net", "6.30 g", "6.300 g", "bench scale 2", "Tue 4 Mar 2031 10:04", True),
        ),
        tests=(
            Test(
                "X-ray reading",
                "xrf-1",
                "M. Castellane",
                "Tue 4 Mar 2031 10:05",
                "inside the shank",
                ("Au 585.2 per thousand", "Ag 118.0, Cu 256.8, Zn 40.0"),
            ),
            Test(
                "Weighed in water",
                "bench scale 2",
                "M. Castellane",
                "Tue 4 Mar 2031 10:08",
                "whole article",
                ("air 6.30 g, water 5.82 g at 21 C", "density 13.1 g/cm3"),
            ),
        ),
        judgement=Judgement(
            construction="solid",
            interval="577 to 594 per thousand gold",
            standing="as claimed by 14K (583.3)",
            reasons=("The reading and the density agree.", "No seam or other metal was seen at the wear points."),
            owed=("A filed reading or deep streak would show what lies under the surface.",),
            strip=RING_STRIP,
        ),
        conclusion="agrees (M. Castellane)",
        offer="USD 212.40",
        taken=True,
        may_leave="Sat 15 Mar 2031 00:00 America/New_York (Town of Vessel Falls Code 12-8)",
        pictures=(Picture("ring, inside of the shank, with scale", "11" * 32, "22" * 32),),
    )


def goblet(line: int = 2) -> Item:
    return replace(
        ring(line),
        title="Goblet, yellow metal, 1 piece",
        fields=(Field("Metal colour", "yellow"), Field("Marks as read", "STERLING under the foot")),
        judgement=Judgement(
            "plated",
            "915 to 931 per thousand silver under a gilt surface",
            "as claimed by STERLING (925)",
            ("The surface reads fine gold and the filed spot reads silver: the surface is a layer.",),
            (),
            GOBLET_STRIP,
        ),
        conclusion="differs because the gilding is worn at the rim (M. Castellane)",
        offer="USD 88.00",
        taken=False,
        may_leave="",
    )


def stub(count: int = 2) -> Stub:
    lines = (
        StubLine(
            1,
            "Ring, yellow metal, 1 piece, marked 14K, \u201cR fr A 6.12.58\u201d inside",
            "6.30 g",
            "USD 212.40",
            True,
        ),
        StubLine(2, "Goblet, yellow metal, 1 piece, marked STERLING", "143.2 g", "", False),
    )
    more = tuple(
        StubLine(
            line,
            "Chain, yellow metal, flat curb links, marked 750, clasp repaired with solder",
            "7.80 g",
            "USD 301.00",
            True,
        )
        for line in range(3, count + 1)
    )
    return Stub(
        imprint("Seller's copy", "the seller named in the book"),
        12,
        "Tue 4 Mar 2031 10:15 America/New_York",
        lines + more,
        "USD 212.40",
        "cheque 1041, USD 212.40, handed to the seller",
        "until Sat 15 Mar 2031 00:00 America/New_York",
    )


def purchase() -> PurchaseReport:
    return PurchaseReport(
        imprint=imprint("Copy for the authority", "Vessel Falls Police, property desk"),
        slip=12,
        jurisdiction="Town of Vessel Falls, on top of Ardmore County and the state",
        occurred="Tue 4 Mar 2031 10:15 America/New_York",
        recorded="Tue 4 Mar 2031 10:16 America/New_York",
        fields=(
            Field("Name", "Zoë Đặng-Łukasiewicz", True),
            Field("Birth date", "1979-05-02", True),
            Field("Address", "Flat 3, 9 Quarry Road, Vessel Falls", True),
            Field("Document", "driver licence of the state, number K-113-559, expires 2033-05-02", True),
            Field("Telephone", "not known: the seller has none", True),
            Field("Vehicle", None),
            Field("Occupation", None, True, "Ardmore County Code 7-3(a)(6)"),
        ),
        items=(ring(), goblet()),
        payout=(
            Field("Instrument", "cheque 1041", True),
            Field("Payee", "Zoë Đặng-Łukasiewicz", True),
            Field("State", "paid Tue 4 Mar 2031 10:16"),
        ),
        total="USD 212.40",
        duties=(
            "Met: the seller is of age (18). Town of Vessel Falls Code 12-3.",
            "Hold: the ring stays here unchanged until Sat 15 Mar 2031. Town of Vessel Falls Code 12-8.",
        ),
        rule_files=(("Town of Vessel Falls", "ab" * 32), ("Ardmore County", "cd" * 32)),
        declaration="I own these goods, they are free of any claim, and I am of age.",
        signature="given on paper, scanned copy in the vault",
        captures=(Picture("document, front", "33" * 32, "44" * 32), Picture("seller, face", "55" * 32, "")),
        presented=PRESENTED_LEAF,
        corrections=(
            Correction(
                "Item 12/1, size",
                "6.5 (US ring)",
                "7 (US ring)",
                44,
                "Wed 5 Mar 2031 09:00",
                "P. Oduya",
                "measured again",
            ),
        ),
    )


def label() -> Label:
    return Label(
        imprint("Bag label", "the bag"),
        "12/1",
        "Ring, yellow metal, 1 piece, marked 14K, plain band, inscription inside the shank",
        "6.30 g",
        "Tue 4 Mar 2031 10:16",
        "Sat 15 Mar 2031 00:00 America/New_York",
        "Town of Vessel Falls Code 12-8",
        "safe B, tray 4",
    )


RULE_FILES = (("Town of Vessel Falls", "ab" * 32), ("Ardmore County", "cd" * 32))


def day_sheet(count: int = 3) -> DaySheet:
    lines = tuple(
        DayLine(
            40 + number,
            12 + number // 3,
            number % 3 + 1,
            f"{9 + number // 60 % 9:02}:{number % 60:02}",
            "Ring, yellow metal, plain band, inscription inside the shank",
            f"{6 + number % 7}.30 g",
            "577 to 594 gold",
            f"USD {212 + number % 97}.40",
            "15 Mar 2031 00:00",
            "void" if number == 1 else "",
        )
        for number in range(count)
    )
    counts = (
        ("Slips recorded", "2"),
        ("Slips withdrawn", "0"),
        ("Items bought", str(count)),
        ("Paid out", "USD 424.80"),
    )
    return DaySheet(
        imprint("Shop's copy", "the shop's own file", None),
        "Tue 4 Mar 2031",
        lines,
        counts,
        ("The vault was open at the close.",),
    )


def weekly() -> WeeklyReport:
    fields = purchase().fields
    return WeeklyReport(
        imprint("Copy for the authority", "Vessel Falls Police, property desk", None),
        "2031-W10",
        "Mon 3 Mar 2031 to Sun 9 Mar 2031",
        "Vessel Falls Police, property desk",
        "Town of Vessel Falls",
        "Tue 11 Mar 2031 12:00 America/New_York",
        "Town of Vessel Falls Code 12-9",
        (
            ReportRecord(12, 41, "Tue 4 Mar 2031 10:15", fields, (ring(),)),
            ReportRecord(13, 47, "Wed 5 Mar 2031 16:40", fields, (ring(), replace(goblet(), taken=True))),
        ),
        RULE_FILES,
    )


def nil() -> NilReport:
    return NilReport(
        imprint("Copy for the authority", "Vessel Falls Police, property desk", None),
        "2031-W11",
        "Mon 10 Mar 2031 to Sun 16 Mar 2031",
        "Vessel Falls Police, property desk",
        "Town of Vessel Falls",
        "Tue 18 Mar 2031 12:00 America/New_York",
        "Town of Vessel Falls Code 12-9",
        (("Purchases", "0"), ("Slips refused", "1"), ("Slips withdrawn", "0")),
        RULE_FILES,
    )


def hold_list() -> HoldList:
    basis = "Town of Vessel Falls Code 12-8"
    return HoldList(
        imprint("Shop's copy", "the shop's own file", None),
        "Thu 6 Mar 2031 09:00 America/New_York",
        (
            HoldLine(
                "12/1",
                "Ring, yellow metal",
                "safe B, tray 4",
                "4 Mar 2031 10:16",
                "15 Mar 2031 00:00",
                basis,
                "16 Mar 2031 00:00",
            ),
            HoldLine(
                "9/2",
                "Locket, yellow metal, heart",
                "safe A",
                "20 Feb 2031 15:02",
                "when the order is lifted",
                "until 1 Jun 2031",
                "",
                True,
            ),
        ),
        (HoldLine("7/1", "Coin, white metal", "safe A", "11 Feb 2031 11:00", "22 Feb 2031 00:00", basis),),
    )


def dossier() -> Dossier:
    return Dossier(
        imprint("Dossier", "Vessel Falls Police, detective desk"),
        ring(),
        12,
        "Vessel Falls Police, detective desk",
        "Town of Vessel Falls Code 12-11(c), request of Thu 6 Mar 2031",
        purchase().fields,
        (
            Event(
                "Tue 4 Mar 2031 10:14",
                40,
                "Slip presented",
                ("The seller saw the frozen slip and signed it.",),
                (),
                "M. Castellane",
                PRESENTED_LEAF,
            ),
            Event(
                "Tue 4 Mar 2031 10:16", 41, "Purchase recorded", ("Bought for USD 212.40.",), (), "M. Castellane", LEAF
            ),
            Event(
                "Wed 5 Mar 2031 09:00",
                44,
                "Correction",
                ("Size 7 (US ring).", "Because: measured again."),
                ("Size 6.5 (US ring).",),
                "P. Oduya",
                "88" * 32,
            ),
        ),
        RULE_FILES,
        ("The prices of other items of this slip.",),
    )


def slip_page() -> SlipPage:
    made = stub()
    return SlipPage(
        imprint("Shop's copy", "the shop's own file", 40, PRESENTED_LEAF),
        12,
        PRESENTED_LEAF,
        made.occurred,
        purchase().fields[:4],
        made.items,
        made.total,
        "cheque to the seller, USD 212.40, at the counter",
        "I own these goods, they are free of any claim, and I am of age.",
        "English",
        ("Seller", "Clerk"),
        ("right thumb",),
    )
