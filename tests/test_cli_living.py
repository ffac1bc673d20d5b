"""Commands on what lives on after a purchase: orders, tasks, permissions, reports on request, acts on a condition."""

from datetime import timedelta
from pathlib import Path

import pytest

from tests.law_samples import recipient, rule, text_of
from tests.paper_tools import text_of as words_of
from tests.test_acts_tasks import event, permission, task
from tests.till import FACTS, MOMENT, Till

RULES = text_of(
    recipient("desk"),
    event("tagged", "item"),
    permission("vault", "shop"),
    '\n[[question]]\nid = "heirloom"\nabout = "item"\ntype = "flag"\nasks = "Is it an heirloom?"\nwho = "seller"\n',
    task("tag", "item", '{ within = 24, unit = "hours" }', "tagged"),
    rule(
        "hold",
        "kept",
        'length = 20\nunit = "days"\nforbids = ["return", "move"]\nkeep_in = "premises"\nallows = ['
        '{ act = "return", when = [{ fact = "act.identity_checked", is = true }] },'
        '{ act = "move", to = "secure-storage", permission = "vault", says = "With leave" }]\n'
        'shorter = [{ when = [{ fact = "item.answers.heirloom", is = true }], length = 2, unit = "days", says = "S" }]',
    ),
    rule("ask", "own", 'fields = [{ fact = "item.answers.heirloom", label = "Heirloom" }]'),
    rule(
        "order",
        "police-hold",
        'forms = ["written", "spoken"]\nlength = 60\nunit = "days"\nstart = "order-notice"\nadds = "alongside"\n'
        'asks_for = ["the case number", "the officer\'s name"]\n'
        'lapse = { unless = "written", within = { length = 3, unit = "days" } }\n'
        'renewal = { length = 60, unit = "days" }\n'
        'notice = { before = { length = 20, unit = "days" }, silence = { length = 60, unit = "days" } }\n',
    ),
    rule(
        "report",
        "list",
        'to = "desk"\nper = "request"\ntitle = "List of goods"\ndue = { within = 24, unit = "hours" }\n'
        'met_by = "received"\nextension = { length = 48, unit = "hours", says = "More.", ask = true }\n'
        'failure = { says = "By hand.", instead = "by hand" }',
    ),
)
ORDER = {
    "items": ["1/1"],
    "agency": "Canary Agency",
    "officer": "Canary Officer",
    "power": "the paper",
    "from": "2026-11-24T10:00:00-05:00[America/New_York]",
    "form": "spoken",
}


ANSWERED = ("items.0.answers", [{"question": "heirloom", "answer": False}])


@pytest.fixture
def busy(till: Till) -> Till:
    """The till under a second rule file, with one ring bought."""
    till.answer("law", "adopt", till.keep("more.toml", RULES), "--compared-on", "2026-11-01")
    till.record(ANSWERED)
    return till


class TestOrders:
    """`hold` records what happens to an order and says in words what holds an item."""

    def test_an_order_from_the_spoken_word_to_its_release(self, busy: Till) -> None:
        told = busy.answer("hold", "order", busy.keep("order.json", ORDER))
        name = told["order"]
        assert told["must_state"] == ["the case number", "the officer's name"]
        said = busy.run("hold", "list").stdout
        assert "It lapses on 2026-11-28 00:00 America/New_York unless it was confirmed in writing before." in said
        assert "It must not be given back, moved before Tue 15 Dec 2026 00:00 America/New_York" in said
        assert "and stays in the premises (Sample Act s. 1; rule kept of xx-sample)." in said
        assert "anary" not in said
        by = busy.keep("by.json", {"by": "Canary Officer", "said": "canary letter"})
        busy.answer("hold", "confirmed", name, by)
        busy.answer("hold", "renewed", name, by)
        (found,) = busy.answer("hold", "list")["items"]
        assert found["on_orders"][0]["state"]["plain"] == "2027-03-25T00:00:00-04:00[America/New_York]"
        assert [one["rule"] for one in found["holds"]] == ["kept", "hold-ten-days"]
        done = busy.answer("task", "due", code=8, unlocked=False)
        assert (f"order {name}", "notice") in [(one["about"], one["met_by"]) for one in done["tasks"]]
        busy.answer("hold", "notice", name, by)
        busy.answer("hold", "lift", name, busy.keep("lift.json", {"by": "A", "form": "court-order"}))
        assert busy.run("hold", "list").stdout.count("Order ") == 0

    def test_an_order_under_no_rule_says_how_long_it_holds(self, busy: Till) -> None:
        until = "2026-12-24T10:00:00-05:00[America/New_York]"
        for more, words in (({}, "until it is lifted."), ({"until": until}, "before Thu 24 Dec 2026 10:00")):
            busy.answer("hold", "order", busy.keep("order.json", {**ORDER, "rule": "none", **more}))
            assert words in busy.run("item", "show", "1/1").stdout


class TestTasks:
    """`task due` needs no key and ends with 8 when something is near; `task happened` fulfils it."""

    def test_a_task_is_due_until_it_is_done(self, busy: Till) -> None:
        due = busy.answer("task", "due", code=8, unlocked=False)
        assert [(one["about"], one["what"], one["late"]) for one in due["tasks"]] == [("1/1", "Do tag.", False)]
        busy.now = MOMENT + timedelta(days=2)
        assert "late" in busy.run("task", "due", unlocked=False).stdout
        done = busy.answer("task", "happened", "tagged", "1/1", "--said", "bag 7")
        assert [one["rule"] for one in done["done"]] == ["tag"]
        assert busy.run("task", "due", unlocked=False).stdout == "No task is open.\n"

    def test_the_text_names_what_was_done(self, busy: Till) -> None:
        said = busy.run("task", "happened", "tagged", "1/1").stdout
        assert said.startswith("tagged happened to 1/1; done: xx-sample/tag: entry ")


class TestPermissions:
    """`shop permit` records what an authority permits, and lists it."""

    def test_what_is_permitted_lets_a_hold_go(self, busy: Till) -> None:
        assert busy.run("shop", "permit", unlocked=False).stdout == "No permission was recorded.\n"
        move = ("item", "move", "1/1", "bank", "--known-as", "secure-storage")
        refused = busy.run(*move)
        assert refused.exit_code == 7
        assert "With leave: under the permission 'vault', which is not in force." in refused.stderr
        busy.answer("shop", "permit", busy.keep("p.toml", 'permission = "vault"\nby = "Canary"\nfrom = 2026-11-24\n'))
        listed = busy.answer("shop", "permit", unlocked=False)["permissions"]
        assert [(one["permission"], one["subject"], one["in_force"]) for one in listed] == [("vault", "shop", True)]
        assert "yes" in busy.run("shop", "permit", unlocked=False).stdout
        busy.answer(*move)


class TestActs:
    """`item out` says what must be stated, and takes it."""

    def test_an_act_on_a_condition(self, busy: Till) -> None:
        busy.now = MOMENT + timedelta(days=12)
        out = ("item", "out", "1/1", "returned-to-seller")
        assert "act.identity_checked" in busy.run(*out).stderr
        assert busy.run(*out, "--stated", busy.keep("s.json", {"identity_checked": "yes"})).exit_code == 2
        busy.answer(*out, "--identity-checked", "--stated", busy.keep("s.json", {"permit": "P 7"}))


class TestReports:
    """`report asked`, `extended`, `failed`, `delivered`, `list`."""

    def test_a_report_that_was_asked_for(self, busy: Till) -> None:
        by = busy.keep("by.json", {"by": "Canary Officer"})
        name = busy.answer("report", "asked", "xx-sample/list", "2026-11-24", by)["report"]
        more = busy.answer("report", "extended", name, by)
        assert more["due"].startswith("2026-11-27T")
        busy.answer("report", "failed", name, by)
        busy.answer("report", "make", name)
        busy.answer("report", "sent", name, "--how", "post", "--late-because", "the line was down")
        busy.answer("report", "delivered", name, "--how", "signed for")
        listed = busy.run("report", "list", unlocked=False).stdout
        assert "delivered, receipt awaited" in listed
        assert "List of goods" in listed
        assert name in [one["report"] for one in busy.answer("report", "due", code=8, unlocked=False)["reports"]]
        busy.answer("report", "received", name, busy.keep("who.json", {"who": "desk"}))
        assert busy.run("report", "list", "--late", unlocked=False).stdout == "No report is known.\n"
        busy.now = MOMENT + timedelta(days=9)
        (late,) = busy.answer("report", "list", "--late", unlocked=False)["reports"]
        assert (late["report"], late["why_late"]) == ("purchase-1.police", "not sent by the time it was due")


class TestMargin:
    """`slip check` tells what the rule files ask of their own, what else is to be done, and both answers to a doubt."""

    def test_questions_and_tasks(self, busy: Till) -> None:
        said = busy.run("slip", "check", busy.slip()).stdout
        assert "Is it an heirloom? (heirloom, of item/1; seller answers)" in said
        assert "Do tag. by Wed 25 Nov 2026" in said
        assert "If yes: It is held until 2026-11-27" in said
        found = busy.answer("slip", "check", busy.slip(), code=7)
        assert [(one["question"], one["unanswered"]) for one in found["questions"]] == [("heirloom", ["item/1"])]
        assert "heirloom" not in busy.run("slip", "check", busy.slip(ANSWERED)).stdout

    def test_a_question_about_the_shop_is_answered_by_its_facts(self, till: Till) -> None:
        asked = '[[question]]\nid = "permanent"\nabout = "shop"\ntype = "flag"\nasks = "Is it?"\nwho = "owner"\n'
        rules = text_of(
            asked,
            rule(
                "ask", "place", 'effect = "warns"\nfields = [{ fact = "shop.answers.permanent", label = "Permanent" }]'
            ),
            jurisdiction='"xx-place"',
        )
        till.answer("law", "adopt", till.keep("place.toml", rules), "--compared-on", "2026-11-01")
        assert "(permanent, of shop; owner answers)" in till.run("slip", "check", till.slip()).stdout
        told = FACTS + "\n[answers]\npermanent = true\n"
        till.answer("shop", "facts", till.keep("facts.toml", told.replace("from = 2026-01-01", "from = 2026-02-01")))
        assert "permanent" not in till.run("slip", "check", till.slip()).stdout

    def test_papers_show_what_a_rule_file_asked_of_its_own(self, busy: Till) -> None:
        done = busy.answer("slip", "record", busy.slip(ANSWERED))
        assert "Heirloom no" in words_of(Path(done["papers"][1]).read_bytes())

    def test_a_correction_says_what_follows(self, busy: Till) -> None:
        told = busy.keep("born.json", {"text": "2012-01-01"})
        said = busy.answer("slip", "correct", "1", "seller/birth_date", told, "--because", "misread")
        assert len(said["changed"]) == 1
        assert "eighteen" in said["changed"][0]
