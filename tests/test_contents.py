"""The contents page in ledger/__init__.py is true, and imports only go down it."""

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import ledger

ROOT = Path(ledger.__file__).resolve().parent.parent
PAGE = ledger.__doc__ or ""
WORDS = ("likeness", "slip", "law", "assay", "identity", "chain", "moments", "measures", "errors")

# The standard library's doors to disk, clock, chance, network and other processes. `pathlib.PurePath` opens
# nothing, so `pathlib` is judged by the name taken from it; `datetime` and `zoneinfo` by what is called on them.
OUTSIDE_WORLD = {
    "asyncio", "concurrent", "ctypes", "fcntl", "ftplib", "getpass", "glob", "http", "importlib", "logging",
    "mmap", "multiprocessing", "os", "pickle", "platform", "random", "secrets", "select", "selectors", "shelve",
    "shutil", "signal", "smtplib", "socket", "socketserver", "sqlite3", "ssl", "subprocess", "sys", "tempfile",
    "threading", "time", "urllib", "uuid", "webbrowser", "xmlrpc", "zipfile",
}  # fmt: skip
# What other projects' packages a word may use: each computes on values and opens nothing.
PURE_PACKAGES = {"cryptography", "holidays", "orjson", "rapidfuzz", "tzdata"}
OPENING = {"now", "today", "utcnow", "fromtimestamp", "read_text", "read_bytes", "write_text", "write_bytes"}
KEEPING = ("ledger.book", "ledger.vault", "ledger.shop", "sqlalchemy", "alembic")


def contents_page() -> dict[str, list[str]]:
    """Dotted modules under each heading of the contents page, in the page's order."""
    page: dict[str, list[str]] = {}
    modules: list[str] = []
    for line in PAGE.splitlines():
        if heading := re.match(r"(\w[\w ]*): ", line):
            page[heading[1]] = modules = []
        elif entry := re.match(r"    (\w[\w.]*)  +\S", line):
            name = entry[1]
            modules.append(name if name.startswith("reports.") else f"ledger.{name}")
    return {heading: modules for heading, modules in page.items() if modules}


MODULES = [module for modules in contents_page().values() for module in modules]


def file_of(module: str) -> Path:
    plain = ROOT / (module.replace(".", "/") + ".py")
    return plain if plain.is_file() else plain.with_suffix("") / "__init__.py"


def is_module(dotted: str) -> bool:
    return file_of(dotted).is_file()


def dotted(file: Path) -> str:
    return ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def rooms() -> list[str]:
    """Packages that hold modules on the page."""
    inits = [*ROOT.glob("ledger/**/__init__.py"), ROOT / "reports/__init__.py"]
    return sorted(room for room in map(dotted, inits) if room != "ledger")


@cache
def tree(module: str) -> ast.Module:
    return ast.parse(file_of(module).read_text(encoding="utf-8"))


@cache
def imported_by(module: str) -> frozenset[str]:
    """Full dotted names that a module imports, wherever in the file: `from a import b` is a.b."""

    def names() -> Iterator[str]:
        for node in ast.walk(tree(module)):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{module} imports relatively; write the full name"
                yield from (f"{node.module}.{alias.name}" for alias in node.names)

    return frozenset(names())


def ours(name: str) -> str | None:
    """The module or room of the house that a dotted name lies in: `ledger.law.rules.Rule` is `ledger.law.rules`."""
    if name.split(".")[0] not in ("ledger", "reports"):
        return None
    while not is_module(name):
        name = name.rpartition(".")[0]
    return name


def height(module: str) -> int:
    """Line of the page on which a module stands; a room stands where its first module does."""
    if module in MODULES:
        return MODULES.index(module)
    inside = [i for i, other in enumerate(MODULES) if other.startswith(module + ".")]
    return min(inside, default=len(MODULES))


def going_up(module: str) -> set[str]:
    """What a module imports although it stands beside or above it."""
    used = {place for name in imported_by(module) if (place := ours(name))} - {"ledger"}
    if module in rooms():  # the room's own page may name what is in it
        return {place for place in used if not place.startswith(module + ".") and height(place) <= height(module)}
    return {place for place in used if height(place) <= height(module)}


def test_every_module_stands_on_the_page_once() -> None:
    files = [*ROOT.glob("ledger/**/*.py"), *ROOT.glob("reports/**/*.py")]
    assert sorted(MODULES) == sorted(dotted(file) for file in files if file.name != "__init__.py")


def test_the_page_has_the_five_storeys_from_the_top_down() -> None:
    assert list(contents_page()) == ["Faces", "Acts", "Papers", "Keeping", "The words"]


def test_the_words_are_the_rooms_that_the_page_calls_so() -> None:
    assert tuple(dict.fromkeys(name.split(".")[1] for name in contents_page()["The words"])) == WORDS


def test_the_page_itself_imports_nothing() -> None:
    assert imported_by("ledger") == frozenset()


@pytest.mark.parametrize("module", [*MODULES, *rooms()])
def test_imports_only_go_down_the_page(module: str) -> None:
    assert going_up(module) == set()


@pytest.mark.parametrize("module", [*MODULES, *rooms()])
def test_every_module_says_what_it_is(module: str) -> None:
    assert (ast.get_docstring(tree(module)) or "").strip().splitlines()[:1] != []


@pytest.mark.parametrize("word", WORDS)
def test_the_words_do_not_touch_disk_clock_chance_or_network(word: str) -> None:
    modules = [name for name in [*MODULES, *rooms()] if (name + ".").startswith(f"ledger.{word}.")]
    assert {module: touched for module in modules if (touched := touches(module))} == {}


def touches(module: str) -> set[str]:
    """Doors to the outside world that a module opens, by import or by call."""
    doors = {name for name in imported_by(module) if not is_harmless(name)}
    return doors | (called_in(module) & (OPENING | {"open", "input", "print", "__import__"}))


def is_harmless(name: str) -> bool:
    top = name.split(".")[0]
    if top == "pathlib":
        return name == "pathlib.PurePath"
    return top in (sys.stdlib_module_names - OUTSIDE_WORLD) | PURE_PACKAGES | {"ledger"}


def called_in(module: str) -> set[str]:
    """The last name of everything that a module calls."""
    calls = [node.func for node in ast.walk(tree(module)) if isinstance(node, ast.Call)]
    return {f.attr if isinstance(f, ast.Attribute) else f.id for f in calls if isinstance(f, ast.Attribute | ast.Name)}


def test_papers_take_values_and_know_no_database_and_no_clock() -> None:
    for module in [*contents_page()["Papers"], "reports"]:
        assert not [name for name in imported_by(module) if name.startswith(KEEPING)], module
        assert not called_in(module) & {"now", "today", "utcnow"}, module


@pytest.mark.parametrize(
    ("line", "door"),
    [
        ("import random", "random"),
        ("from os import path", "os.path"),
        ("from pathlib import Path", "pathlib.Path"),
        ("import sqlalchemy", "sqlalchemy"),
        ("from datetime import datetime\ndatetime.now()", "now"),
        ("def read(f: str) -> str:\n    with open(f) as file:\n        return file.read()", "open"),
    ],
)
def test_a_word_that_opens_a_door_would_be_found(line: str, door: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{__name__}.tree", lambda _: ast.parse(line))
    monkeypatch.setattr(f"{__name__}.imported_by", imported_by.__wrapped__)
    assert touches("ledger.invented") == {door}
