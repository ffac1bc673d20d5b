"""The page for owners: made from the form, with examples that read and do what they say."""

import re
from datetime import date
from typing import NamedTuple

import pytest

from ledger.law import cases, files
from ledger.law.form import FILE
from ledger.law.rules import RuleFile
from ledger.law.shapes import ListOf, Table
from tests.make_reference import PAGE, keys_of, page, tables

_BLOCK = re.compile(r"^```toml (\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


class Example(NamedTuple):
    """A piece of a rule file, and the cases that stand under it."""

    name: str
    rules: str
    cases: str


def blocks() -> list[tuple[str, str]]:
    return [(match[1], match[2]) for match in _BLOCK.finditer(page())]


def block(name: str) -> str:
    (found,) = [text for known, text in blocks() if known == name]
    return found


def examples() -> list[Example]:
    found: list[Example] = []
    for name, text in blocks():
        if name == "case":
            found[-1] = found[-1]._replace(cases=found[-1].cases + text)
        elif name not in ("small", "usual"):
            found.append(Example(name, text, ""))
    return found


def head(text: str) -> str:
    """The head of the small file, with its recipients and its calendar unless an example brings its own."""
    small = block("small")
    whole = small[: small.index("[[hold]]")]
    return whole[: whole.index("[calendar]")] if text.startswith("[calendar]") else whole


def read(example: Example) -> RuleFile:
    return files.read((head(example.rules) + example.rules).encode(), example.name)


class TestPage:
    """The page on disk is the one that the form makes."""

    def test_it_is_up_to_date(self) -> None:
        assert PAGE.read_text(encoding="utf-8") == page(), "run `python -m tests.make_reference`"

    def test_nothing_is_left_to_be_filled_in(self) -> None:
        assert "<!--" not in page()

    def test_every_kind_and_every_declaration_has_its_section(self) -> None:
        asked = tables()
        for key in FILE.keys:
            if isinstance(key.shape, ListOf) and isinstance(key.shape.item, Table):
                assert key.name in asked, key.name
                assert (
                    f"`[[{key.name}]]`" in page() or f"**{key.name}**" in page() or f"## {key.name}" in page().lower()
                )

    def test_the_days_it_counts_aloud_are_right(self) -> None:
        assert "ten days after a Monday end with the Thursday of the\n  week after" in page()
        assert date(2026, 11, 2).strftime("%A") == "Monday"
        assert date(2026, 11, 2 + 10).strftime("%A") == "Thursday"

    def test_every_link_within_it_leads_somewhere(self) -> None:
        headings = {
            re.sub(r"[^\w -]", "", line.lstrip("# ").lower()).replace(" ", "-")
            for line in page().splitlines()
            if line.startswith("#")
        }
        assert set(re.findall(r"\]\(#([\w-]+)\)", page())) <= headings


class TestExamples:
    """Every construct has an example that reads, and a case under it that comes true."""

    def test_the_small_file_and_its_cases(self) -> None:
        file = files.read(block("small").encode(), "small")
        ran = cases.work(block("usual").encode(), [file], "small.cases.toml")
        assert ran.failures == ()
        assert len(ran.shown) == 1
        assert files.check_together([file]) == ()

    @pytest.mark.parametrize("example", examples(), ids=lambda example: example.name)
    def test_it_reads_and_does_what_its_cases_say(self, example: Example) -> None:
        file = read(example)
        assert example.cases, "no case stands under it"
        usual = block("usual")
        text = usual[: usual.index("[[case]]")] + example.cases
        assert cases.run(text.encode(), [file], f"{example.name}.cases.toml") == ()

    def test_every_key_stands_in_an_example(self) -> None:
        shown = "".join(text for _, text in blocks())
        written = set(re.findall(r"(?<![\w.-])([a-z_]+)(?= = )", shown)) | set(re.findall(r"^\[\[?(\w+)", shown, re.M))
        missing = sorted({f"{table}: {key.name}" for table, key in keys_of(FILE, set()) if key.name not in written})
        assert missing == []
