"""No place, agency, citation or day count of any rule file in sample_config stands in the code."""

import ast
import functools
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
RULES = sorted(path for path in (ROOT / "sample_config" / "rules").rglob("*.toml") if ".cases." not in path.name)

# The story of the demonstration shop lies in an invented place; everything else must run in any.
CODE = sorted(
    path
    for room in ("ledger", "reports")
    for path in (ROOT / room).rglob("*.py")
    if path.parent != ROOT / "ledger" / "demo"
)
_COUNTED_ROOMS = ("law", "acts", "shop", "slip", "book", "cli")

_PLAIN_WORDS = frozenset(
    {"State", "County", "City", "Town", "Village", "North", "South", "East", "West", "Act", "Mail"}
)
_TIME = re.compile(
    r"(?:^|_)(?:days?|hours?|months?|years?|weeks?|length|span|hold|held|retain|kept|within|due|until|age)(?:_|s?$)",
    re.IGNORECASE,
)
_TAKES_TIME = frozenset({"timedelta", "Span", "relativedelta", "within", "_days", "_hours"})


@functools.cache
def documents() -> list[dict[str, Any]]:
    return [tomllib.loads(path.read_text(encoding="utf-8")) for path in RULES]


@functools.cache
def names() -> set[str]:
    """Names of places and agencies, and the words of them that are nobody else's."""
    found = set()
    for document in documents():
        found |= {document["name"], document["jurisdiction"]}
        found |= {one["name"] for one in document.get("recipient", ())}
        found |= {word for word in re.findall(r"[A-Z][a-z]{3,}", document["name"]) if word not in _PLAIN_WORDS}
    return found


@functools.cache
def citations() -> set[str]:
    """Section numbers, such as the law's own books number them: at least two groups of figures."""
    sources = [
        one["source"]
        for document in documents()
        for rules in document.values()
        if isinstance(rules, list)
        for one in rules
        if isinstance(one, dict) and "source" in one
    ]
    return {found for source in sources for found in re.findall(r"\b\d{1,4}[-.:]\d{2,4}\b", source)}


@functools.cache
def counts() -> set[int]:
    """Every number of days, hours, months or years that a rule file states."""
    return {number for document in documents() for number in _counts(document)}


def _counts(value: Any) -> Iterator[int]:
    if isinstance(value, dict):
        for name, inner in value.items():
            if name in ("length", "within") and isinstance(inner, int):
                yield inner
            yield from _counts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _counts(inner)


def texts(code: str) -> list[str]:
    """Everything that a module writes in quotes, docstrings left out, and the names it gives."""
    tree = ast.parse(code)
    told = {
        id(body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and (body := node.body)
        and isinstance(body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told
    ]


def stated(code: str) -> Iterator[tuple[int, int]]:
    """Line and value of each whole number that stands where a length of time stands."""
    for node in ast.walk(ast.parse(code)):
        match node:
            case ast.Call():
                called = _name(node.func)
                for keyword in node.keywords:
                    if called in _TAKES_TIME or _TIME.search(keyword.arg or ""):
                        yield from _numbers(keyword.value)
                if called in _TAKES_TIME:
                    for argument in node.args:
                        yield from _numbers(argument)
            case ast.Compare():
                sides = [node.left, *node.comparators]
                if any(_tells_time(side) for side in sides):
                    for side in sides:
                        yield from _numbers(side)
            case ast.Assign() | ast.AnnAssign():
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                if node.value is not None and any(_TIME.search(_name(target)) for target in targets):
                    yield from _numbers(node.value)
            case ast.Dict():
                for key, value in zip(node.keys, node.values, strict=True):
                    if isinstance(key, ast.Constant) and _TIME.search(str(key.value)):
                        yield from _numbers(value)
            case ast.BinOp():
                if _tells_time(node.left) or _tells_time(node.right):
                    yield from _numbers(node.left)
                    yield from _numbers(node.right)


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Name):
        return node.id
    return node.attr if isinstance(node, ast.Attribute) else ""


def _tells_time(node: ast.expr) -> bool:
    return bool(_TIME.search(_name(node))) or (isinstance(node, ast.Call) and _name(node.func) in _TAKES_TIME)


def _numbers(node: ast.expr) -> Iterator[tuple[int, int]]:
    """A number, or the numbers that a sum or product of numbers is made of; never an index."""
    if isinstance(node, ast.Constant) and type(node.value) is int:
        yield node.lineno, node.value
    elif isinstance(node, ast.BinOp):
        yield from _numbers(node.left)
        yield from _numbers(node.right)
    elif isinstance(node, ast.Tuple | ast.List):
        for one in node.elts:
            yield from _numbers(one)


NATURE = {1: "one", 7: "days of a week", 12: "months of a year", 24: "hours of a day"}
"""Numbers of the calendar itself; a hold of that many days would have to be stated otherwise to be found."""

OTHERWISE = {("ledger/acts/tallying.py", 2): "a margin of days around a search, the law room counts exactly behind it"}
"""Numbers that are a rule's by chance only."""


class TestNames:
    """No place and no agency of a rule file is named in the code."""

    def test_there_is_something_to_look_for(self) -> None:
        found = names()
        assert {"xx-norrowa", "Norrowa", "Tamsett", "Sheriff of Tamsett County"} <= found
        assert any(name.startswith("us-") for name in found)

    @pytest.mark.parametrize("path", CODE, ids=lambda path: str(path.relative_to(ROOT)))
    def test_no_name_of_a_place_or_agency_and_no_section_of_its_law(self, path: Path) -> None:
        code = path.read_text(encoding="utf-8")
        folded = code.casefold()
        for name in names():
            assert not re.search(rf"\b{re.escape(name.casefold())}\b", folded), name
        said = " ".join(texts(code))
        for section in citations():
            assert not re.search(rf"(?<![\d.-]){re.escape(section)}(?![\d.-])", said), section

    def test_a_name_in_the_code_would_be_found(self) -> None:
        assert texts('x = "the Tamsett sheet"\ndef f() -> None:\n    "Tamsett told."\n') == ["the Tamsett sheet"]


class TestCounts:
    """No number of days, hours, months or years of a rule file stands in the code."""

    def test_there_is_something_to_look_for(self) -> None:
        assert {10, 15, 48, 3} <= counts()

    @pytest.mark.parametrize(
        "path",
        [path for path in CODE if path.parent.name in _COUNTED_ROOMS or path.parent == ROOT / "reports"],
        ids=lambda path: str(path.relative_to(ROOT)),
    )
    def test_no_length_of_time_of_a_rule(self, path: Path) -> None:
        here = path.relative_to(ROOT).as_posix()
        wanted = {number for number in counts() - set(NATURE) if (here, number) not in OTHERWISE}
        found = [(line, number) for line, number in stated(path.read_text(encoding="utf-8")) if number in wanted]
        assert found == []

    @pytest.mark.parametrize(
        "code",
        [
            "HOLD_DAYS = 30",
            "until = bought + timedelta(30)",
            "until = bought + timedelta(days=30)",
            "free = hold_end(Span(30, 'days'), at)",
            "if days < 30: pass",
            "if hold.length == 30: pass",
            "hold(rule, days=30)",
            "last = day + 30 * ONE_DAY",
            "LENGTHS = {'hold': 30, 'retain_years': 3}",
            "retain_years: int = 30",
        ],
    )
    def test_a_length_of_time_in_the_code_would_be_found(self, code: str) -> None:
        assert 30 in {number for _, number in stated(code)}

    @pytest.mark.parametrize("code", ["row[30]", "text[:30]", "if len(text) > 30: pass", "x = [0] * 30", "width = 30"])
    def test_other_numbers_are_left_alone(self, code: str) -> None:
        assert list(stated(code)) == []
