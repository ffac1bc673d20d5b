"""The demonstration's rule files, worked cases as such, and code that knows no place."""

import doctest
import importlib
import tomllib
from pathlib import Path

import pytest

from ledger.law import cases, files
from ledger.law.differing import describe
from ledger.law.rules import RuleFile
from tests.law_samples import US_DAYS, file_of, recipient, rule

ROOT = Path(__file__).parent.parent
RULES = ROOT / "sample_config" / "rules"
DEMO = RULES / "demo"
HOLD = 'length = 10\nunit = "days"\nforbids = ["melt"]\n'


def load(path: Path) -> RuleFile:
    return files.read(path.read_bytes(), path.name)


def rule_files() -> list[Path]:
    return sorted(path for path in RULES.rglob("*.toml") if not path.name.endswith(".cases.toml"))


class TestWorkedCases:
    """Every rule file that is shipped has cases beside it, and all of them come true."""

    @pytest.mark.parametrize("path", rule_files(), ids=lambda path: path.stem)
    def test_the_cases_beside_a_file_come_true(self, path: Path) -> None:
        beside = path.with_name(path.stem + ".cases.toml")
        data = beside.read_bytes()
        governing = [load(path), *(load(path.with_name(name)) for name in cases.layers(data, beside.name))]
        assert cases.run(data, governing, beside.name) == ()
        assert len(tomllib.loads(data.decode())["case"]) >= 4

    def test_the_demonstration_s_files_fit_together(self) -> None:
        assert (
            files.check_together([load(path) for path in sorted(DEMO.glob("*.toml")) if ".cases" not in path.name])
            == ()
        )

    @pytest.mark.parametrize("path", sorted(DEMO.glob("*.toml")), ids=lambda path: path.stem)
    def test_the_demonstration_says_that_its_law_is_invented(self, path: Path) -> None:
        document = tomllib.loads(path.read_text())
        for kind in document.values():
            for one in (one for one in kind if isinstance(one, dict)) if isinstance(kind, list) else ():
                assert "invented" in one.get("source", "invented") or "known_from" in one["source"]
                assert one.get("basis", "invented") == "invented"


class TestDiffering:
    """What changes for the shop is said in sentences, rule by rule."""

    def test_nothing_differs_from_itself(self) -> None:
        for path in rule_files():
            assert files.diff(load(path), load(path)) == []

    def test_a_longer_hold(self) -> None:
        text = (DEMO / "town.toml").read_text()
        before = files.read(text.encode())
        after = files.read(text.replace("length = 15", "length = 20").encode())
        assert files.diff(before, after) == [
            "hold-worn-goods of 2026-01-01: length was 15 days and becomes 20 days.",
        ]

    def test_a_rule_that_came_and_one_that_went(self) -> None:
        one, two = file_of(rule("hold", "h", HOLD)), file_of(rule("pay", "p", 'instruments = ["cheque"]\n'))
        assert files.diff(one, two) == [
            "Gone: h of 2020-01-01 (Sample Act s. 1). A sample rule.",
            "New from 2020-01-01: p (Sample Act s. 1). A sample rule. kind: pay; instruments: cheque; effect: stops;"
            " meaning: A sample rule.; source: Sample Act s. 1; basis: invented.",
        ]

    def test_head_calendar_and_recipients(self) -> None:
        one = file_of(US_DAYS, recipient("sheriff"))
        longer = US_DAYS.replace("2027-12-31", "2028-12-31").replace('"sunday"', '"sunday", "friday"')
        longer = longer.replace('  { day = 2026-11-11, name = "Veterans Day" },\n', "")
        longer = longer.replace('name = "Christmas Day"', 'name = "Christmas Day", arguable = true')
        two = file_of(
            longer, recipient("police"), name='"Other"', zone='"America/Chicago"', note='"Soon."', currency=""
        )
        found = files.diff(one, two)
        for says in (
            "The place was Sample (xx-sample, state) and becomes Other (xx-sample, state).",
            "The time zone was America/New_York and becomes America/Chicago.",
            "The currency was USD and becomes none.",
            "The note was none and becomes Soon.",
            "The recipient 'police' was not declared and becomes The police.",
            "The calendar's weekend was saturday, sunday and becomes friday, saturday, sunday.",
            "The calendar's until was 2027-12-31 and becomes 2028-12-31.",
            "2026-11-11 (Veterans Day) is no longer a day off.",
            "2026-12-25 (Christmas Day) is a day off that may or may not count.",
        ):
            assert says in found
        assert "The calendar's weekend was none and becomes saturday, sunday." in files.diff(file_of(), one)
        assert "2026-12-25 (Christmas Day) is a day off." in files.diff(file_of(), one)

    def test_every_kind_of_rule_is_described(self) -> None:
        described = [describe(one) for path in rule_files() for one in load(path).rules]
        assert {one["kind"] for one in described} >= {
            "exempt",
            "ask",
            "documents",
            "declare",
            "refuse",
            "limit",
            "pay",
            "hold",
            "report",
            "retain",
        }
        words = " ".join(" ".join(one.values()) for one in described)
        for says in (
            "by 12:00 on Monday",
            "by 12:00 on the next day",
            "within 48 hours",
            "a last day off moved to the next working day",
            "instrument cash, amount 500.00",
            "1 year",
        ):
            assert says in words

    def test_terms_that_the_demonstration_does_not_use(self) -> None:
        file = file_of(
            recipient("police"),
            rule(
                "documents",
                "d",
                'any_of = [{ says = "Known.", personally_known = true }, '
                '{ says = "Card.", documents = [{ types = ["passport"], current = false }] }]\n',
            ),
            rule("report", "r", 'to = "police"\nper = "day"\ntitle = "T"\ndue = { same_day = true }\n'),
            rule(
                "pay",
                "p",
                'ceilings = [{ instrument = "cash", amount = "1", inclusive = false }]\n'
                'not_before = { length = 1, unit = "days", first_day_counts = true }\n',
            ),
        )
        terms = {one.id: describe(one) for one in file.rules}
        assert terms["d"]["any of"] == "Known, personally known yes; Card, documents types passport, current no"
        assert terms["r"]["due"] == "by the end of the day of the same day"
        assert terms["p"]["ceilings"] == "instrument cash, amount 1, inclusive no"
        assert terms["p"]["not before"] == "1 day, the first day counted"


class TestSessions:
    """The short session in each module's page is true."""

    @pytest.mark.parametrize("path", sorted((ROOT / "ledger" / "law").glob("*.py")), ids=lambda path: path.stem)
    def test_the_session_runs(self, path: Path) -> None:
        module = importlib.import_module(f"ledger.law.{path.stem}" if path.stem != "__init__" else "ledger.law")
        result = doctest.testmod(module, optionflags=doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL)
        assert result.failed == 0
