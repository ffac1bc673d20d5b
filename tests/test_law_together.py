"""Rule files that govern one shop together: what they must agree on, and what can never stand together."""

import pytest

from ledger.law import files
from ledger.law.rules import RuleFile
from ledger.law.together import check_together, shops
from tests.law_samples import recipient, rule, text_of

REPORT = 'to = "sheriff"\nper = "day"\ntitle = "Form"\ndue = { next = "day" }\n'
HOLD = 'length = 10\nunit = "days"\nforbids = ["sell"]\n'
YEARS = 'classes = ["item"]\nat_least = {{ length = {}, unit = "years" }}\n'
MOST = 'classes = ["item", "scan"]\nat_most = {{ length = {}, unit = "{}" }}\n'
QUESTION = '\n[[question]]\nid = "q"\nabout = "item"\ntype = "flag"\nasks = "Is it?"\nwho = "clerk"\n'
EVENT = '\n[[event]]\nid = "e"\nabout = "item"\nsays = "It happened."\n'
PERMISSION = '\n[[permission]]\nid = "p"\nabout = "shop"\nsays = "It may be."\n'


def file_at(jurisdiction: str, *tables: str, layer: str = "county") -> RuleFile:
    data = text_of(*tables, jurisdiction=f'"{jurisdiction}"', layer=f'"{layer}"')
    return files.read(data, f"{jurisdiction}.toml")


def state(*tables: str) -> RuleFile:
    return file_at("xx", *tables, layer="state")


def county(*tables: str) -> RuleFile:
    return file_at("xx-county", *tables)


class TestNames:
    """Files that name the same thing mean the same, and what a rule names is there."""

    @pytest.mark.parametrize(
        ("first", "second", "says"),
        [
            (
                recipient("sheriff"),
                recipient("sheriff").replace("The", "A"),
                "xx-county.toml calls the recipient 'sheriff' 'A sheriff' and xx.toml calls it 'The sheriff';"
                " use one name, or another id.",
            ),
            (
                QUESTION,
                QUESTION.replace("flag", "whole"),
                "xx-county.toml and xx.toml declare the question 'q' with another 'type'; write both alike, or use"
                " another id.",
            ),
            (
                EVENT,
                EVENT.replace("item", "shop"),
                "xx-county.toml and xx.toml declare the event 'e' with another 'about'; write both alike, or use"
                " another id.",
            ),
            (
                PERMISSION,
                PERMISSION.replace("shop", "item"),
                "xx-county.toml and xx.toml declare the permission 'p' with another 'about'; write both alike, or use"
                " another id.",
            ),
            (
                rule("hold", "a", HOLD),
                rule("hold", "b", HOLD + 'displaces = [{ rule = "xx/c", by = "Act 1" }]\n'),
                "xx-county.toml: 'displaces' of the rule 'b' names 'xx/c', and there is no such rule; correct the name"
                " or remove it.",
            ),
            (
                rule("hold", "a", HOLD),
                rule("hold", "b", HOLD + 'yields_to = [{ rule = "xx/c", by = "Act 1" }]\n'),
                "xx-county.toml: 'yields_to' of the rule 'b' names 'xx/c', and there is no such rule; correct the name"
                " or remove it.",
            ),
            (
                rule("hold", "a", HOLD),
                rule("hold", "b", HOLD + 'start = "end:xx/c"\n'),
                "xx-county.toml: the rule 'b' runs from 'end:xx/c', and there is no such rule; correct the name.",
            ),
            (
                "",
                rule("hold", "b", HOLD + 'readings = [{ reason = "So.", start = "report-sent:police" }]\n'),
                "xx-county.toml: the rule 'b' runs from a report to 'police', and no file has a report to it; add that"
                " report or correct the id.",
            ),
        ],
    )
    def test_what_does_not_fit_is_said(self, first: str, second: str, says: str) -> None:
        assert check_together([state(first), county(second)]) == (says,)

    def test_what_fits_says_nothing(self) -> None:
        shared = recipient("sheriff") + QUESTION + EVENT + PERMISSION
        one = state(shared, rule("report", "r", REPORT), rule("hold", "a", HOLD))
        other = county(
            shared,
            rule("hold", "b", HOLD + 'start = { later_of = ["report-received:sheriff", "end:xx/a"] }\n'),
            rule("hold", "c", HOLD + 'displaces = ["b", { rule = "xx/a", by = "Act 1" }]\n'),
            rule("hold", "d", HOLD + 'yields_to = [{ rule = "yy/a", by = "Act 1" }]\nstart = "report-sent:any"\n'),
        )
        assert check_together([one, other]) == ()


class TestContradictions:
    """Rules that apply to every purchase and can never stand together name both."""

    @pytest.mark.parametrize(
        ("first", "second", "says"),
        [
            (
                rule("pay", "a", 'instruments = ["cash"]\n'),
                rule("pay", "b", 'instruments = ["cheque"]\n'),
                "xx/a and xx-county/b leave no way to pay: nothing stands in both 'instruments'; correct one of them.",
            ),
            (
                rule("pay", "a", 'payee = ["seller"]\n'),
                rule("pay", "b", 'payee = ["principal"]\n'),
                "xx/a and xx-county/b leave no payee: nothing stands in both 'payee'; correct one of them.",
            ),
            (
                rule("pay", "a", 'not_before = { length = 10, unit = "days" }\n'),
                rule("pay", "b", 'not_after = { length = 48, unit = "hours" }\n'),
                "xx/a lets nobody be paid before xx-county/b wants it done; correct one of them.",
            ),
            (
                rule("retain", "a", YEARS.format(3)),
                rule("retain", "b", MOST.format(24, "months")),
                "xx/a keeps item longer than xx-county/b lets it be kept; correct one of them.",
            ),
            (
                rule("retain", "a", MOST.format(90, "days")),
                rule("retain", "b", YEARS.format(1) + 'place = "premises"\n'),
                "xx-county/b keeps item longer than xx/a lets it be kept; correct one of them.",
            ),
            (
                rule("limit", "a", 'must_not = "ask"\nfacts = ["seller.race"]\n'),
                rule("ask", "b", 'fields = [{ fact = "seller.race", label = "Race" }]\n'),
                "xx-county/b must have seller.race and xx/a must not ask it; correct one of them.",
            ),
        ],
    )
    def test_both_rules_are_named(self, first: str, second: str, says: str) -> None:
        assert check_together([state(first), county(second)]) == (says,)

    @pytest.mark.parametrize(
        ("first", "second"),
        [
            (rule("pay", "a", 'instruments = ["cash"]\n'), rule("pay", "b", 'instruments = ["cheque", "cash"]\n')),
            (
                rule("pay", "a", 'instruments = ["cash"]\nwhen = [{ fact = "slip.channel", is = "kiosk" }]\n'),
                rule("pay", "b", 'instruments = ["cheque"]\n'),
            ),
            (
                rule("pay", "a", 'from = 2020-01-01\nuntil = 2025-12-31\ninstruments = ["cash"]\n'),
                rule("pay", "b", 'from = 2026-01-01\ninstruments = ["cheque"]\n'),
            ),
            (
                rule("pay", "a", 'instruments = ["cash"]\n'),
                rule("pay", "b", 'instruments = ["cheque"]\ndisplaces = [{ rule = "xx/a", by = "Act 1" }]\n'),
            ),
            (
                rule("pay", "a", 'instruments = ["cash"]\n'),
                rule("pay", "b", 'instruments = ["cheque"]\n')
                + rule("exempt", "c", 'when = [{ fact = "seller.kind", is = "dealer" }]\n'),
            ),
            (rule("retain", "a", YEARS.format(1)), rule("retain", "b", MOST.format(13, "months"))),
            (
                rule("retain", "a", YEARS.format(3)),
                rule("retain", "b", MOST.format(1, "years") + 'place = "premises"\n'),
            ),
            (
                rule("retain", "a", YEARS.format(3)),
                rule("retain", "b", MOST.format(1, "years") + 'start = "last-entry"\n'),
            ),
            (
                rule("limit", "a", 'must_not = "show"\nfacts = ["seller.race"]\n'),
                rule("ask", "b", 'fields = [{ fact = "seller.race", label = "Race" }]\n'),
            ),
            (
                rule("limit", "a", 'must_not = "ask"\nfacts = ["seller.race"]\n'),
                rule("ask", "b", 'fields = [{ fact = "seller.race", label = "Race", need = "if-known" }]\n'),
            ),
            (
                rule("pay", "a", 'not_before = { length = 2, unit = "days" }\n'),
                rule("pay", "b", 'not_after = { length = 48, unit = "hours", start = "contract" }\n'),
            ),
            (rule("hold", "a", HOLD), rule("retain", "b", MOST.format(1, "days"))),
        ],
    )
    def test_what_may_stand_together_is_let_stand(self, first: str, second: str) -> None:
        assert check_together([state(first), county(second)]) == ()

    def test_two_rules_of_one_file_are_compared_too(self) -> None:
        both = rule("pay", "a", 'instruments = ["cash"]\n'), rule("pay", "b", 'instruments = ["cheque"]\n')
        assert len(check_together([state(*both)])) == 1


class TestShops:
    """Files of different shops are not held against each other."""

    def test_one_layer_of_each_kind_is_one_shop(self) -> None:
        two = [state(), file_at("yy-town", layer="city")]
        assert shops(two) == [two]
        assert shops([]) == []

    def test_a_file_goes_with_those_that_its_jurisdiction_begins_with(self) -> None:
        one, other = state(), file_at("yy", layer="state")
        town, second, nation = file_at("xx-a"), file_at("xx-b"), file_at("zz", layer="nation")
        found = [[file.jurisdiction for file in group] for group in shops([one, other, town, second, nation])]
        assert found == [["yy", "zz"], ["xx", "xx-a", "zz"], ["xx", "xx-b", "zz"]]

    def test_two_versions_of_one_file_are_not_of_one_shop(self) -> None:
        assert [len(group) for group in shops([state(), state(rule("hold", "a", HOLD))])] == [1, 1]
