"""Search words: marks, dates, initials and numbers with their units kept whole; one rule for items and questions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.slip.searching import query_tokens, tokens
from tests.slip_samples import slip


class TestWords:
    """The same thing written in two ways gives the same words."""

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("J & M 2011", "J+M 2011"),
            ("J.T.M.", "JTM"),
            ("j. t. m.", "JTM"),
            ("6-12-58", "6.12.58"),
            ("6.12.58", "12/6/1958"),  # the order of day and month is not known: both stand
            ("1958-06-12", "1958/6/12"),
            ("14 Kt", "14K"),
            ("14 karat", "14k"),
            ("18 carat", "18K"),
            ('24"', "24 inches"),
            ("45,7cm", "45.70 cm"),
            ("4.20 g", "4.2 grams"),
            ("2 tolas", "2tola"),
            ("½", "1/2"),
            ("Crème brûlée", "creme brulee"),
            ("mom's", "moms"),
            ("Ⅷ", "viii"),
            ("Søren", "soren"),
        ],
    )
    def test_two_ways_of_writing(self, one: str, other: str) -> None:
        assert set(query_tokens(one)) == set(query_tokens(other))

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("18 in", "18 K"),  # 18 inches and 18 karat
            ("18K 14 in", "14K 18 in"),
            ("1.01 ct", "1.01 K"),
            ("5/6/99", "5/7/99"),
            ("4107", "4701"),
        ],
    )
    def test_two_things(self, one: str, other: str) -> None:
        assert set(query_tokens(one)) != set(query_tokens(other))

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("1/20 12K GF", ("1/20", "12k", "gf")),
            ("18KWG 750 585au", ("18kwg", "750", "585au")),
            ("5 x 3 mm red", ("5", "x", "3mm", "red")),
            ("US $5 Lib 1906-D", ("us", "5", "lib", "1906", "d")),
            ("00/00/00", ("00/00/00",)),
            ("31.2.2010", ("31.2.2010",)),
            ("31.1.2010", ("d20100131",)),
            ("1.1.29", ("d20290101",)),
            ("a b a", ("a", "b")),
            ("戒指 18K", ("戒指", "18k")),
            ("__ ... ' \"", ()),
            ("", ()),
        ],
    )
    def test_the_words_of_a_text(self, text: str, words: tuple[str, ...]) -> None:
        assert query_tokens(text) == words

    @given(st.text(max_size=80))
    def test_no_word_has_a_space_and_none_stands_twice(self, text: str) -> None:
        words = query_tokens(text)
        assert all(word and not any(c.isspace() for c in word) for word in words)
        assert len(set(words)) == len(words)

    @given(st.text(st.characters(categories=("L", "N", "P", "Z")), max_size=60))
    def test_case_does_not_count_twice_over(self, text: str) -> None:
        assert query_tokens(text.casefold()) == query_tokens(text.casefold().casefold())


class TestItems:
    """An item is found by everything said of it, and by nothing of the seller."""

    @pytest.mark.parametrize(
        "question",
        ["plain ring", "14K band", "R fr A 6-12-58", "4.2 g ring", "yellow 4mm", "ring 9.5", "scratched"],
    )
    def test_every_word_of_a_question_is_among_the_words_of_the_ring(self, question: str) -> None:
        assert set(query_tokens(question)) <= set(tokens(slip().items[0]))

    @pytest.mark.parametrize(
        "question", ["heart locket 1/20 12K GF", "photograph of a boy", "garnet 1.5 mm", "4.05 dwt"]
    )
    def test_the_locket_too(self, question: str) -> None:
        assert set(query_tokens(question)) <= set(tokens(slip().items[1]))

    def test_nothing_of_the_seller_is_a_word(self) -> None:
        read = slip(("items.0.seller_says", "platinum, Jonah had it from an Averill"))
        found = {word for item in read.items for word in tokens(item)}
        assert not found & {"platinum", "jonah", "averill", "quarry", "lane", "a417", "555", "grandfather"}

    def test_a_serial_is_found_as_engraved_and_without_its_hyphens(self) -> None:
        serials = [{"text": "C-417 22", "of": "works"}, {"text": {"not_known": "filed off"}, "of": "case"}]
        found = tokens(slip(("items.0.serials", serials)).items[0])
        assert {"c", "417", "22", "c41722"} <= set(found)

    def test_the_weight_of_stones_is_in_carats(self) -> None:
        stones = [{"count": 1, "carats": "1.010"}]
        assert "1.01ct" in tokens(slip(("items.0.stones", stones)).items[0])
