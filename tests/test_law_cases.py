"""Worked cases: how they are written, what their keys look at, and what is said where they do not come true."""

from pathlib import Path
from random import Random

import pytest

from ledger.errors import InputError, LedgerError, RuleFileWrong
from ledger.law import cases, files
from tests.law_samples import file_of, recipient, rule
from tests.test_law_mutations import WAYS

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


MORE = file_of(
    recipient("sheriff"),
    recipient("police"),
    '\n[[event]]\nid = "shown"\nabout = "slip"\nsays = "It was shown."\n',
    rule("hold", "h", HOLD.replace('["melt"]', '["melt", "move"]') + 'keep_in = "county"\n'),
    rule("hold", "w", HOLD + 'start = "event:shown"\n'),
    rule("order", "o", 'length = 5\nunit = "days"\n'),
    rule("order", "c", "open_ended = true\n"),
    rule("form", "f", 'title = "T"\ncopies = [{ for = "police" }, { for = "seller" }]\n'),
    rule(
        "report",
        "r",
        'to = "sheriff"\nper = "purchase"\ntitle = "T"\ncopies = 3\ndue = { within = 48, unit = "hours" }\n',
    ),
    rule("refuse", "age", 'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["reason", "date"]\n'),
    rule("exempt", "e", 'when = [{ fact = "item.article", is = "chain" }]\nrules = ["h"]\n'),
    rule("limit", "l", 'must_not = "ask"\nfacts = ["seller.race"]\n'),
    rule("ask", "a", 'fields = [{ fact = "seller.name", label = "N", need = "if-known" }]\n'),
    rule("pay", "p", 'instruments = ["cash"]\nnot_before = { length = 1, unit = "days", start = "event:shown" }\n'),
    rule("pay", "q", 'instruments = ["cash"]\npayee = ["seller"]\nnot_after = { length = 9, unit = "days" }\n'),
    rule("retain", "k", 'classes = ["item"]\nat_least = { length = 1, unit = "years" }\nstart = "event:shown"\n'),
    rule("retain", "m", 'classes = ["item"]\nat_most = { length = 2, unit = "years" }\nplace = "premises"\n'),
    rule("task", "t", 'what = "Do."\nabout = "item"\nbefore_end = { of = "w", length = 1, unit = "days" }\n'),
    rule("task", "s", 'what = "Do."\nabout = "shop"\ndue = { within = 2, unit = "days", start = "event:shown" }\n'),
    rule("task", "n", 'what = "Do."\nwhen = [{ fact = "seller.age", below = 3 }]\ndue = { next = "day" }\n'),
    rule("hold", "x", HOLD + 'displaces = ["y"]\n'),
    rule("hold", "y", HOLD),
)
SHOWN = 'events = { "event:shown" = 2026-11-30T12:00:00 }\n'
ORDERED = 'order = { rule = "o", notified = 2026-12-01T10:00:00, item = "ring" }\n'


def more(case: str) -> tuple[str, ...]:
    text = f'{CASES}\n[[case]]\nname = "N"\nsource = "S"\n{case}\n'
    return cases.run(text.encode(), [MORE], "x.cases.toml")


class TestKeys:
    """Each key of `expect` reads what it says; one that reads a thing that is not there says so."""

    @pytest.mark.parametrize(
        "case",
        [
            'expect = { ring.melt.w.plain = "waits", ring.melt.h.plain = 2026-12-05, chain.melt.h.plain = "free" }',
            SHOWN + "expect = { ring.melt.w.plain = 2026-12-11, ring.melt.h.earliest = 2026-12-05 }",
            'expect = { ring.move.to.municipality.plain = "free", ring.move.to.state.plain = 2026-12-05 }',
            "expect = { covered.ring = true, exempt.e = true, displaced.y = true, displaced.x = false, reports = 1 }",
            "expect = { copies.f = 2, copies.r = 3, contradictions = 0, must_not.ask.seller.race = true }",
            'expect = { asks.seller.name = "if-known", asks.seller.sex = "none", must_not.keep.seller.race = false }',
            'facts = { seller = { age = 17 } }\nexpect = { may_record = ["date", "reason"], refused = true }',
            'expect = { report.sheriff = "owed", report.police = "none" }',
            'expect = { report.sheriff.r = "owed" }',
            "now = 2026-11-26T10:16:00\nexpect = { report.sheriff.late = true }",
            "expect = { report.sheriff.late = false }",
            'expect = { task.n = "none", task.t.due = "waits", task.s.due = "waits" }',
            'expect = { task.n.due = "none" }',
            'expect = { task.t = "owed" }',
            SHOWN + "expect = { task.t.item-1.due = 2026-12-10, task.s.due_plain = 2026-12-03 }",
            'expect = { pay.not_before = "waits", pay.not_after = 2026-12-04, pay.payee.principal = false }',
            SHOWN + "expect = { pay.not_before = 2026-12-02, pay.delivery.electronic = true, pay.cash = false }",
            SHOWN + "now = 2026-12-02T00:00:00\nexpect = { pay.cash = true, pay.cheque = false }",
            'expect = { retain.item.at_least = "waits", retain.money.at_most = "free" }',
            "expect = { retain.item.premises.at_most = 2028-11-25 }",
            SHOWN + "expect = { retain.item.anywhere.at_least_plain = 2027-12-01, retain.item.at_most = 2028-11-25 }",
            ORDERED
            + 'expect = { order.ends.plain = 2026-12-07, order.o.ends.cautious = 2026-12-07, order.lapses = "none" }',
            ORDERED + 'expect = { order.notice_due = "none" }',
            'order = [{ rule = "o", notified = 2026-12-01 }, { rule = "c", notified = 2026-12-01 }]\n'
            'expect = { order.c.ends.plain = "open", order.o.ends.plain = 2026-12-07 }',
            ORDERED + 'act = { kind = "use", item = "chain", at = 2026-12-02 }\nexpect = { act = "allowed" }',
            ORDERED + 'act = { kind = "use", item = "ring", at = 2026-12-02 }\nexpect = { act = "forbidden" }',
            'act = { kind = "melt", at = 2026-12-02 }\nexpect = { act = "forbidden" }',
        ],
    )
    def test_it_reads_what_it_says(self, case: str) -> None:
        assert more(case) == ()

    @pytest.mark.parametrize(
        ("case", "says"),
        [
            ('expect = { duty.z = "met" }', "duty.z: no rule is called 'z'; there is a, age, c, e, f, h, k, l"),
            ('expect = { may_record = ["date"] }', "may_record: nothing is refused here, so nothing is recorded of a"),
            ('expect = { act = "allowed" }', "act: the case names no act; write act = { kind = ..., at = ... }."),
            ("expect = { copies.h = 1 }", "copies.h: 'h' makes no form and no report here."),
            ('expect = { report.sherif = "owed" }', "report.sherif: no recipient is called 'sherif'; there is police,"),
            ("expect = { report.police.due = 2026-12-01 }", "report.police.due: no such report goes to police here."),
            (
                "expect = { asks.seller.nam = 3 }",
                "asks.seller.nam: no fact is called 'seller.nam'; there is act.",
            ),
            (
                'expect = { order.ends.plain = "open" }',
                "order.ends.plain: no single order of the case is called ''; there",
            ),
            (
                ORDERED + "expect = { order.end = 3 }",
                "order.end: no single order of the case is called 'end'; there is o.",
            ),
            (
                ORDERED + "expect = { order.o.end = 3 }",
                "order.o.end: no answer of an order is called 'end'; there is ends.",
            ),
            (
                'order = { rule = "h", notified = 2026-12-01 }\nexpect = {}',
                "order.rule: 'h' was given; wanted is an order",
            ),
            (
                "expect = { retain.gold.at_least = 1 }",
                "retain.gold.at_least: no class is called 'gold'; there is case,",
            ),
            ("expect = { pay.gold = true }", "pay.gold: no way of paying is called 'gold'; there is card, cash,"),
            ("expect = { sells.ring = 1 }", "sells.ring: this is not something that can be expected; is 'sell' meant?"),
            ("expect = { zzz = 1 }", "zzz: this is not something that can be expected; the reference lists the keys."),
        ],
    )
    def test_what_is_not_there_is_said(self, case: str, says: str) -> None:
        (found,) = more(case)
        assert found.removeprefix("x.cases.toml: 'N' (S): ").startswith(says), found

    def test_an_illustration_asserts_nothing_and_shows_what_comes_out(self) -> None:
        case = 'illustration = "From memory."\nshows = ["ring.melt.w.plain", "zzz"]'
        text = f'{CASES}\n[[case]]\nname = "N"\nsource = "S"\n{case}\n'
        ran = cases.work(text.encode(), [MORE], "x")
        assert (ran.failures, ran.asserted) == ((), 0)
        assert ran.shown == (
            "x: 'N' (S): illustration, From memory: ring.melt.w.plain is waits.",
            "x: 'N' (S): illustration, From memory: zzz: this is not something that can be expected; the reference"
            " lists the keys.",
        )

    @pytest.mark.parametrize(
        ("case", "says"),
        [
            ('expect = {}\nshows = ["refused"]', "'shows' goes with 'illustration'; a case that expects something"),
            ("", "[[case]] needs one of 'expect', 'illustration'."),
            (
                'expect = {}\nact = { kind = "sell", at = 2026-12-01, tp = "x" }',
                "'tp' is not a key of act; remove it, or write one of kind, to",
            ),
            ("expect = 3", "'expect' is 3; write a table of answers."),
            ("expect = {}\nfacts = 3", "'facts' is 3; write a table of facts."),
            (
                'expect = {}\norder = { rule = "o" }',
                "order needs 'notified': a day, a local date and time, or text with",
            ),
        ],
    )
    def test_a_case_at_fault_is_told_with_its_line(self, case: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as wrong:
            more(case)
        assert wrong.value.spots[0].says.startswith(says), wrong.value.faults
        assert wrong.value.spots[0].line >= 7


def test_a_spoiled_case_file_is_never_a_traceback() -> None:
    demo = Path(__file__).parent.parent / "sample_config" / "rules" / "demo"
    town = files.read((demo / "town.toml").read_bytes())
    text = (demo / "town.cases.toml").read_text(encoding="utf-8")
    random = Random(3)
    for _ in range(40):
        spoiled = random.choice(WAYS)(text, random)
        try:
            ran = cases.work(spoiled.encode("utf-8", "surrogateescape"), [town], "x")
        except LedgerError:
            continue
        assert all(one.startswith("x: '") for one in ran.failures)
