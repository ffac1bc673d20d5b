"""The rule files in force as an owner reads them, and what another file would change before it is adopted."""

from datetime import date

import pytest

from ledger.acts import governing
from ledger.errors import RuleFileWrong
from tests import law_samples, shops
from tests.law_samples import recipient, rule
from tests.shops import Shop

TODAY = date(2026, 11, 24)
HELD = 'forbids = ["sell"]\nlength = 10\nunit = "days"\n'


class TestInForce:
    """Jurisdiction, layer, read on, checked until, who compared and when, and 'not checked since' in plain sight."""

    def test_the_widest_layer_stands_first_with_who_compared_it_and_when(self, shop: Shop) -> None:
        found = governing.in_force(shop.book, TODAY)
        assert [one.file.layer for one in found] == ["state", "county", "city"]
        assert {(one.by, one.compared_on) for one in found} == {(shops.OWNER, "2026-11-01")}
        assert [one.entry for one in found] == [3, 4, 5], "after the book's opening, the owner and the shop's facts"

    def test_one_that_nobody_compared_says_so_from_the_day_after(self, shop: Shop) -> None:
        # The demonstration's files say that they were compared until 31 December 2028.
        assert {one.stale for one in governing.in_force(shop.book, date(2028, 12, 31))} == {""}
        stale = [one.stale for one in governing.in_force(shop.book, date(2029, 1, 1))]
        assert all(says.endswith("not checked since 2028-12-31") for says in stale)

    def test_every_rule_of_a_file_is_told_with_its_section_and_what_it_says(self, shop: Shop) -> None:
        for one in governing.in_force(shop.book, TODAY):
            assert len(one.rules) == len(one.file.rules)
            assert all(told.cite and told.says for told in one.rules)
        town = governing.in_force(shop.book, TODAY)[-1]
        assert any("length" in dict(told.terms) or "fields" in dict(told.terms) for told in town.rules)

    def test_rules_that_no_longer_apply_stand_last(self) -> None:
        old = rule("hold", "old", HELD + "from = 2020-01-01\nuntil = 2021-01-01\n")
        file = law_samples.file_of(old, rule("hold", "new", HELD))
        assert [(told.id, told.in_force) for told in governing.told(file, TODAY)] == [("new", True), ("old", False)]

    def test_a_book_without_rules_has_none(self, bare_shop: Shop) -> None:
        assert governing.in_force(bare_shop.book, TODAY) == []


class TestDifference:
    """What a file would change, told before anybody adopts it."""

    def test_the_same_file_changes_nothing(self, shop: Shop) -> None:
        found = governing.difference(shop.book, shops.rule_files()[2].read_bytes(), "town.toml")
        assert found.before is not None
        assert (found.changes, found.apart) == ((), ())

    def test_a_changed_one_says_what_was_and_what_becomes(self, shop: Shop) -> None:
        data = shops.rule_files()[2].read_bytes().replace(b"checked_until = 2028-12-31", b"checked_until = 2029-06-30")
        (says,) = governing.difference(shop.book, data, "town.toml").changes
        assert "2028-12-31" in says
        assert "2029-06-30" in says

    def test_the_first_of_its_jurisdiction_has_none_before_it(self, bare_shop: Shop) -> None:
        found = governing.difference(bare_shop.book, shops.rule_files()[0].read_bytes(), "state.toml")
        assert found.before is None
        assert found.changes == ()

    def test_one_that_does_not_fit_the_others_says_why(self, shop: Shop) -> None:
        # Two files that speak of one recipient call it by one name.
        town = shops.rule_files()[2].read_bytes().decode()
        data = (town + recipient("county-sheriff").replace("The ", "Another ")).encode()
        assert governing.difference(shop.book, data, "town.toml").apart

    def test_a_file_with_faults_is_refused_with_all_of_them(self, shop: Shop) -> None:
        with pytest.raises(RuleFileWrong):
            governing.difference(shop.book, b"nonsense = ", "town.toml")
