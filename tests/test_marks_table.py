"""The table of marks, row by row, against what law, standards and reference works say of each mark.

Sources by the short names in the rows. Stamping Act: 15 USC 294 to 297, karats as twenty-fourths. FTC: 16 CFR 23
(83 FR 40665, 2018). PS 67-76: NBS product standard for gold filled and rolled gold plate. Hallmarking Act: the Act of
1973 (UK), schedules. German law: Feingehaltsgesetz of 1884. Convention: Hallmarking Convention, Annex I. National
marks: hallmarking.com, silvercollection.it, 830-1000.dk, leimat.fi, tukes.fi and a history of Swedish marks.
Electroplate: silvercollection.it. Stripped ware: two published accounts of weighted silver taken apart. Gold profile: a
United States government paper on gold as quoted in print. Common practice: no published source.
"""

import pytest

from ledger.assay import marks_table
from ledger.assay.marks import read
from ledger.assay.stamps import fold

# marks | metals | per thousand, as the source prints it | construction, or the kind where it is no claim | source
ROWS = """
8K, 8KT, 8CT, K8 | gold | 333.3 | solid | Stamping Act and FTC
9K, 9KT, 9CT, K9 | gold | 375.0 | solid | Stamping Act and FTC
10K, 10KT, 10CT, K10 | gold | 416.7 | solid | Stamping Act and FTC
12K, 12KT, 12CT, K12 | gold | 500.0 | solid | Stamping Act and FTC
14K, 14KT, 14CT, K14 | gold | 583.3 | solid | Stamping Act and FTC
15K, 15KT, 15CT, K15 | gold | 625.0 | solid | Stamping Act and FTC
16K, 16KT, 16CT, K16 | gold | 666.7 | solid | Stamping Act and FTC
18K, 18KT, 18CT, K18 | gold | 750.0 | solid | Stamping Act and FTC
19.2K, 19.2KT, 19.2CT, K19.2 | gold | 800.0 | solid | Stamping Act and FTC
20K, 20KT, 20CT, K20 | gold | 833.3 | solid | Stamping Act and FTC
21K, 21KT, 21CT, K21 | gold | 875.0 | solid | Stamping Act and FTC
22K, 22KT, 22CT, K22 | gold | 916.7 | solid | Stamping Act and FTC
23K, 23KT, 23CT, K23 | gold | 958.3 | solid | Stamping Act and FTC
24K, 24KT, 24CT, K24 | gold | 1000.0 | solid | Stamping Act and FTC
14KP, 18KP, 10KP, KP, PLUMB | gold |  | solid | national marks
333 | gold | 333 | solid | German law
375, 9 | gold | 375 | solid | Hallmarking Act and national marks
416, 417 | gold | 416.7 | solid | common practice
500 | gold | 500 | solid | national marks
575 | gold | 575 | solid | common practice
583 | gold | 583 | solid | national marks
585 | gold | 585 | solid | Hallmarking Act and national marks
625, 15CT | gold | 625 | solid | national marks
750 | gold | 750 | solid | Hallmarking Act and German law
800 | gold | 800 | solid | common practice
833 | gold | 833 | solid | national marks
840 | gold | 840 | solid | national marks
875 | gold | 875 | solid | common practice
900 | gold | 900 | solid | common practice
916 | gold | 916 | solid | Hallmarking Act
917, 22K916 | gold | 916.7 | solid | Hallmarking Act
958 | gold or silver | 958 | solid | national marks
986 | gold | 986 | solid | common practice
990, 995, 999, 999.9, 9999 | gold or silver or platinum |  | solid | Hallmarking Act
1000 | any | 1000 | solid | national marks
36 | gold | 375.0 | solid | national marks
56 | gold | 583.3 | solid | national marks
72 | gold | 750.0 | solid | national marks
92 | gold | 958.3 | solid | national marks
84 | silver | 875.0 | solid | national marks
88 | silver | 916.7 | solid | national marks
91 | silver | 947.9 | solid | national marks
94 | silver | 979.2 | solid | national marks
12 LOT, 12L | silver | 750.0 | solid | national marks
13 LOT, 13L | silver | 812.5 | solid | national marks
14 LOT, 14L | silver | 875.0 | solid | national marks
15 LOT, 15L | silver | 937.5 | solid | national marks
925, .925, STER, STERLING, STG | silver | 925 | solid | FTC
STERLING WEIGHTED, FILLED STERLING | silver | 925 | weighted | stripped ware
WEIGHTED, REINFORCED, CEMENT FILLED, LOADED |  |  | weighted | stripped ware
STERLING HANDLE, STG HANDLE | silver | 925 | weighted | stripped ware
COIN, PURE COIN, DOLLAR, STANDARD | silver | 900 | solid | FTC
999, FINE SILVER | silver | 999 | solid | common practice
BRITANNIA, 958 | silver | 958 | solid | Hallmarking Act
950, Minerva 1 | silver | 950 | solid | national marks
Minerva 2, boar head, crab | silver | 800 | solid | national marks
eagle head | gold | 750 | solid | national marks
owl | gold | 750 | solid | national marks
dog's head | platinum | 950 | solid | national marks
800, 800 crown moon | silver | 800 | solid | German law
830, 830S, 830H | silver | 830 | solid | national marks
813H | silver | 813 | solid | national marks
835 | silver | 835 | solid | national marks
900 | silver | 900 | solid | national marks
934 | silver | 934 | solid | national marks
935 | silver | 935 | solid | national marks
S three crowns | silver | 830 | solid | national marks
PLAT, PLATINUM, PT, PT950, 950PLAT, 950PT | platinum | 950 | solid | FTC
PT900, 900PT | platinum | 900 | solid | FTC
PT850, 850PLAT | platinum | 850 | solid | FTC
IRIDPLAT, IRID PLAT, 10% IRID PLAT, 90% PLAT 10% IRID | platinum | 900 | solid | FTC
600PT350IR, 800PT200PD | platinum |  | solid | FTC
PM | platinum |  | solid | national marks
PD, PALL, PALLADIUM, PD950, 950PD | palladium | 950 | solid | Hallmarking Act
500PD, PD500 | palladium | 500 | solid | Hallmarking Act
TRUE PD900 | palladium | 900 | solid | common practice
GF, G.F., 1/20 14K GF, 1/20 12K GF, 14/20, 12/20, 14K GF | gold |  | layered | FTC and PS 67-76
1/10 10K, 1/10 10K GF, 1/10 12K, 1/8 14K GF | gold |  | layered | PS 67-76
1/20 12K | gold |  | layered | common practice
RGP, R.G.P., ROLLED GOLD, 1/30 10K RGP, 1/40 12K RGP, GOLD OVERLAY, GO | gold |  | layered | FTC
GOLD SHELL, GS, WARRANTED 20 YEARS, GUARANTEED 25 YEARS | gold |  | layered | common practice
DOUBLE, DOUBLÉ, AMERIKANER, WALZGOLD, 20/000, PLAQUE OR | gold |  | layered | national marks
PLAQUE G, P20, GP 20, G 10M, 20 MICRONS | gold |  | layered | national marks
BONDED, BONDED GOLD, 1/10 10K BONDED, 5% BONDED 14K + 925 | gold |  | layered | FTC
HGE, H.G.E., 18K HGE, 14K HGE, HGP | gold |  | plated | FTC
GEP, G.E.P., GE, 14KGE, 24K GE | gold |  | plated | FTC
GP, G.P., KGP, 18KGP, 14KGP, GPL | gold |  | plated | FTC
GOLD WASHED, GOLD FLASHED, FLASH, GOLD TONE, GT | gold |  | plated | gold profile
VERMEIL, 925 VERMEIL | gold |  | plated | FTC
EP, EPNS, E.P.N.S., EPBM, EPC, EPWM, EPSS, EPCA | silver | 0 | plated | electroplate
A1, AI, AA, TRIPLE, QUADRUPLE, QUAD PLATE, STANDARD PLATE, INLAID, XII | silver | 0 | plated | electroplate
90, 100, 84, 90-21, 100-45, 20 MICRONS | silver | 0 | plated | common practice
SHEFFIELD PLATE, OLD SHEFFIELD, SILVER ON COPPER | silver | 0 | layered | electroplate
NICKEL SILVER, GERMAN SILVER, ALPACA, ALPAKA | base | 0 | base | electroplate
ARGENTAN, NEVADA SILVER, BRAZIL SILVER, TIBETAN SILVER, NS | base | 0 | base | electroplate
INOX, STAINLESS, ROSTFREI, 18/8, 18/10 | base | 0 | base | common practice
CZ, DIA, .25, 0.25CT, TW, CTTW |  |  | stone | common practice
HOLLOW, RESIN, ELECTROFORM |  |  | hollow | common practice
14K QXZ, 14K QX | gold | 583.3 | solid | common practice
ITALY, star 12 AL, *123VI |  |  | origin | common practice
lion passant | silver | 925 | solid | Hallmarking Act
anchor, leopard head, rose, castle |  |  | origin | Hallmarking Act
CCM |  |  | origin | Convention
sunburst flag |  |  | origin | national marks
"""
Row = tuple[str, set[str], float | None, str]


def rows() -> list[Row]:
    """Each mark by itself."""
    found: list[Row] = []
    for line in ROWS.strip().splitlines():
        marks, metals, fine, says, _ = (cell.strip() for cell in line.split("|"))
        found += [(mark, set(metals.split(" or ")), float(fine) if fine else None, says) for mark in marks.split(", ")]
    return found


class TestRows:
    """Longest match first; ambiguous marks keep every meaning."""

    @pytest.mark.parametrize(("mark", "metals", "per_thousand", "says"), rows())
    def test_a_mark_has_the_meaning_that_its_source_gives(
        self, mark: str, metals: set[str], per_thousand: float | None, says: str
    ) -> None:
        claims = [claim for claim in read(mark) if says in (claim.construction, claim.kind)]
        if metals <= {"gold", "silver", "platinum", "palladium", "base"}:
            claims = [claim for claim in claims if claim.metal in metals]
            assert {claim.metal for claim in claims} == metals
        assert claims
        if per_thousand is not None:
            # Twenty-fourths and ninety-sixths are printed rounded, ours are cut off at a part per million.
            assert any(abs(int(claim.fineness or 0) / 1000 - per_thousand) < 0.051 for claim in claims)

    def test_a_mark_of_metal_alone_says_what_its_row_says_and_no_more(self) -> None:
        for mark, metals, _, says in rows():
            claims = read(mark)
            if not any(claim.ambiguous for claim in claims) and metals <= {"gold", "silver", "platinum", "palladium"}:
                assert {claim.metal for claim in claims if claim.kind == "metal"} - {"silver"} <= metals, mark
                assert says in {claim.construction for claim in claims}


class TestTable:
    """The table that the reader uses."""

    def test_every_word_and_number_of_the_table_is_read_as_one_stamp(self) -> None:
        for word, meanings in {**marks_table.WORDS, **marks_table.NUMBERS}.items():
            assert fold(word) == word
            read_back = read(word)
            assert {claim.text for claim in read_back} == {word}, word
            assert {claim.fineness for claim in read_back} <= {meaning.ppm for meaning in meanings}, word

    def test_every_meaning_names_its_source(self) -> None:
        for meanings in (*marks_table.WORDS.values(), *marks_table.NUMBERS.values()):
            for meaning in meanings:
                assert meaning.source
                assert meaning.status in {"law", "practice", "memory"}
