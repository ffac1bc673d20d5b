"""How values of the record read on a paper: plain words, with units, and "not known" with its reason."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ledger.acts import figures, wording
from ledger.assay.evidence import EVIDENCE_SCHEMA
from ledger.law.holds import Leave
from ledger.law.rules import ACTS, EVENTS
from ledger.measures import Money
from ledger.slip.document import Payout
from tests.slip_samples import slip

ZONE = ZoneInfo("America/Chicago")


class TestValues:
    """A value in words; an empty list is an answer."""

    @pytest.mark.parametrize(
        ("value", "words"),
        [
            (None, "not recorded"),
            ("", "not recorded"),
            ([], "none"),
            (False, "no"),
            (3, "3"),
            ("plain", "plain"),
            ({"not_known": "worn"}, "not known: worn"),
            ({"currency": "JPY", "minor": 500}, "JPY 500"),
            ({"value": "4.20", "unit": "g"}, "4.20 g"),
            ({"text": "14K", "where": "inside"}, "14K (inside)"),
            ({"text": "14K"}, "14K"),
            ({"count": 3, "colour": "red", "species": None}, "3, red"),
            ([{"text": "14K"}, {"text": "585"}], "14K; 585"),
        ],
    )
    def test_each_kind(self, value: Any, words: str) -> None:
        assert wording.said(value) == words

    def test_a_weight_stands_as_the_scale_showed_it_with_grams_beside(self) -> None:
        ring, locket, _ = slip().items
        # 4.05 dwt of 1.555 173 84 g each (NIST Handbook 44, Appendix C)
        assert (wording.weight(ring.paid_on), wording.weight(locket.paid_on)) == ("4.20 g", "4.05 dwt (6.298 g)")
        assert wording.weight(None) == "not weighed"

    def test_a_reference_that_names_its_instrument_is_not_said_twice(self) -> None:
        money = Money("USD", 21_850)
        said = [
            wording.payout(Payout("cheque", "A", money, reference=reference)) for reference in ("cheque 7", "7", None)
        ]
        assert said == ["cheque 7, USD 218.50", "cheque 7, USD 218.50", "cheque, USD 218.50"]


class TestHolds:
    """From when goods may leave, and what a hold forbids and waits for, in words."""

    FREE, LATER = datetime(2026, 12, 5, tzinfo=ZONE), datetime(2026, 12, 8, tzinfo=ZONE)

    @pytest.mark.parametrize(
        ("leave", "orders", "words"),
        [
            (Leave(None, None, None), 0, "no hold"),
            (Leave(FREE, FREE, None), 0, "Sat 5 Dec 2026 00:00 America/Chicago"),
            (
                Leave(FREE, LATER, None),
                0,
                "Tue 8 Dec 2026 00:00 America/Chicago (cautious), Sat 5 Dec 2026 00:00 America/Chicago (plain)",
            ),
            (
                Leave(None, None, "report-sent:desk"),
                0,
                "no date yet: waiting for the sending of the report to the desk",
            ),
            (Leave(None, None, "lifting of the hold order"), 1, "held by an authority's order"),
            (Leave(FREE, FREE, None), 1, "Sat 5 Dec 2026 00:00 America/Chicago"),
        ],
    )
    def test_from_when(self, leave: Leave, orders: int, words: str) -> None:
        assert wording.leaves(leave, orders) == words

    def test_every_act_and_every_event_of_a_rule_file_has_words(self) -> None:
        assert wording.acts(ACTS).count(",") == len(ACTS) - 1
        assert all(wording.awaited(f"{event}:desk") != f"{event}:desk" for event in EVENTS if event != "purchase")
        assert wording.awaited("purchase") == "purchase"

    def test_an_interval_is_told_per_thousand_or_that_none_was_shown(self) -> None:
        seen = {"metal": "gold", "seen": {"low_ppm": 574_000, "high_ppm": 593_000}}
        assert wording.interval(seen) == "gold 574.0 to 593.0 per thousand where tested"
        assert wording.interval(None) == wording.interval({"seen": None}) == "not shown by the tests"


TESTS: dict[str, tuple[dict[str, Any], tuple[str, ...]]] = {
    "xrf": (
        {
            "test": "xrf", "instrument": "xrf-1", "by": "mara", "at": "2026-11-24T10:05:00-06:00", "unit": "per-cent",
            "readings": [{"spot": "rim", "elements": {"Cu": "41.5", "Au": "58.5"}}], "uncertainty": "1",
            "geometry": "curved", "message": "low count", "note": "twice",
        },
        ("rim: Au 58.5, Cu 41.5 per cent", "good to 1 per cent (k = 2)", "curved place",
         "the instrument said: low count", "twice"),
    ),
    "streak": (
        {
            "test": "streak", "acid_karat": 14, "result": "fades", "depth": "deep", "batch": "B7",
            "control": {"karat": 14, "result": "holds"}, "needles": True, "opened": "2026-10-01",
            "consent": {"given": True, "mark_left": "a scratch"}, "spot": "the back",
        },
        ("acid for 14 karat: faded", "rubbed deep", "known streak of 14 karat beside it: held",
         "compared with needles", "batch of the acid: B7", "acid opened: 2026-10-01",
         "the seller agreed to this test, which leaves a scratch"),
    ),
    "streak, shallow": (
        {"test": "streak", "acid_karat": 10, "result": "gone", "depth": "light", "consent": {"given": False}},
        ("acid for 10 karat: dissolved at once", "rubbed lightly", "the seller did not agree to this test"),
    ),
    "density": (
        {
            "test": "density", "unit": "g", "air": "4.20", "water": "3.88", "air_after": "4.20", "bubbles": "none seen",
            "stones": {"weight": "0.10", "unit": "ct", "density": "3.52"},
        },
        ("4.20 g in air, 3.88 g in water", "4.20 g in air after the bath", "bubbles: none seen",
         "stones: 0.10 ct of 3.52 g/cm³"),
    ),
    "silver-streak": (
        {"test": "silver-streak", "colour": "brown", "depth": "light"},
        ("acid for silver: turned brown", "rubbed lightly"),
    ),
    "magnet": ({"test": "magnet", "pull": "strong"}, ("strong pull",)),
    "conductance": ({"test": "conductance", "readings": [{"iacs": "70", "kilohertz": "60"}]}, ("70 % IACS at 60 kHz",)),
    "ultrasound": (
        {"test": "ultrasound", "calliper_mm": "4.0", "shown_mm": "3.9"}, ("4.0 mm by calliper, 3.9 mm shown",),
    ),
    "visual": (
        {"test": "visual", "shows": ["worn-through", "seam"], "text": "at the hinge"},
        ("worn through, seam", "at the hinge"),
    ),
    "visual, no words": ({"test": "visual", "shows": ["seam"]}, ("seam",)),
    "melt, bare": (
        {"test": "melt", "metal": "silver", "fineness": "925", "method": "cupel"},
        ("silver 925 per thousand, by cupel",),
    ),
    "cut": ({"test": "cut", "shows": "same-colour"}, ("shows same colour",)),
    "stripped": (
        {"test": "stripped", "who": "refiner", "shell": "30.1", "unit": "g"},
        ("by the refiner: the shell alone weighs 30.1 g",),
    ),
    "melt": (
        {
            "test": "melt", "metal": "gold", "fineness": "583.5", "method": "fire-assay", "uncertainty": "0.5",
            "laboratory": "an assay office", "before": "10.0", "after": "9.8", "unit": "g",
        },
        ("gold 583.5 per thousand, by fire assay", "good to 0.5 per thousand", "laboratory: an assay office",
         "10.0 g before melting", "9.8 g after melting"),
    ),
}  # fmt: skip


class TestFigures:
    """Every figure with its unit, who made it with what, and when; nothing that the record holds is left out."""

    @pytest.mark.parametrize("name", TESTS)
    def test_each_figure_is_said(self, name: str) -> None:
        told, figures_ = TESTS[name]
        assert figures.test_of(told, ZONE).figures == figures_

    def test_who_with_what_when_and_where(self) -> None:
        made = figures.test_of(TESTS["xrf"][0], ZONE)
        assert (made.name, made.instrument, made.by) == ("X-ray reading", "xrf-1", "mara")
        assert (made.at, made.where) == ("Tue 24 Nov 2026 10:05 America/Chicago", "")
        bare = figures.test_of(TESTS["streak"][0], ZONE)
        assert (bare.instrument, bare.by, bare.at, bare.where) == ("not recorded", "not recorded", "", "the back")

    def test_every_kind_of_test_that_the_assay_room_reads_has_a_name(self) -> None:
        assert set(figures.NAMES) == set(EVIDENCE_SCHEMA["items"]["properties"]["test"]["enum"])

    def test_kinds_are_counted_for_a_field_that_asks_which_tests_were_made(self) -> None:
        made = [{"test": "xrf"}, {"test": "magnet"}, {"test": "xrf"}]
        assert figures.named(made) == "X-ray reading (2 times), magnet"

    def test_what_names_no_moment_stays_as_it_was_written(self) -> None:
        assert figures.when("after lunch", ZONE) == "after lunch"
