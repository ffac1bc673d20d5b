"""Rule files of real jurisdictions: their worked cases come true, and none of them asserts what was not read.

Each case names the section and the source beside it; the dates were counted by hand on a calendar, before the
program was asked. Nothing here knows what a state's law says: that stands in the files.
"""

import re
import tomllib
from collections.abc import Iterator
from datetime import datetime, time
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ledger.errors import NoRuleForDay
from ledger.law import cases, files
from ledger.law.duties import Duties, weigh
from ledger.law.rules import RuleFile

US = Path(__file__).parent.parent / "sample_config" / "rules" / "us"
CASES = ".cases.toml"
ROWS = (*range(1, 25), *range(28, 31), *range(36, 41), *range(44, 49), *range(60, 63))
"""Numbers of the worked edge cases that every set of rule files must hold; those between belong to other places."""


def rule_files() -> list[Path]:
    return sorted(path for path in US.glob("*.toml") if not path.name.endswith(CASES))


def beside(path: Path) -> Path:
    return path.with_name(path.stem + CASES)


@cache
def load(path: Path) -> RuleFile:
    return files.read(path.read_bytes(), path.name)


@cache
def table(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text())


def states() -> dict[str, list[Path]]:
    """The files of each state: its own, and those of its counties and cities."""
    found: dict[str, list[Path]] = {}
    for path in rule_files():
        found.setdefault(path.stem.partition("-")[0], []).append(path)
    return found


def all_cases() -> Iterator[tuple[Path, dict[str, Any]]]:
    for path in rule_files():
        yield from ((path, case) for case in table(beside(path))["case"])


def expected(case: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    """Every key of `expect`, written with dots, and its value."""

    def flat(value: Any, path: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
        if isinstance(value, dict):
            for name, inner in value.items():
                yield from flat(inner, (*path, name))
        else:
            yield ".".join(path), value

    yield from flat(case.get("expect", {}), ())


def zone_of(path: Path) -> ZoneInfo:
    """The zone of a rule file, or where a state has two, the one that its cases name."""
    return load(path).zone or ZoneInfo(table(beside(path))["zone"])


def moment(value: Any, zone: ZoneInfo) -> datetime:
    """When a purchase of a case happens: a local moment, a day's noon, or text with its zone in brackets."""
    if isinstance(value, str):
        return datetime.fromisoformat(value.partition("[")[0]).astimezone(zone)
    noon = value if isinstance(value, datetime) else datetime.combine(value, time(12))
    return noon.replace(tzinfo=zone)


def over(usual: Any, own: Any) -> Any:
    """The usual facts with a case's own laid over them."""
    if not isinstance(usual, dict) or not isinstance(own, dict):
        return own
    return {**usual, **{name: over(usual.get(name), value) for name, value in own.items()}}


@cache
def weighed(path: Path) -> tuple[Duties, ...]:
    """What each case of a file comes to, whatever it expects; facts that a case takes away stay here."""
    return tuple(_weighed(path))


def _weighed(path: Path) -> Iterator[Duties]:
    data = table(beside(path))
    layers = [load(path), *(load(path.with_name(name)) for name in data.get("layers", ()))]
    usual, zone = data["usual"], zone_of(path)
    for case in data["case"]:
        facts = over(usual["facts"], case.get("facts", {}))
        past = case.get("past", usual.get("past"))
        if past is not None:
            facts = {**facts, "past": past}
        try:
            yield weigh(layers, facts, at=moment(case.get("at", usual["at"]), zone))
        except NoRuleForDay:
            assert case["expect"] == {"no_rule": True}


class TestCases:
    """Every row of the worked cases stands beside its file, names section and source, and comes true."""

    @pytest.mark.parametrize("path", rule_files(), ids=lambda path: path.stem)
    def test_the_cases_beside_a_file_come_true(self, path: Path) -> None:
        data = beside(path).read_bytes()
        layers = [load(path), *(load(path.with_name(name)) for name in cases.layers(data, path.name))]
        assert cases.run(data, layers, path.name) == ()

    @pytest.mark.parametrize("row", ROWS)
    def test_every_row_stands_in_a_file(self, row: int) -> None:
        assert [path.stem for path, case in all_cases() if re.match(rf"Row {row}\b", case["name"])]

    @pytest.mark.parametrize("path", rule_files(), ids=lambda path: path.stem)
    def test_every_rule_takes_part_in_a_case(self, path: Path) -> None:
        worked = table(beside(path))["case"]
        seen = {case["order"]["rule"] for case in worked if "order" in case}
        named = [name for case in worked for name in (*case.get("shows", ()), *dict(expected(case)))]
        seen |= {name.split(".")[1] for name in named if name.startswith("task.")}
        for duties in weighed(path):
            seen |= {one.rule for one in duties.duties} | {one.rule for one in duties.exemptions}
        scope = {one["id"] for one in table(path).get("cover", ())}
        assert {rule.id for rule in load(path).rules} - scope - seen == set()

    @pytest.mark.parametrize(
        "path", [path for path in rule_files() if "cover" in table(path)], ids=lambda path: path.stem
    )
    def test_what_a_file_covers_and_what_not_are_both_shown(self, path: Path) -> None:
        place = load(path).jurisdiction
        found = set()
        for duties in weighed(path):
            found.add(any(one.jurisdiction == place and one.about.startswith("item/") for one in duties.duties))
        assert found == {True, False}

    def test_no_name_stands_twice_in_a_file(self) -> None:
        named = [(path.stem, case["name"]) for path, case in all_cases()]
        assert len(named) == len(set(named))


class TestMemory:
    """What rests on memory stands as an illustration and asserts nothing."""

    def test_an_illustration_says_that_it_is_from_memory(self) -> None:
        illustrated = [case for _, case in all_cases() if "illustration" in case]
        assert len(illustrated) > 10
        for case in illustrated:
            assert case["illustration"].startswith("from memory: "), case["name"]
            assert case["shows"]

    def test_no_case_asserts_the_duty_of_a_rule_that_was_not_read(self) -> None:
        for path in rule_files():
            rules = [rule for kind in table(path).values() if isinstance(kind, list) for rule in kind]
            unread = {rule["id"] for rule in rules if rule.get("basis") == "memory" and "says" in rule}
            for case in table(beside(path))["case"]:
                for name, value in expected(case):
                    steps = set(name.split("."))
                    if steps & unread and steps & {"duty", "task", "exempt"} and value not in ("none", False):
                        raise AssertionError((path.name, case["name"], name))

    def test_a_key_that_rests_on_memory_is_a_key_of_the_rule_or_its_start(self) -> None:
        for path in rule_files():
            for kind, rules in table(path).items():
                for rule in rules if isinstance(rules, list) else ():
                    for key in rule.get("basis_of", {}):
                        assert key in rule or key in ("start", "from"), (path.name, kind, rule["id"], key)


class TestTogether:
    """The files of one state fit together and do not contradict each other."""

    @pytest.mark.parametrize("state", sorted(states()))
    def test_the_files_of_a_state_fit_together(self, state: str) -> None:
        assert files.check_together([load(path) for path in states()[state]]) == ()

    @pytest.mark.parametrize("state", sorted(states()))
    def test_the_layers_of_a_state_do_not_contradict_each_other(self, state: str) -> None:
        layers = [load(path) for path in states()[state]]
        for path in states()[state]:
            usual = table(beside(path))["usual"]
            found = weigh(layers, usual["facts"], at=moment(usual["at"], zone_of(path)))
            assert found.contradictions == ()


class TestReading:
    """Each file says who read it when, that a lawyer is to be asked, and where each rule stands."""

    @pytest.mark.parametrize("path", rule_files(), ids=lambda path: path.stem)
    def test_the_head_says_what_the_file_is(self, path: Path) -> None:
        head = " ".join(line.removeprefix("#").strip() for line in path.read_text().split("\n\nformat")[0].split("\n"))
        for says in ("person's reading", "in force", "licensed lawyer"):
            assert says in head
        file = load(path)
        assert file.known_from < file.read_on < file.checked_until
        assert "not legal advice" in file.note

    @pytest.mark.parametrize("path", rule_files(), ids=lambda path: path.stem)
    def test_every_rule_names_its_section_and_how_it_was_read(self, path: Path) -> None:
        for rule in load(path).rules:
            assert re.search(r"\d", rule.source.cite) or "forms under" in rule.source.cite, rule.id
            assert rule.source.basis in ("text", "excerpt", "guidance", "memory"), rule.id
            assert rule.says != rule.source.quote, rule.id
