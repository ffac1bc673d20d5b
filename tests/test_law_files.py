"""Rule files: what reads, and what is wrong with what does not, by line and with what to write instead."""

import functools
import hashlib
import json
import re
import tomllib
from datetime import date, datetime
from datetime import time as clock_time
from pathlib import Path
from random import Random
from typing import Any

import jsonschema
import pytest

from ledger.errors import RuleFileWrong
from ledger.law import files
from ledger.law.facts import FACTS
from ledger.law.form import FILE
from ledger.law.locating import Places
from ledger.law.rules_times import HoldRule
from ledger.law.schema import json_schema
from ledger.law.shapes import (
    AnyOf,
    Anything,
    Either,
    Fault,
    Flag,
    Key,
    ListOf,
    Operand,
    Shape,
    Table,
    Text,
    Whole,
    check,
    wanted,
)
from tests.law_broken import AGE, BROKEN, HOLD, REPORT, hold
from tests.law_samples import HEAD, US_DAYS, file_of, recipient, rule, text_of
from tests.test_law_mutations import (
    RULES,
    pieces,
    with_a_line_twice,
    with_another_key,
    with_another_value,
    without_a_line,
)

REAL = pieces()


def real_files() -> list[Path]:
    return sorted(path for path in RULES.rglob("*.toml") if ".cases." not in path.name)


def faults(data: bytes) -> tuple[str, ...]:
    with pytest.raises(RuleFileWrong) as wrong:
        files.read(data, "sample.toml")
    assert str(wrong.value).startswith("sample.toml cannot be used: ")
    return wrong.value.faults


class TestBrokenFiles:
    """One mistake each: the sentence names the line and what to write instead."""

    @pytest.mark.parametrize("name", BROKEN)
    def test_the_fault_is_named_with_its_line_and_a_remedy(self, name: str) -> None:
        data, line, says = BROKEN[name]
        found = faults(data)
        assert len(found) == 1, found
        assert found[0].startswith(f"line {line}: {says}"), found[0]

    def test_all_faults_come_at_once_in_the_order_of_lines(self) -> None:
        data = text_of(
            rule("hold", "a", HOLD.replace("10", "0")),
            rule("hold", "b", HOLD + 'when = [{ fact = "item.metall", is = "gold" }, { fact = "item.x", is = "y" }]\n'),
            rule("refuse", "c", AGE + "xyz = 1\n"),
            layer='"village"',
        )
        found = faults(data)
        lines = [int(one.split(":")[0].removeprefix("line ")) for one in found]
        assert lines == sorted(lines)
        assert len(found) == 5

    def test_a_key_after_a_table_inside_is_told_where_it_stands(self) -> None:
        data = text_of(US_DAYS.split("closed")[0] + 'note = "It landed in the calendar."\n')
        assert "'note' is a key of the file, but it stands inside [calendar] and belongs to that;" in faults(data)[0]

    def test_a_needed_key_of_the_head_that_joined_a_rule_is_told_there(self) -> None:
        data = text_of(rule("hold", "h", HOLD), known_from="") + b"known_from = 2020-01-01\n"
        assert faults(data) == (
            "line 20: 'known_from' is a key of the file, but it stands inside [[hold]] and belongs to that;"
            " move it above [[hold]].",
        )

    def test_a_rule_that_is_no_table_hides_no_other(self) -> None:
        text = HEAD.replace("currency", 'hold = [3, { id = "a" }]\ncurrency')
        lines = [one.partition(":")[0] for one in faults(text.encode())]
        assert lines == ["line 10"] * len(lines)

    def test_a_misspelt_operand_in_a_deep_list_has_its_own_line(self) -> None:
        body = (
            HOLD
            + "when = [\n  { any = [\n"
            + '    { fact = "seller.age", below = 3 },\n    { fact = "seller.agee", below = 4 },\n  ] },\n]\n'
        )
        assert faults(hold(body)) == ("line 23: 'seller.agee' is not a fact; write 'seller.age'.",)


class TestTextThatIsNotToml:
    """Where reading stops is said, and every other table is looked at all the same."""

    def test_the_line_and_the_reason_are_named(self) -> None:
        (found,) = faults(text_of(layer="state"))
        assert (
            found
            == 'line 4: `layer = state` cannot be read: text stands in quotes, a number in figures; write "state".'
        )

    def test_faults_of_other_tables_are_found_too(self) -> None:
        data = text_of(rule("hold", "a", HOLD.replace("10", "ten")), rule("hold", "b", HOLD.replace("days", "weeks")))
        first, second = faults(data)
        assert first.startswith("line 17: `length = ten` cannot be read: text stands in quotes, a number in figures;")
        assert (
            second == 'line 29: \'unit\' is \'weeks\'; write one of "hours", "days", "working-days", "months", "years".'
        )

    def test_a_repeated_key_is_called_so(self) -> None:
        (found,) = faults(hold(HOLD + "length = 11\n"))
        assert found == "line 20: `length = 11` stands twice, as a key or a table; keep one of the two."

    def test_a_repeated_table_is_called_so(self) -> None:
        (found,) = faults(text_of(US_DAYS, US_DAYS))
        assert "`[calendar]` stands twice, as a key or a table; keep one of the two." in found

    def test_an_open_end_is_told_where_it_opens(self) -> None:
        (found,) = faults(text_of("\nclosed = [\n"))
        assert found == "line 11: the list that opens in `closed = [` is not closed; write ] at its end."

    def test_bytes_that_are_no_text(self) -> None:
        assert faults(b'a = 1\nb = "\xff"\n') == ("line 2: this is not UTF-8 text; save the file as UTF-8.",)

    def test_brackets_without_end(self) -> None:
        assert faults(b"a = " + b"[" * 5_000)[0] == "line 1: brackets stand too deep in each other; remove some."
        deep = faults(text_of(rule("hold", "a", HOLD.replace("10", "ten")), "\n[calendar]\nx = " + "[" * 3_000))
        assert len(deep) == 1
        assert deep[0].startswith("line 17")

    def test_a_table_nobody_knows_is_named_too(self) -> None:
        found = faults(text_of(rule("hold", "a", HOLD.replace("10", "ten")), "\n[[holds]]\n"))
        assert found[1] == "line 22: 'holds' is not a key of the file; write 'hold' or remove it."

    def test_too_many_bytes(self) -> None:
        assert faults(b"#" * 2_000_001) == ("line 1: it has 2,000,001 bytes; split what is above 2,000,000.",)

    def test_a_number_that_is_too_long_to_be_one(self) -> None:
        assert faults(b"a = " + b"9" * 5_000)[0].endswith("no number in a rule file is so long; write fewer figures.")

    def test_windows_line_ends_read_the_same(self) -> None:
        data = text_of(rule("hold", "a", HOLD))
        other = data.replace(b"\n", b"\r\n")
        assert files.read(other).rules[0].id == "a"
        assert files.read(other).digest == hashlib.sha256(other).hexdigest()
        assert faults(text_of(rule("hold", "a", HOLD + "xyz = 1\n")).replace(b"\n", b"\r\n"))[0].startswith("line 20:")


class TestReading:
    """A file that reads is whole: versions follow each other, and its digest is of its bytes."""

    def test_a_version_ends_where_the_next_begins(self) -> None:
        file = file_of(
            rule("hold", "h", "from = 2020-01-01\n" + HOLD),
            rule("hold", "h", "from = 2026-07-01\n" + HOLD.replace("10", "15")),
            rule("hold", "h", "from = 2028-01-01\nuntil = 2028-12-31\n" + HOLD.replace("10", "20")),
        )
        lengths = {}
        for day in ("2026-06-30", "2026-07-01", "2027-12-31", "2028-01-01", "2029-01-01"):
            rules = [one for one in file.on(date.fromisoformat(day)) if isinstance(one, HoldRule)]
            lengths[day] = [one.period.span.length for one in rules]
        assert lengths == {
            "2026-06-30": [10],
            "2026-07-01": [15],
            "2027-12-31": [15],
            "2028-01-01": [20],
            "2029-01-01": [],
        }

    def test_the_digest_is_of_the_exact_bytes(self) -> None:
        data = text_of()
        assert files.read(data).digest == hashlib.sha256(data).hexdigest()

    def test_a_recipient_has_an_id_and_a_name(self) -> None:
        file = file_of(recipient("sheriff"))
        assert [(one.id, one.name) for one in file.recipients] == [("sheriff", "The sheriff")]

    def test_readings_combine_unless_they_speak_about_the_same_key(self) -> None:
        body = HOLD + (
            "readings = [\n"
            '  { reason = "A", length = 11 },\n'
            '  { reason = "B", length = 12 },\n'
            '  { reason = "C", first_day_counts = true },\n'
            "]\n"
        )
        (found,) = files.read(hold(body)).rules
        assert isinstance(found, HoldRule)
        assert [(span.length, span.first_day_counts, why) for span, _, why, _ in found.period.readings] == [
            (11, False, "A"),
            (12, False, "B"),
            (10, True, "C"),
            (11, True, "A; C"),
            (12, True, "B; C"),
        ]


class TestFilesTogether:
    """Files that govern together must not contradict each other in what they name."""

    REPORT = rule("report", "r", REPORT + 'due = { within = 48, unit = "hours" }\n')
    WAITS = rule("hold", "h", HOLD + 'start = "report-received:sheriff"\n')

    def test_a_hold_that_waits_for_a_report_nobody_makes(self) -> None:
        (found,) = files.check_together([file_of(self.WAITS)])
        assert found.startswith("sample.toml: the rule 'h' runs from a report to 'sheriff', and no file has a")

    def test_a_hold_that_waits_for_a_report_of_another_file(self) -> None:
        state = file_of(recipient("sheriff"), self.REPORT)
        assert files.check_together([state, file_of(self.WAITS, jurisdiction='"xx-county"')]) == ()

    def test_a_retention_that_waits(self) -> None:
        keeps = rule(
            "retain",
            "k",
            'classes = ["item"]\nat_least = { length = 1, unit = "years" }\n'
            'start = { later_of = ["purchase", "report-sent:police"] }\n',
        )
        (found,) = files.check_together([file_of(keeps)])
        assert "runs from a report to 'police'" in found

    def test_one_id_for_two_agencies(self) -> None:
        other = files.read(text_of('\n[[recipient]]\nid = "sheriff"\nname = "Another"\n'), "other.toml")
        (found,) = files.check_together([file_of(recipient("sheriff")), other])
        assert found == (
            "other.toml calls the recipient 'sheriff' 'Another' and sample.toml calls it 'The sheriff';"
            " use one name, or another id."
        )


class TestPlaces:
    """Positions come from the text itself, since the standard library's reader gives none."""

    TEXT = (
        "# a = 1\n"
        "top = '''\n[[no]]\n'''  # comment\n"
        '"quoted key" = """\n x = 1 """\n'
        "a.b.c = [ 1, # one\n  { d = 'x', e = [ \"]\" ] } ]\n"
        "[table]\nkey = 2026-01-01\n'lit' = 1\n[[many.of]]\nx = 1\n[[many.of]]\n  x = {}\n[many.of.sub]\ny = [\n\n]\n"
    )

    @pytest.mark.parametrize(
        ("path", "line", "column"),
        [
            (("top",), 2, 1),
            (("quoted key",), 5, 1),
            (("a", "b", "c"), 7, 1),
            (("a", "b", "c", 0), 7, 11),
            (("a", "b", "c", 1), 8, 3),
            (("a", "b", "c", 1, "e"), 8, 14),
            (("a", "b", "c", 1, "e", 0), 8, 20),
            (("table",), 9, 1),
            (("table", "lit"), 11, 1),
            (("many", "of", 0, "x"), 13, 1),
            (("many", "of", 1), 14, 1),
            (("many", "of", 1, "x"), 15, 3),
            (("many", "of", 1, "sub", "y"), 17, 1),
            (("many", "of", 1, "sub", "z"), 16, 1),
            (("nowhere",), 1, 1),
        ],
    )
    def test_every_key_has_its_place(self, path: tuple[str | int, ...], line: int, column: int) -> None:
        tomllib.loads(self.TEXT)
        places = Places(self.TEXT)
        assert (places.line(path), places.column(path)) == (line, column)

    @pytest.mark.parametrize("text", ["a", "a = [1 2]", "a = {b = 1 c = 2}", "[a", "= 1", 'a = "x', "a = [\n1,\n"])
    def test_a_text_it_cannot_follow_loses_nothing_found_before(self, text: str) -> None:
        assert Places("first = 1\n" + text).line(("first",)) == 1

    def test_every_key_of_the_real_files_is_found(self) -> None:
        for path in real_files():
            text = path.read_text()
            places = Places(text)
            lines = text.splitlines()
            for where in every_path(tomllib.loads(text), ()):
                name = where[-1]
                if isinstance(name, str):
                    assert name in lines[places.line(where) - 1], (path, where)


def every_path(value: Any, path: tuple[str | int, ...]) -> list[tuple[str | int, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for name, one in inner for found in ((*path, name), *every_path(one, (*path, name)))]


@functools.cache
def the_validator() -> Any:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


class TestSchema:
    """The JSON Schema and the reader say the same about the shape of a file."""

    @pytest.fixture
    def validator(self) -> Any:
        return the_validator()

    @staticmethod
    def as_json(value: Any) -> Any:
        return json.loads(json.dumps(value, default=str))

    @pytest.mark.parametrize("path", real_files(), ids=lambda path: path.stem)
    def test_the_real_files_satisfy_it(self, validator: Any, path: Path) -> None:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        assert [error.message for error in validator.iter_errors(self.as_json(document))] == []

    def agree(self, validator: Any, text: str) -> bool | None:
        """Whether form and schema say the same of a text; None where JSON cannot say what TOML does."""
        try:
            document = tomllib.loads(text)
        except ValueError:
            return None
        if not said_in_json(document):
            return None
        found: list[Fault] = []
        check(document, FILE, (), found)
        return bool(validator.is_valid(self.as_json(document)) == (found == []))

    @pytest.mark.parametrize("name", BROKEN)
    def test_form_and_schema_agree_on_each_broken_file(self, validator: Any, name: str) -> None:
        assert self.agree(validator, BROKEN[name][0].decode()) is not False

    def test_form_and_schema_agree_on_files_spoiled_at_random(self, validator: Any) -> None:
        random = Random(5)
        answers = []
        for number in range(150):
            head, tables = REAL[number % len(REAL)]
            text = head + "".join(random.sample(tables, min(len(tables), 2)))
            way = random.choice([with_another_key, with_another_value, without_a_line, with_a_line_twice])
            spoiled = way(text, random)
            answers.append(self.agree(validator, spoiled))
            assert answers[-1] is not False, spoiled
        assert answers.count(True) > 60

    def test_blank_text_and_a_line_break_at_the_end_are_refused_by_both(self, validator: Any) -> None:
        for blank in ("  ", "a\n"):
            assert self.agree(validator, text_of(jurisdiction=f'"""{blank}"""').decode()) is True

    def test_each_key_has_a_meaning(self) -> None:
        for key in every_key(FILE, set()):
            assert len(key.says) > 6, key.name


def said_in_json(value: Any) -> bool:
    """Whether a value is told apart in JSON: no decimals, no moments, no text that looks like a day."""
    if isinstance(value, dict):
        return all(map(said_in_json, value.values()))
    if isinstance(value, list):
        return all(map(said_in_json, value))
    looks = isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value) is not None
    return not looks and not isinstance(value, float | datetime | clock_time)


def every_key(table: Table, seen: set[str]) -> list[Key]:
    if table.name in seen:
        return []
    seen.add(table.name)
    found = list(table.keys)
    for key in table.keys:
        shape: Shape = key.shape
        while isinstance(shape, ListOf):
            shape = shape.item
        if isinstance(shape, Either):
            shape = shape.table
        if isinstance(shape, Table):
            found += every_key(shape, seen)
    return found


class TestShapes:
    """A value is held against its shape, and what is wanted is said in words."""

    def test_a_table_asks_for_a_table(self) -> None:
        found: list[Fault] = []
        check(3, Table("a thing", (Key("x", Whole(1, 2), "a number"),)), ("thing",), found)
        assert found[0].says == "'thing' is 3; write a table in braces, such as { x = ... }."

    def test_one_of_several_shapes(self) -> None:
        shape = AnyOf((Flag(), Whole(1, 2), ListOf(Text("text"))))
        found: list[Fault] = []
        values: list[Any] = [True, 2, ["a"], 3, {}, [3]]
        for value in values:
            check(value, shape, ("thing",), found)
        either = "true or false, without quotes, or a whole number, 1 to 2, or a list in square brackets, each text"
        assert [one.says for one in found] == [
            f"'thing' is 3; write {either}.",
            f"'thing' is a table; write {either}.",
            "'thing' is 3; write text.",
        ]

    def test_text_or_table(self) -> None:
        shape = Either(Text("text"), Table("a thing", (Key("x", Whole(1, 2), "a number", need=True),)))
        found: list[Fault] = []
        check([1], shape, ("thing",), found)
        check({}, shape, ("thing",), found)
        check("words", shape, ("thing",), found)
        assert [one.says for one in found] == [
            "'thing' is a list; write text, or a table in braces.",
            "a thing needs 'x': a whole number, 1 to 2.",
        ]

    @pytest.mark.parametrize(
        ("shape", "words"),
        [
            (Flag(), "true or false, without quotes"),
            (Operand(), "text in quotes, a whole number, a day, true or false, or a list of texts"),
            (Anything("whatever you like"), "whatever you like"),
            (ListOf(Flag(), most=3), "a list in square brackets, at most 3, each true or false, without quotes"),
        ],
    )
    def test_what_is_wanted_is_said(self, shape: Shape, words: str) -> None:
        assert wanted(shape) == words

    def test_a_long_value_is_cut(self) -> None:
        found: list[Fault] = []
        check("y" * 100, Whole(1, 2), ("thing",), found)
        assert found[0].says == f"'thing' is '{'y' * 49}...'; write a whole number, 1 to 2."


class TestVocabulary:
    """Every fact has one name, one type and one meaning."""

    def test_names_are_subjects_and_paths(self) -> None:
        for name, fact in FACTS.items():
            assert fact.name == name
            assert fact.says
            assert fact.subject == name.split(".")[0]

    def test_samples_have_the_head_that_the_tests_count_lines_by(self) -> None:
        assert len(HEAD.strip().splitlines()) == 9


def test_rules_that_wait_for_each_other_are_both_named() -> None:
    """A ring of starts is found over any number of rules, and a line of them is none."""
    body = 'length = 10\nunit = "days"\nforbids = ["sell"]\n'
    ring = [
        rule("hold", name, body + f'start = "end:{other}"\n') for name, other in (("a", "b"), ("b", "c"), ("c", "a"))
    ]
    with pytest.raises(RuleFileWrong) as wrong:
        files.read(text_of(*ring), "town.toml")
    assert [sum(f"the time of '{name}' runs" in one for one in wrong.value.faults) for name in "abc"] == [1, 1, 1]
    line = [*ring[:2], rule("hold", "c", body)]
    assert len(files.read(text_of(*line), "town.toml").rules) == 3
