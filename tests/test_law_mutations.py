"""Rule files that somebody or something spoiled: each is read, or its faults are told, and never a traceback.

What is spoiled are pieces of the real files: their heads with a few of their tables, so that many can be tried.
"""

import contextlib
import re
import tomllib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from ledger.errors import LedgerError, RuleFileWrong
from ledger.law import files
from ledger.law.duties import weigh
from ledger.law.rules import RuleFile
from tests.long import long_count

RULES = Path(__file__).parent.parent / "sample_config" / "rules"
_TABLE = re.compile(r"^(?=\[\[?\w+\]\]?)", re.MULTILINE)
_KEY = re.compile(r"[a-z_]+(?= = )")
_VALUE = re.compile(r'"[^"\n]*"|\b\d{4}-\d\d-\d\d\b|\b\d+\b|\btrue\b|\bfalse\b')
VALUES = (
    '"words"',
    '""',
    "0",
    "-1",
    "99999999999",
    "true",
    "2026-02-29",
    "2026-11-24",
    "2026-11-24T10:00:00",
    "12:00:00",
    "[]",
    "{}",
    "[[]]",
    "1.5",
    "nan",
    '"item.metal"',
    '"days"',
    '"working-days"',
    '"purchase"',
    '"report-received:all"',
    '"event:nothing"',
    "{ fact = 3 }",
    '[{ fact = "item.goods", in = ["coin"] }]',
    "'''\n[[hold]]\n'''",
    "what",
    '"\\q"',
    "“words”",
)


def pieces() -> list[tuple[str, list[str]]]:
    """The head and the tables of each real file."""
    found = []
    for path in sorted(RULES.rglob("*.toml")):
        if ".cases." not in path.name:
            head, *tables = _TABLE.split(path.read_text(encoding="utf-8"))
            found.append((head, tables))
    return found


def flipped(text: str, random: Random) -> str:
    data = bytearray(text.encode("utf-8", "surrogateescape"))
    data[random.randrange(len(data))] ^= 1 << random.randrange(8)
    return data.decode("utf-8", "surrogateescape")


def without_a_line(text: str, random: Random) -> str:
    lines = text.split("\n")
    del lines[random.randrange(len(lines))]
    return "\n".join(lines)


def with_a_line_twice(text: str, random: Random) -> str:
    lines = text.split("\n")
    place = random.randrange(len(lines))
    return "\n".join([*lines[:place], lines[place], *lines[place:]])


def with_lines_swapped(text: str, random: Random) -> str:
    lines = text.split("\n")
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return "\n".join(lines)


def with_another_key(text: str, random: Random) -> str:
    keys = list(_KEY.finditer(text))
    if not keys:
        return text + "x"
    match = random.choice(keys)
    name = random.choice([random.choice(keys)[0], match[0][:-1], match[0] + "s", match[0].upper(), "note"])
    return text[: match.start()] + name + text[match.end() :]


def with_another_value(text: str, random: Random) -> str:
    values = list(_VALUE.finditer(text))
    if not values:
        return text + "x"
    match = random.choice(values)
    value = random.choice([*VALUES, random.choice(values)[0]])
    return text[: match.start()] + value + text[match.end() :]


def with_a_letter_more_or_less(text: str, random: Random) -> str:
    place = random.randrange(len(text))
    return text[:place] + random.choice(["", random.choice('[]{}",=\n\t #.\x00é“')]) + text[place + 1 :]


def cut_off(text: str, random: Random) -> str:
    return text[: random.randrange(len(text))]


WAYS: tuple[Callable[[str, Random], str], ...] = (
    flipped,
    without_a_line,
    with_a_line_twice,
    with_lines_swapped,
    with_another_key,
    with_another_value,
    with_a_letter_more_or_less,
    cut_off,
)
FACTS: dict[str, Any] = {
    "shop": {"state": "A", "county": "B", "municipality": "C"},
    "slip": {"channel": "counter", "instrument": "cash", "total": {"currency": "USD", "minor": 41250}, "items": 1},
    "seller": {"kind": "person", "name": "N", "age": 41, "address": {"city": "C"}, "documents": []},
    "items": [{"line": 1, "kind": "single", "goods": "jewelry", "article": "ring", "metal": "gold", "marks": ["14K"]}],
}
AT = datetime(2026, 11, 24, 10, 15, tzinfo=ZoneInfo("America/New_York"))


def tried(data: bytes) -> None:
    """Reads the file; faults must be sentences with lines of the text, and a file that reads must be usable."""
    file: RuleFile | None = None
    wrong: RuleFileWrong | None = None
    try:
        file = files.read(data, "spoiled.toml")
    except RuleFileWrong as told:
        wrong = told
    if wrong is not None:
        assert wrong.faults
        for says, spot in zip(wrong.faults, wrong.spots, strict=True):
            assert says == f"line {spot.line}: {spot.says}"
            assert 1 <= spot.line <= data.count(b"\n") + 1, says
            assert 1 <= spot.column <= len(spot.source) + 1, spot
            assert says.endswith("."), says
    if file is not None:
        files.check_together([file])
        files.diff(file, file)
        with contextlib.suppress(LedgerError):  # a moved day or another zone: it says that it does not know
            weigh([file], FACTS, at=AT).record()


@long_count("rule files", count=100_000)
def a_spoiled_rule_file_is_read_or_told_what_is_wrong(random: Random, count: int) -> None:
    """A rule file spoiled at random is read, or its faults are told with their lines; never a traceback."""
    real = pieces()
    for number in range(count):
        head, tables = real[number % len(real)]
        chosen = random.sample(tables, min(len(tables), 3))
        text = head + "".join(chosen)
        for _ in range(random.choice([1, 1, 1, 2, 3])):
            text = random.choice(WAYS)(text, random) or head
        data = text.encode("utf-8", "surrogateescape")
        try:
            tried(data)
        except Exception as fault:
            raise AssertionError(f"{type(fault).__name__}: {fault} with {data!r}") from fault


class TestSpoiling:
    """What the long count tries is really spoiled, and what is whole still reads."""

    def test_every_way_changes_a_text(self) -> None:
        random = Random(1)
        head, tables = pieces()[0]
        text = head + tables[0]
        for way in WAYS:
            assert any(way(text, random) != text for _ in range(5)), way.__name__

    def test_the_real_files_are_usable(self) -> None:
        for path in sorted(RULES.rglob("*.toml")):
            if ".cases." not in path.name:
                tried(path.read_bytes())
                assert tomllib.loads(path.read_text(encoding="utf-8"))
