"""How far below its mark the law lets an article lie."""

from datetime import date

import pytest

from ledger.assay.tolerances import Made, allowances
from ledger.errors import InputError


class TestMadeRead:
    """What is known of the making, as a document says it."""

    def test_a_year_is_its_first_and_last_day(self) -> None:
        assert Made.read({"country": "US", "from": "1970", "to": "1979"}) == Made(
            "US", date(1970, 1, 1), date(1979, 12, 31)
        )
        assert Made.read({"to": "1981-09-30"}) == Made(None, None, date(1981, 9, 30))
        assert Made.read({}) == Made()

    @pytest.mark.parametrize(
        ("raw", "message"),
        [
            ("1975", "^made: '1975' was given; wanted is an object with country, from and to"),
            ({"year": "1975"}, "^made: "),
            ({"country": "us"}, r"^made\.country: 'us' .* two capital letters"),
            ({"country": "USA"}, r"^made\.country: "),
            ({"country": "ÄÖ"}, r"^made\.country: "),
            ({"country": 1}, r"^made\.country: "),
            ({"from": 1975}, r"^made\.from: 1975 .* a year or a day"),
            ({"from": "75"}, r"^made\.from: "),
            ({"to": "1981-13-01"}, r"^made\.to: "),
            ({"to": "abcd"}, r"^made\.to: "),
            ({"from": "1982", "to": "1981"}, r"^made\.to: '1981' .* not before 1982"),
        ],
    )
    def test_what_cannot_be_read_is_named(self, raw: object, message: str) -> None:
        with pytest.raises(InputError, match=message):
            Made.read(raw)


class TestAllowances:
    """US before and after 1 October 1981; Germany 10; UK and Convention none."""

    def test_a_year_that_straddles_the_change_keeps_both(self) -> None:
        found = allowances("gold", Made.read({"country": "US", "from": "1981", "to": "1981"}))
        assert [(each.ppm, each.solder_ppm) for each in found] == [(3_000, 7_000), (20_833, 41_666)]

    def test_ware_has_its_own_figures_in_germany(self) -> None:
        # Feingehaltsgesetz of 1884: gold ware 5, silver ware 8, jewellery 10 per thousand.
        assert {(each.of, each.ppm) for each in allowances("silver", Made("DE"))} == {
            ("jewellery", 10_000),
            ("ware other than jewellery", 8_000),
        }
        assert min(each.ppm for each in allowances("gold", Made("DE"))) == 5_000

    def test_a_country_without_a_law_here_is_under_that_of_the_place_of_sale(self) -> None:
        assert {each.country for each in allowances("gold", Made("IT"))} == {"US"}
        assert allowances("platinum", Made("US")) == ()

    def test_the_law_of_the_place_of_sale_says_that_it_is_not_that_of_the_making(self) -> None:
        # 15 USC 294 names importers and dealers beside manufacturers: goods from abroad come under it where on sale.
        tsarist = allowances("gold", Made.read({"country": "RU", "from": "1908", "to": "1915"}))
        assert [(each.ppm, "wherever it was made" in each.law) for each in tsarist] == [(20_833, True)]
        american = allowances("gold", Made.read({"country": "US", "from": "1908", "to": "1915"}))
        assert "wherever it was made" not in american[0].law
        older = allowances("gold", Made.read({"country": "RU", "to": "1900"}))
        assert [each.law for each in older] == ["no federal law on marks before 13 June 1907 (15 USC 294)"]

    def test_a_tolerance_says_what_it_is_in_words_and_as_a_record(self) -> None:
        now, old = allowances("gold", Made("US"))[:2]
        assert now.words() == "US, articles made from 1981-10-01: 3 per thousand below, 7 with solder"
        assert (
            old.words() == "US, articles made from 1907-06-13 to 1981-09-30: 20.8 per thousand below, 41.6 with solder"
        )
        assert old.record()["to"] == "1981-09-30"
        case = allowances("gold", Made("DE"))[0]
        assert case.words() == "DE, jewellery: 10 per thousand below, 10 with solder"
        assert case.record() == {
            "law": "Feingehaltsgesetz of 16 July 1884 (Germany)",
            "country": "DE",
            "tolerance_ppm": 10_000,
            "tolerance_solder_ppm": 10_000,
            "of": "jewellery",
        }
        assert allowances("gold", Made("GB"))[0].words() == "GB: nothing below"
