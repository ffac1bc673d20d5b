"""Worked cases: how they are written, what their keys look at, and what is said where they do not come true."""

import pytest

from ledger.errors import InputError, RuleFileWrong
from ledger.law import cases
from tests.law_samples import file_of, recipient, rule

HOLD = 'length = 10\nunit = "days"\nforbids = ["melt"]\n'

CASES = """format = "cases/0"
[usual]
at = 2026-11-24T10:15:00
[usual.facts]
seller = { age = 30, name = "A" }
slip = { total = { currency = "USD", minor = 100 } }
items = [{ line = 1, article = "ring" }, { line = 2, article = "chain" }]
"""
FILE = file_of(
    recipient("sheriff"),
    rule("hold", "h", HOLD),
    rule("pay", "p", 'instruments = ["cheque"]\nnot_before = { length = 1, unit = "days" }\n'),
    rule("refuse", "age", 'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["reason"]\n'),
    rule(
        "report",
        "r",
        'to = "sheriff"\nper = "purchase"\ntitle = "T"\ndue = { within = 48, unit = "hours" }\n',
    ),
    rule("report", "d", 'to = "sheriff"\nper = "day"\ntitle = "T"\ndue = { same_day = true }\n'),
    rule("retain", "k", 'classes = ["item"]\nat_least = { length = 1, unit = "years" }\n'),
)


def run(case: str, usual: str = CASES) -> tuple[str, ...]:
    text = f'{usual}\n[[case]]\nname = "N"\nsource = "S"\n{case}\n'
    return cases.run(text.encode(), [FILE], "x.cases.toml")


class TestCases:
    """An expectation that does not come true is a sentence with both answers; a key that means nothing is one too."""

    @pytest.mark.parametrize(
        "case",
        [
            "expect = { ring.melt.plain = 2026-12-05, item-2.melt.cautious = 2026-12-05T00:00:00 }",
            'expect = { ring.melt.plain = "2026-12-05T00:00:00-05:00[America/New_York]", ring.sell.plain = "free" }',
            "expect = { report.sheriff.r.due = 2026-11-26T10:15:00, report.sheriff.d.due_plain = 2026-11-25 }",
            'expect = { refused = false, stale = false, duty.age = "met", duty.h.item-2 = "ahead" }',
            'expect = { duty.h.item-3 = "none" }',
            "expect = { pay.cheque = false, pay.not_before = 2026-11-26, pay.not_before_plain = 2026-11-26 }",
            "at = 2026-11-24\nexpect = { retain.item.at_least = 2027-11-25, retain.item.at_most.x = 1 }",
            "facts = { seller = { age = 17 } }\nexpect = { refused = true }",
            'without = ["seller.age"]\nexpect = { duty.age = "undecided" }',
            'without = ["seller.age", "principal.name"]\nexpect = { duty.age = "undecided" }',
            'at = "2026-11-24T10:15:00-05:00[America/New_York]"\nrecorded_at = 2026-11-25\n'
            "expect = { ring.melt.plain = 2026-12-06 }",
            "at = 2019-01-01\nexpect = { no_rule = true }",
            "at = 2031-01-01\nexpect = { stale = true }",
        ],
    )
    def test_what_comes_true_says_nothing(self, case: str) -> None:
        failures = [one for one in run(case) if "at_most.x" not in one]
        assert failures == []

    @pytest.mark.parametrize(
        ("case", "says"),
        [
            (
                "expect = { ring.melt.plain = 2026-12-06 }",
                "ring.melt.plain is 2026-12-05T00:00:00-05:00; expected was 2026-12-06T00:00:00-05:00.",
            ),
            (
                'expect = { ring.melt.plain = "free" }',
                "ring.melt.plain is 2026-12-05T00:00:00-05:00; expected was free.",
            ),
            ("expect = { refused = true }", "refused is false; expected was true."),
            (
                "expect = { watch.melt.plain = 2026-12-06 }",
                "watch.melt.plain: no item is called 'watch'; there is chain, ring.",
            ),
            (
                "expect = { report.sheriff.due = 2026-12-06 }",
                "report.sheriff.due: 2 reports go to sheriff (r, d); name the rule: report.sheriff.RULE.due.",
            ),
            ("expect = { retain.scan.at_least = 2026-12-06 }", "retain.scan.at_least is free; expected was"),
            (
                'without = ["slip.total"]\nexpect = { pay.cash = false }',
                "pay.cash: the case does not state slip.total.",
            ),
            ("expect = { weather = 3 }", "weather: this is not something that can be expected;"),
            (
                "at = 2019-01-01\nexpect = { refused = true }",
                "The rule file of xx-sample says nothing about 2019-01-01",
            ),
            ("expect = { no_rule = true }", "no_rule: this is not something that can be expected"),
            (
                'without = ["seller.agee"]\nexpect = {}',
                "without: 'seller.agee' was given; wanted is the name of a fact.",
            ),
            ("at = 2026-11-24T10:15:00Z\nexpect = {}", "at: datetime.datetime(2026"),
            ("facts = { seller = { age = 'x' } }\nexpect = {}", "facts.seller.age: 'x' was given"),
        ],
    )
    def test_what_does_not_is_said(self, case: str, says: str) -> None:
        (found,) = run(case)
        assert found.startswith(f"x.cases.toml: 'N' (S): {says}"), found

    def test_facts_of_the_usual_block_stay_as_they_are_for_the_next_case(self) -> None:
        more = '\n[[case]]\nname = "M"\nsource = "S"\nexpect = { duty.age = "met" }'
        assert run('without = ["seller.age"]\nexpect = { duty.age = "undecided" }' + more) == ()

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("format = 3", "line 1: 'format' is 3; write \"cases/0\"."),
            ('format = "cases/0"\n[[case]]\nnam = "x"', "line 3: 'nam' is not a key of [[case]]; write 'name'"),
            ("format = ", "line 1: `format =` cannot be read: nothing stands after the sign =; write a value."),
            ("\xff", "line 1: this is not UTF-8 text; save the file as UTF-8."),
        ],
    )
    def test_a_case_file_that_is_wrong_names_its_faults(self, text: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as wrong:
            cases.run(text.encode("latin-1"), [FILE], "x.cases.toml")
        assert any(one.startswith(says) for one in wrong.value.faults), wrong.value.faults

    def test_a_zone_is_needed_and_may_be_the_case_file_s(self) -> None:
        file = file_of(rule("hold", "h", HOLD), zone="")
        text = CASES + '\n[[case]]\nname = "N"\nsource = "S"\nexpect = { ring.melt.plain = 2026-12-05 }\n'
        with pytest.raises(RuleFileWrong, match="no rule file names a time zone"):
            cases.run(text.encode(), [file])
        zoned = text.replace("[usual]", 'zone = "Europe/Vienna"\n[usual]')
        assert cases.run(zoned.encode(), [file]) == ()
        with pytest.raises(InputError):
            cases.run(zoned.replace("Vienna", "Pellwick").encode(), [file])
