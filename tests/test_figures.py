"""How tests and values of the record read on a paper. The words are the project's own; no published source."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

import pytest

from ledger.acts import figures, wording
from ledger.assay import evidence
from ledger.assay.evidence_schema import MEMBERS
from ledger.law.answers import AskField
from ledger.law.duties import weigh
from ledger.law.holds import Leave
from ledger.law.rules import ACTS
from ledger.measures import Money
from ledger.slip.document import Payout

ZONE = ZoneInfo("America/Chicago")
ELEMENTS = {"Ag": "119", "Au": "584", "Cu": "257"}
CASES: dict[str, tuple[dict[str, Any], list[str]]] = {
    "xrf": (
        {
            "unit": "per-mille",
            "readings": [{"elements": ELEMENTS, "part": "shank", "spot": "inside"}, {"elements": {"Au": "1000"}}],
            "uncertainty": "8",
            "geometry": "curved",
            "message": "Low count rate",
        },
        [
            "shank, inside: Au 584, Cu 257, Ag 119 per thousand",
            "Au 1000 per thousand",
            "good to 8 per thousand (k = 2)",
            "curved place",
            "the instrument said: Low count rate",
        ],
    ),
    "filed-xrf": (
        {
            "unit": "per-cent",
            "readings": [{"elements": {"Ag": "92.6", "Cu": "7.4"}, "spot": "notch"}],
            "consent": {"given": True, "mark_left": "a notch"},
        },
        ["notch: Ag 92.6, Cu 7.4 per cent", "the seller agreed to this test, which leaves a notch"],
    ),
    "streak": (
        {
            "acid_karat": "14",
            "depth": "deep",
            "result": "gone",
            "batch": "B 7",
            "opened": "2026-09-01",
            "needles": True,
            "control": {"karat": "14", "result": "holds"},
            "consent": {"given": False},
        },
        [
            "acid for 14 karat: dissolved at once",
            "rubbed deep",
            "known streak of 14 karat beside it: held",
            "compared with needles",
            "batch of the acid: B 7",
            "acid opened: 2026-09-01",
            "the seller did not agree to this test",
        ],
    ),
    "density": (
        {
            "air": "5.38",
            "water": "4.88",
            "unit": "g",
            "interval": "0.01",
            "water_temperature": "21",
            "air_after": "5.40",
            "bubbles": "seen",
            "stones": {"weight": "0.92", "unit": "g", "density": "5.8", "estimated": True},
            "note": "in a basket",
        },
        [
            "5.38 g in air, 4.88 g in water of 21 °C",
            "5.40 g in air after the bath",
            "bubbles: seen",
            "stones: 0.92 g of 5.8 g/cm³, estimated",
            "the scale reads to 0.01 g",
            "in a basket",
        ],
    ),
    "magnet": ({"pull": "none"}, ["no pull"]),
    "conductance": (
        {"readings": [{"kilohertz": "60", "iacs": "75.8"}], "uncertainty": "1.5", "thickness_mm": "2.1"},
        ["75.8 % IACS at 60 kHz", "good to 1.5 % IACS", "2.1 mm thick by calliper"],
    ),
    "consent": (
        {"given": False, "to": ["filed-xrf", "cut"]},
        ["the seller did not agree to a mark on the article by X-ray reading, filed spot, cut face"],
    ),
    "silver-streak": (
        {
            "colour": "dark-red",
            "depth": "deep",
            "batch": "S 2",
            "opened": "2026-10-01",
            "control": {"fineness": "925", "colour": "none"},
        },
        [
            "acid for silver: turned dark red",
            "rubbed deep",
            "known streak of 925 per thousand beside it: kept its colour",
            "batch of the acid: S 2",
            "acid opened: 2026-10-01",
        ],
    ),
    "ultrasound": ({"calliper_mm": "2.90", "shown_mm": "2.91"}, ["2.90 mm by calliper, 2.91 mm shown"]),
    "visual": (
        {"shows": ["other-metal-at-wear", "seam"], "text": "at the rim"},
        ["other metal at wear, seam", "at the rim"],
    ),
    "cut": ({"shows": "one-metal"}, ["shows one metal"]),
    "stripped": (
        {"who": "shop", "shell": "84.60", "unit": "g"},
        ["by the shop: the shell alone weighs 84.60 g"],
    ),
    "melt": (
        {
            "metal": "gold",
            "fineness": "573.2",
            "method": "fire-assay",
            "uncertainty": "1",
            "laboratory": "a bench",
            "before": "412.6",
            "after": "410.9",
            "unit": "g",
        },
        [
            "gold 573.2 per thousand, by fire assay",
            "good to 1 per thousand",
            "laboratory: a bench",
            "412.6 g before melting",
            "410.9 g after melting",
        ],
    ),
}


class TestTests:
    """A paper shows each test with its figures; nothing that the record holds is left out."""

    @pytest.mark.parametrize("kind", CASES)
    def test_every_figure_is_told_with_its_unit(self, kind: str) -> None:
        members, wanted = CASES[kind]
        assert list(figures.test_of({"test": kind, **members}, ZONE).figures) == wanted

    @pytest.mark.parametrize("kind", MEMBERS)
    def test_every_member_that_a_test_may_have_is_in_some_figure(self, kind: str) -> None:
        members, _ = CASES[kind]
        if kind != "filed-xrf":  # its members are those of xrf
            assert set(MEMBERS[kind]) <= set(members), "the case above has them all"
        evidence.read([{"test": kind, **members}])  # and is a test that the assay room reads

    @pytest.mark.parametrize(
        ("kind", "members", "wanted"),
        [
            (
                "streak",
                {"acid_karat": "18", "depth": "light", "result": "fades"},
                ["acid for 18 karat: faded", "rubbed lightly"],
            ),
            ("density", {"air": "2", "water": "1.8", "unit": "dwt"}, ["2 dwt in air, 1.8 dwt in water"]),
            ("magnet", {"pull": "weak"}, ["weak pull"]),
            ("visual", {"shows": ["hollow"]}, ["hollow"]),
            ("melt", {"metal": "gold", "fineness": "573", "method": "pin"}, ["gold 573 per thousand, by pin"]),
        ],
    )
    def test_what_was_not_said_is_not_told(self, kind: str, members: dict[str, Any], wanted: list[str]) -> None:
        assert list(figures.test_of({"test": kind, **members}, ZONE).figures) == wanted

    def test_who_with_what_when_and_where(self) -> None:
        told = {
            "test": "magnet",
            "pull": "none",
            "by": "mara",
            "instrument": "magnet-1",
            "spot": "band",
            "part": "shank",
        }
        test = figures.test_of({**told, "at": "2026-10-05T15:09:00Z"}, ZONE)
        assert (test.name, test.by, test.instrument, test.where) == ("magnet", "mara", "magnet-1", "band, shank")
        assert test.at == "Mon 5 Oct 2026 10:09 America/Chicago"

    def test_a_silent_test_says_that_it_is_silent(self) -> None:
        test = figures.test_of({"test": "magnet", "pull": "none"}, ZONE)
        assert (test.by, test.instrument, test.at, test.where) == ("not recorded", "not recorded", "", "")

    def test_words_for_a_moment_that_name_none_stay_as_they_are(self) -> None:
        assert figures.when("before noon", ZONE) == "before noon"

    def test_the_kinds_of_test_are_named_once_each_with_their_number(self) -> None:
        made = [{"test": "xrf"}, {"test": "density"}, {"test": "density"}, {"test": "consent"}]
        assert figures.named(made) == "X-ray reading, density in water (2 times)"


NOTHING_ASKED = weigh((), {"slip": {}, "seller": {}, "items": []}, at=datetime(2026, 10, 5, 10, tzinfo=ZONE))


def asked(fact: str, about: str, *subjects: str, need: str = "must") -> AskField:
    return AskField(fact, fact.title(), about, need, True, ("xx/rule",), ("Code 1",), subjects)


def answered(facts: dict[str, Any], *about: str, asks: tuple[AskField, ...], order: tuple[str, ...] = ()) -> list[Any]:
    """Label, value and whether it is required, of what the layers ask, in an order of the report's own or in theirs."""
    duties = replace(NOTHING_ASKED, asks=asks)
    fields = wording.answered(duties, facts, order or tuple(field.fact for field in asks), *about)
    return [(field.label, field.value, field.required) for field in fields]


class TestFields:
    """Fields stand in the rule file's order; a missing required field is printed as missing."""

    FACTS: ClassVar[dict[str, Any]] = {
        "slip": {"occurred": "2026-10-05T10:15:00-05:00[America/Chicago]", "staff": "mara"},
        "seller": {
            "name": "Odile Varnham",
            "documents": [{"type": "driver-licence"}, {"type": "passport"}],
            "captures": {"photo": True, "print": {"not_known": "thumb in plaster"}},
        },
        "co_sellers": [{"party": 2, "name": "Inês Wray"}],
        "items": [
            {"line": 1, "pieces": 1, "evidence": [{"test": "magnet"}]},
            {"line": 2, "pieces": 14},
            {"line": 3, "pieces": 1},
        ],
    }

    def test_slip_and_seller_mix_as_the_rule_wants_them(self) -> None:
        asks = (asked("seller.name", "seller"), asked("slip.staff", "slip"), asked("seller.birth_date", "seller"))
        assert answered(self.FACTS, "slip", "seller", asks=asks) == [
            ("Seller.Name", "Odile Varnham", True),
            ("Slip.Staff", "mara", True),
            ("Seller.Birth_Date", None, True),
        ]

    def test_a_report_s_own_order_comes_first_and_what_no_layer_asked_is_named_in_words(self) -> None:
        asks = (asked("seller.name", "seller"), asked("slip.staff", "slip"))
        order = ("slip.staff", "seller.email", "seller.name")
        assert [label for label, _, _ in answered(self.FACTS, "slip", "seller", asks=asks, order=order)] == [
            "Slip.Staff",
            "e-mail address",
            "Seller.Name",
        ]

    def test_values_have_words(self) -> None:
        of_seller = ("seller.document.type", "seller.captures.photo", "seller.captures.print")
        asks = (*(asked(name, "seller") for name in of_seller), asked("slip.occurred", "slip"))
        told = [value for _, value, _ in answered(self.FACTS, "slip", "seller", asks=asks)]
        assert told == [
            "driver's licence; passport",
            "taken",
            "not known: thumb in plaster",
            "Mon 5 Oct 2026 10:15 America/Chicago",
        ]

    def test_a_further_seller_has_fields_of_his_own(self) -> None:
        assert answered(self.FACTS, "party/2", asks=(asked("seller.name", "seller"),))[0][1] == "Inês Wray"
        assert answered(self.FACTS, "party/3", asks=(asked("seller.name", "seller"),))[0][1] is None

    def test_what_is_asked_of_a_lot_is_told_of_the_lot_alone(self) -> None:
        asks = (
            asked("item.pieces", "item", "item/2"),
            asked("item.evidence", "item", "item/1", "item/2", need="if-known"),
        )
        assert answered(self.FACTS, "item/1", asks=asks) == [("Item.Evidence", "magnet", False)]
        assert [label for label, _, _ in answered(self.FACTS, "item/2", asks=asks)] == ["Item.Pieces", "Item.Evidence"]
        assert [label for label, _, _ in answered(self.FACTS, "item/3", asks=asks)] == ["Item.Evidence"], "not bought"


class TestWords:
    """Papers say holds, payments and moments in words."""

    @pytest.mark.parametrize(
        ("event", "wanted"),
        [
            ("report-received:property-desk", "the property desk's receipt of the report"),
            ("report-sent:property-desk", "the sending of the report to the property desk"),
            ("report-made:property-desk", "the making of the report to the property desk"),
            ("a full moon", "a full moon"),
        ],
    )
    def test_what_a_hold_waits_for(self, event: str, wanted: str) -> None:
        assert wording.awaited(event) == wanted
        assert wording.leaves(Leave(None, None, event)) == f"no date yet: waiting for {wanted}"

    def test_from_when_goods_may_leave(self) -> None:
        plain, cautious = (datetime(2026, 10, day, tzinfo=ZONE) for day in (21, 23))
        assert wording.leaves(Leave(None, None, None)) == "no hold"
        assert wording.leaves(Leave(plain, plain, None)) == "Wed 21 Oct 2026 00:00 America/Chicago"
        assert wording.leaves(Leave(None, None, "an order"), orders=1) == "held by an authority's order"
        assert "(cautious)" in wording.leaves(Leave(plain, cautious, None))

    def test_every_act_that_the_law_knows_has_a_word(self) -> None:
        assert len(set(wording.acts(sorted(ACTS)).split(", "))) == len(ACTS)

    @pytest.mark.parametrize(
        ("instrument", "reference", "wanted"),
        [
            ("cheque", "cheque 2201", "cheque 2201, USD 5.00"),
            ("cheque", "2201", "cheque 2201, USD 5.00"),
            ("cash", None, "cash, USD 5.00"),
        ],
    )
    def test_an_instrument_is_said_once(self, instrument: str, reference: str | None, wanted: str) -> None:
        assert wording.payout(Payout(instrument, "A B", Money("USD", 500), reference=reference)) == wanted

    def test_a_narrow_column_has_no_zone(self) -> None:
        assert wording.short(datetime(2026, 10, 5, 9, 5, tzinfo=UTC)) == "5 Oct 2026 09:05"

    @pytest.mark.parametrize(
        ("value", "wanted"),
        [
            (None, "not recorded"),
            (True, "yes"),
            ([], "none"),
            ({"not_known": "worn"}, "not known: worn"),
            ({"text": "14K", "where": "clasp"}, "14K (clasp)"),
            ({"text": "14K"}, "14K"),
            ({"value": "4", "unit": "mm"}, "4 mm"),
            ({"count": 1, "colour": "red", "cut": None}, "1, red"),
            (("a", 2), "a; 2"),
            ({"currency": "USD", "minor": 1050}, "USD 10.50"),
        ],
    )
    def test_values_of_the_record(self, value: Any, wanted: str) -> None:
        assert wording.said(value) == wanted
