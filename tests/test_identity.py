"""Ages, names, numbers and kinds of documents."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.errors import InputError
from ledger.identity import ages, kinds, names


class TestAges:
    """A year is complete on the birthday; who was born on a 29 February completes it on 1 March of a common year."""

    @pytest.mark.parametrize(
        ("birth", "day", "age"),
        [
            ("2008-11-25", "2026-11-24", 17),
            ("2008-11-25", "2026-11-25", 18),
            ("2008-02-29", "2026-02-28", 17),
            ("2008-02-29", "2026-03-01", 18),
            ("2008-02-29", "2028-02-29", 20),
            ("2026-11-24", "2026-11-24", 0),
            ("1899-12-31", "2026-01-01", 126),
        ],
    )
    def test_ages_by_the_calendar(self, birth: str, day: str, age: int) -> None:
        assert ages.age_on(date.fromisoformat(birth), date.fromisoformat(day)) == age

    @given(st.dates(min_value=date(1880, 1, 1), max_value=date(2030, 1, 1)), st.integers(0, 130))
    def test_the_next_birthday_adds_exactly_one(self, birth: date, years: int) -> None:
        try:
            birthday = birth.replace(year=birth.year + years)
        except ValueError:
            birthday = date(birth.year + years, 3, 1)
        assert ages.age_on(birth, birthday) == years
        if years:
            assert ages.age_on(birth, date.fromordinal(birthday.toordinal() - 1)) == years - 1

    def test_nobody_is_born_after_the_day_and_the_error_names_no_day(self) -> None:
        with pytest.raises(InputError) as caught:
            ages.age_on(date(2027, 5, 4), date(2026, 1, 1))
        assert "2027" not in str(caught.value)


class TestNames:
    """Case, accents, order of words and punctuation do not count; the script of a name does."""

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("Averill, Jonah", "jonah AVERILL"),
            ("O'Hára", "OHARA"),
            ("O’Hara", "O'Hara"),
            ("José-María Ñíguez", "Jose Maria Niguez"),
            ("Weiß", "WEISS"),
            ("Łukasz Żółć", "lukasz zolc"),
            ("Søren Ærø", "Soren Aero"),
            ("Nguyễn Thị Hằng", "nguyen thi hang"),
            ("Jonah  P. Averill", "Jonah P Averill"),
            ("ＪＯＮＡＨ", "jonah"),
            ("İpek", "ipek"),
        ],
    )
    def test_two_writings_of_one_name(self, one: str, other: str) -> None:
        assert names.folded_name(one) == names.folded_name(other)

    @pytest.mark.parametrize(("one", "other"), [("Jon", "John"), ("Иван", "Ivan"), ("Ann Lee", "Annlee")])
    def test_two_names_stay_two(self, one: str, other: str) -> None:
        assert names.folded_name(one) != names.folded_name(other)

    def test_arabic_marks_and_cyrillic_case_do_not_count(self) -> None:
        assert names.folded_name("مُحَمَّد") == names.folded_name("محمد")
        assert names.folded_name("ИВАН") == names.folded_name("Иван")

    @given(st.text(max_size=60))
    def test_folding_twice_changes_nothing(self, name: str) -> None:
        assert names.folded_name(names.folded_name(name)) == names.folded_name(name)

    def test_the_key_of_a_person_has_the_birth_date(self) -> None:
        born = date(1984, 2, 29)
        assert names.person_key("Averill, Jonah", born) == names.person_key("Jonah Averill", born)
        assert names.person_key("Jonah Averill", born) != names.person_key("Jonah Averill", date(1984, 3, 1))


class TestNumbers:
    """Spaces, hyphens and symbols are dropped; a number of zeros only is refused.

    Source: how owner-applied numbers are entered in national files, as a United States state's terminal manual has it.
    """

    @pytest.mark.parametrize(
        ("written", "key"),
        [("A417-2290-11", "A417229011"), ("a 417 2290/11", "A417229011"), ("٤١٧", "417"), ("Ａ４１７", "A417")],
    )
    def test_letters_and_digits_only(self, written: str, key: str) -> None:
        assert names.number_key(written) == key

    @pytest.mark.parametrize("nothing", ["000-000", "---", "0", "X" * 41])
    def test_a_number_of_nothing_is_refused_without_repeating_it(self, nothing: str) -> None:
        with pytest.raises(InputError) as caught:
            names.number_key(nothing, "number")
        assert nothing not in str(caught.value)

    @pytest.mark.parametrize(
        ("number", "mask"),
        [("D417-2290-11", "••••9011"), ("41722901", "••••2901"), ("417229", "••••"), ("", "••••")],
    )
    def test_four_characters_show_of_a_long_number_and_none_of_a_short_one(self, number: str, mask: str) -> None:
        assert names.masked(number) == mask


class TestKinds:
    """For each kind, whether a government issues it, shows a photograph, describes its holder."""

    def test_the_closed_list_of_a_statute_is_there_and_of_governments(self) -> None:
        # Tenn. Code 38-1-203: state licence, state identity card, passport, military identity card, border-crossing
        # card, immigration document.
        listed = "driver-licence identity-card passport military-id border-crossing-card immigration-document".split()  # noqa: SIM905
        assert all(kinds.kind(name).government and kinds.kind(name).photo for name in listed)

    def test_a_licence_describes_its_holder_and_a_passport_does_not(self) -> None:
        # RCW 19.60.025 asks for two government documents "one of which is descriptive".
        assert kinds.kind("driver-licence").descriptive
        assert not kinds.kind("passport").descriptive

    def test_an_unknown_kind_is_refused_with_the_list(self) -> None:
        with pytest.raises(InputError, match=r"^type: 'library-card' was given; wanted is one of driver-licence, "):
            kinds.kind("library-card")

    def test_every_kind_is_found_under_its_own_name(self) -> None:
        assert all(kind.name == name and kind.says for name, kind in kinds.KINDS.items())
