"""Worked cases: an article, its tests, and what a careful assayer would say.

The cases were reasoned out from published physics and trade practice together with the rules, so that agreeing with
them is a check of consistency, not of truth. Their sources, where a figure has one: readings of layered articles from
a two-layer calculation with published attenuation tables; densities by ideal mixing and from data sheets; touchstone
limits from Walchli, Gold Bulletin 14 (1981); marks from 16 CFR 23 and 15 USC 295; the shell of weighted sterling from
published accounts of stripped pieces; insoluble metals from the scope of ISO 11426:2021.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from ledger.assay.assessments import Assessment
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf

# One-word judgements of the trade, and what they are on the axes used here. Where a judgement names more than a
# construction, the standing or a suspicion says it; "likely" is a confidence and leaves a test owed.
MAPPING: dict[str, dict[str, Any]] = {
    "consistent solid": {"construction": "solid", "confidence": "shown"},
    "likely gold-filled": {"construction": "layered", "confidence": "likely"},
    "gold-filled": {"construction": "layered", "confidence": "declared"},
    "undetermined": {"construction": "undetermined", "confidence": "open"},
    "likely silver-plated": {"construction": "plated", "confidence": "likely"},
    "plated": {"construction": "plated"},
    "under fineness": {"standing": "below"},
    "mixed parts": {"construction": "mixed-parts", "confidence": "shown"},
    "counterfeit": {"standing": "contrary", "payable": None},
    "weighted or filled": {"construction": "weighted-or-hollow", "payable": None},
    "suspected adulterant": {"suspicions": ("adulterant",), "payable": None},
}


@dataclass(frozen=True)
class Case:
    """One article."""

    title: str
    mark: str
    grams: float
    tests: tuple[Document, ...]
    judgement: str
    next_test: str
    between: tuple[int, int] | None
    """fineness seen, per thousand, rounded to the nearest"""

    def assessed(self) -> Assessment:
        """What the room says of it."""
        where = "clasp" if self.title.startswith("clasp") else ""
        return assess(*self.tests, marks=[(self.mark, where)] if self.mark else [], grams=self.grams)


GOLD_14 = xrf(Au=584, Ag=119, Cu=257, Zn=40)
LAYER_14 = xrf(Au=589, Ag=106, Cu=259, Zn=46)
GOLD_12 = {**xrf(Au=500, Ag=100, Cu=350, Zn=50), "geometry": "curved"}
SILVER_20_UM = xrf(Ag=994, Cu=3, Zn=3)
SHOP_ACIDS = (streak(14, "holds"), streak(18, "gone"))
TWO_FREQUENCIES = {
    "test": "conductance",
    "readings": [{"kilohertz": "480", "iacs": "77.5"}, {"kilohertz": "60", "iacs": "77.5"}],
}

CASES = [
    Case("14 K band, all tests agree", "14K", 4.2, (GOLD_14, GOLD_14, GOLD_14, *SHOP_ACIDS, dense(4.2, 13.1)),
         "consistent solid", "", (574, 594)),
    Case("heavy bangle with brass's density", "14K", 18.0, (LAYER_14, *SHOP_ACIDS, dense(18.0, 8.68)),
         "likely gold-filled", "filed-xrf", (579, 599)),
    Case("the same bangle without a density", "14K", 18.0, (LAYER_14, *SHOP_ACIDS),
         "undetermined", "density", (579, 599)),
    Case("1/20 14K GF", "1/20 14K GF", 12.0, (xrf(Au=581, Ag=96, Cu=264, Zn=59), dense(12.0, 8.68)),
         "gold-filled", "", (571, 591)),
    Case("unmarked chain of 12 K", "", 20.0, (GOLD_12, dense(20.0, 12.2)),
         "consistent solid", "", (480, 520)),
    Case("unmarked charm, too light for a density", "", 0.8, (GOLD_12, dense(0.8, 12.3)),
         "undetermined", "filed-xrf-or-deep-streak", (480, 520)),
    Case("palladium, instrument warns of a coating", "950PD", 6.0,
         ({**xrf(Pd=951, Ru=49), "message": "possible gold coating"}, dense(6.0, 12.0)),
         "consistent solid", "", (941, 961)),
    Case("14 K white under 0.5 micrometre of rhodium", "14K", 5.0,
         (xrf(Au=550, Cu=222, Ni=98, Rh=69, Zn=61), dense(5.0, 12.6)),
         "consistent solid", "", (571, 601)),
    Case("ounce bar, surface and density", "999.9", 31.1, (xrf(Au=1000), dense(31.1, 19.25)),
         "undetermined", "conductance-or-ultrasound", (990, 1000)),
    Case("ounce bar, conductance too", "999.9", 31.1, (xrf(Au=1000), dense(31.1, 19.25), TWO_FREQUENCIES),
         "consistent solid", "", (990, 1000)),
    Case("tray stamped 925 over brass", "925", 180.0, (SILVER_20_UM, dense(180.0, 8.6)),
         "likely silver-plated", "filed-xrf", (984, 1000)),
    Case("fork stamped 925 that reads 994", "925", 60.0, (SILVER_20_UM,),
         "undetermined", "filed-xrf", (984, 1000)),
    Case("sterling whose filed spot reads 899", "STERLING", 40.0,
         (xrf(Ag=905, Cu=95), filed(Ag=899, Cu=101), dense(40.0, 10.3)),
         "under fineness", "melt-assay", (889, 909)),
    Case("18 K stamp on 14 K", "18K", 6.0,
         (GOLD_14, streak(14, "holds", "deep"), streak(18, "gone", "deep"), dense(6.0, 13.1)),
         "under fineness", "melt-assay", (574, 594)),
    Case("clasp of 14 K on a plated chain", "14K", 15.0,
         (xrf(part="clasp", Au=583, Ag=118, Cu=258, Zn=41), xrf(part="chain", Au=41, Ag=1, Cu=670, Zn=288)),
         "mixed parts", "separate-parts", None),
    Case("ring of 14 K, 5 carat of zirconia taken out", "14K", 4.0, (GOLD_14, dense(4.0, 13.19)),
         "consistent solid", "", (574, 594)),
    Case("ring stamped HGE", "18K HGE", 9.0, (xrf(Au=206, Cu=468, Ni=195, Zn=131),),
         "plated", "", (196, 216)),
    Case("worn GP that reads as 18K", "18K", 9.0, (xrf(Au=136, Ag=4, Cu=598, Zn=262),),
         "plated", "filed-xrf", (126, 146)),
    Case("watch case 1/10 10K", "1/10 10K", 25.0, (xrf(Au=418, Ag=108, Cu=406, Zn=68), dense(25.0, 8.76)),
         "gold-filled", "", (408, 428)),
    Case("platinum with cobalt, weakly magnetic", "PLAT", 8.0,
         (xrf(Pt=951, Co=49), dense(8.0, 20.0), {"test": "magnet", "pull": "weak"}),
         "consistent solid", "", (941, 961)),
    Case("platinum stamp on rhodium-plated silver", "PT950", 7.0, (xrf(Ag=896, Cu=62, Rh=42), dense(7.0, 10.4)),
         "counterfeit", "", (0, 10)),
    Case("10 K stamp that reads 372", "10K", 3.0, (xrf(Au=372, Ag=105, Cu=452, Zn=71),),
         "under fineness", "filed-xrf", (362, 382)),
    Case("56 zolotnik", "56", 5.0, (xrf(Au=581, Ag=80, Cu=339), dense(5.0, 13.0)),
         "consistent solid", "", (571, 591)),
    Case("84 zolotnik", "84", 50.0, (xrf(Ag=878, Cu=122), dense(50.0, 10.3)),
         "consistent solid", "", (868, 888)),
    Case("weighted candlestick", "STERLING WEIGHTED", 274.0, (xrf(Ag=925, Cu=75),),
         "weighted or filled", "strip", (915, 935)),
    Case("knife with a silver handle", "STERLING HANDLE", 75.0,
         (xrf(Ag=925, Cu=75), {"test": "magnet", "pull": "strong", "part": "blade"}),
         "mixed parts", "separate-parts", (915, 935)),
    Case("bangle of 22 K with ruthenium", "22K", 20.0, (xrf(Au=917, Ag=40, Cu=31, Ru=12), dense(20.0, 17.9)),
         "suspected adulterant", "melt-assay-icp", (907, 927)),
    Case("deep streak that dissolves at once", "14K", 2.0,
         (GOLD_14, streak(10, "gone", "deep"), streak(14, "gone", "deep")),
         "likely gold-filled", "filed-xrf", (574, 594)),
]  # fmt: skip


def lines() -> Iterator[str]:
    """The mapping and the cases on the axes, for `python -m tests.test_assay_cases`."""
    for judgement, axes in MAPPING.items():
        yield f"{judgement:<22} {', '.join(f'{axis} {wanted}' for axis, wanted in axes.items())}"
    for number, case in enumerate(CASES, 1):
        found = case.assessed()
        axes_found = f"{found.construction}, {found.confidence}; {found.standing}"
        seen = found.seen.words() if found.seen else "-"
        yield f"{number:>2} {case.title:<48} {case.judgement:<22} {axes_found:<46} {seen:<15} {case.next_test or '-'}"


class TestCases:
    """Twenty-eight worked cases come out as reasoned."""

    def test_there_are_twenty_eight_and_every_judgement_is_mapped(self) -> None:
        assert len(CASES) == 28
        assert {case.judgement for case in CASES} == set(MAPPING)

    @pytest.mark.parametrize("case", CASES, ids=[case.title for case in CASES])
    def test_a_case_gets_its_judgement(self, case: Case) -> None:
        assessment = case.assessed()
        for axis, expected in MAPPING[case.judgement].items():
            assert getattr(assessment, axis) == expected, assessment.reasons

    @pytest.mark.parametrize("case", CASES, ids=[case.title for case in CASES])
    def test_a_case_owes_its_next_test(self, case: Case) -> None:
        assert (owed(case.assessed()) or [""])[0] == case.next_test

    @pytest.mark.parametrize("case", CASES, ids=[case.title for case in CASES])
    def test_a_case_leaves_its_interval(self, case: Case) -> None:
        seen = case.assessed().seen
        # The weighted and the mixed article have no one fineness to pay on; what the surface showed is still said.
        assert (None if seen is None else (round(seen.low_ppm / 1000), round(seen.high_ppm / 1000))) == case.between

    def test_the_mapping_and_the_cases_can_be_printed(self) -> None:
        assert len(list(lines())) == len(MAPPING) + len(CASES)

    def test_only_what_is_shown_or_declared_may_be_paid_for(self) -> None:
        for case in CASES:
            assessment = case.assessed()
            if assessment.payable:
                assert assessment.confidence in ("shown", "declared"), case.title

    def test_the_declared_layers_are_worth_their_share_at_most(self) -> None:
        # 1/20 x 14/24 and 1/10 x 10/24: 16 CFR 23.3(c), arithmetic.
        layered = [case.assessed() for case in CASES if case.judgement == "gold-filled"]
        assert [(each.payable.high_ppm, each.upper_bound) for each in layered if each.payable] == [
            (29_166, True),
            (41_666, True),
        ]


if __name__ == "__main__":
    print("\n".join(lines()))
