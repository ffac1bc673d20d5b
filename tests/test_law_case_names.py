"""A worked case that writes a name which nobody knows.

Checked against the names that the rule file of the case declares; there is no source outside the project.
"""

from collections.abc import Mapping
from typing import Any

import pytest

from ledger.law import cases
from ledger.law.case_names import wrong_events, wrong_facts
from ledger.law.expecting import vocabulary
from tests.law_samples import file_of, recipient, rule

HOLD = 'length = 10\nunit = "days"\nforbids = ["sell"]\n'
FILE = file_of(
    recipient("police"),
    '\n[[event]]\nid = "shown"\nabout = "slip"\nsays = "It was shown."\n',
    '\n[[question]]\nid = "art-bar"\nabout = "item"\ntype = "flag"\nasks = "Is it art?"\nwho = "clerk"\n',
    rule("hold", "h", HOLD + 'start = "report-received:police"\n'),
    rule("report", "r", 'to = "police"\nper = "purchase"\ntitle = "T"\ndue = { within = 1, unit = "days" }\n'),
    rule("task", "t", 'what = "Do."\nabout = "item"\ndue = { next = "day" }\n'),
)
USUAL = """\
format = "cases/0"
[usual]
at = 2026-11-24T10:15:00
[usual.facts]
items = [{ line = 1, article = "ring" }, { line = 2, article = "chain" }]
"""


def run(case: str) -> tuple[str, ...]:
    return cases.run(f'{USUAL}\n[[case]]\nname = "N"\nsource = "S"\n{case}\n'.encode(), [FILE], "x.cases.toml")


class TestNames:
    """A fact or an event that no file knows is a fault here too: a misspelt one would be as good as not told."""

    @pytest.mark.parametrize(
        ("facts", "given", "near"),
        [
            ({"seller": {"hiar": "brown"}}, "seller.hiar", "seller.hair"),
            ({"co_sellers": [{"nam": "B."}]}, "seller.nam", "seller.name"),
            ({"items": [{"line": 1, "article": "ring", "metall": "gold"}]}, "item.metall", "item.metal"),
            ({"items": [{"answers": {"art-baar": True}}]}, "item.answers.art-baar", "item.answers.art-bar"),
            ({"slip": {"answers": {"plate": "local"}}}, "slip.answers.plate", ""),
            ({"sellr": {"name": "A."}}, "sellr", "seller"),
            ({"item": "ring"}, "", ""),
        ],
    )
    def test_a_fact_that_nobody_knows_is_named(self, facts: Mapping[str, Any], given: str, near: str) -> None:
        found = list(wrong_facts(facts, vocabulary([FILE])))
        assert [name for name, _ in found] == ([given] if given else [])
        assert all((f"such as '{near}'" in wanted) is bool(near) for _, wanted in found)

    def test_what_can_be_told_is_no_fault(self) -> None:
        told = {
            "shop": {"calendar": {}, "licences": ["x"], "answers": {}},
            "seller": {"name": "A.", "documents": [], "address": {"text": "1 Ferry Row"}},
            "items": [{"line": 1, "fineness_ppm": 585000, "answers": {"art-bar": False}}],
            "past": [{"same_seller": True}],
        }
        assert list(wrong_facts(told, vocabulary([FILE]))) == []

    @pytest.mark.parametrize(
        ("event", "near"),
        [
            ("report-recieved:police", "report-received:police"),
            ("report-received:polize", "report-received:police"),
            ("event:shwon", "event:shown"),
            ("recipt", "receipt"),
        ],
    )
    def test_an_event_that_nobody_waits_for_is_named(self, event: str, near: str) -> None:
        assert list(wrong_events([event], [FILE])) == [(event, f"the name of an event, such as '{near}'")]

    @pytest.mark.parametrize("event", ["receipt", "report-made:police", "event:shown", "due:r", "end:xx-sample/h"])
    def test_an_event_of_the_files_is_no_fault(self, event: str) -> None:
        assert list(wrong_events([event], [FILE])) == []

    def test_a_case_with_a_misspelt_fact_fails_although_its_answer_is_right(self) -> None:
        case = "facts = { seller = { hiar = 'brown' } }\nexpect = { ring.sell.plain = 'waits' }"
        (says,) = run(case)
        assert says == (
            "x.cases.toml: 'N' (S): facts: 'seller.hiar' was given; wanted is the name of a fact,"
            " such as 'seller.hair'."
        )

    def test_so_does_one_with_a_misspelt_event(self) -> None:
        (says,) = run("events = { 'report-recieved:police' = 2026-11-25 }\nexpect = { ring.sell.plain = 'waits' }")
        assert says.endswith("wanted is the name of an event, such as 'report-received:police'.")


class TestTaskOfAnArticle:
    """task.RULE.ARTICLE.due where it is to be done for each article."""

    def test_it_is_asked_by_the_article_s_name_or_number(self) -> None:
        assert (
            run("expect = { task.t.ring.due = 2026-11-26, task.t.item-2.due = 2026-11-26, task.t.chain = 'owed' }")
            == ()
        )

    def test_an_article_that_is_not_there_is_said(self) -> None:
        (says,) = run("expect = { task.t.rnig = 'owed' }")
        assert says.endswith("task.t.rnig: no item is called 'rnig'; there is chain, ring.")
