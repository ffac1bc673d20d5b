"""README and DEVELOPERS.md are true: commands, paths, cautions and libraries are compared, not trusted."""

import re
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from ledger.cli import main as app

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "ledger",
    "migrations",
    "reports",
    "tests",
    "sample_config",
}


def commands(group: click.Command = app, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    """Every command with the words that call it, groups included."""
    if not isinstance(group, click.Group):
        return
    for name in group.list_commands(click.Context(group)):
        command = group.get_command(click.Context(group), name)
        assert command is not None, f"{name} is listed by {path} and cannot be had"
        yield " ".join((*path, name)), command
        yield from commands(command, (*path, name))


COMMANDS = dict(commands())
LEAVES = [name for name, command in COMMANDS.items() if not isinstance(command, click.Group)]


def readme_calls() -> list[str]:
    """Every call of counterfoil that README shows, without the program's name: code blocks, and code in lines."""
    blocks = re.findall(r"^```sh\n(.*?)^```", README, flags=re.M | re.S)
    lines = [line.split("#")[0] for block in blocks for line in block.splitlines()]
    inline = re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```", "", README, flags=re.M | re.S))
    return [call.strip() for text in [*lines, *inline] for call in re.findall(r"\bcounterfoil ((?!&&).+)", text)]


def commands_in_the_table() -> set[str]:
    """Commands that README's table names. "`counterfoil item show`, `move`" is two: a row may shorten all but one."""
    named: set[str] = set()
    for cell in re.findall(r"^\| (`counterfoil[^|]*) \|", README, flags=re.M):
        (_, *first), *more = ([w for w in call.split() if w.islower()] for call in re.findall(r"`([^`]*)`", cell))
        named |= {" ".join(first), *(" ".join([*first[:-1], *shortened]) for shortened in more)}
    return named


def command_called(call: str) -> tuple[click.Command, list[str]]:
    """The command that a call's first words name, and the words that are left."""
    words = call.split()
    here: click.Command = app
    passed: list[str] = []
    while words:
        if isinstance(here, click.Group) and not words[0].startswith("-"):
            found = here.get_command(click.Context(here), words[0])
            assert found is not None, f"README calls `counterfoil {call}`; {words[0]!r} is no command"
            here = found
        else:
            passed.append(words[0])
        words = words[1:]
    return here, passed


class TestReadme:
    """README says the job in one paragraph first, and nothing in it is out of date."""

    def test_it_opens_with_the_job_in_one_paragraph(self) -> None:
        title, paragraph, heading = [part for part in README.split("\n\n") if part][:3]
        assert title == "# counterfoil"
        assert paragraph.startswith("Counterfoil keeps the purchase book of a shop")
        assert heading.startswith("## ")

    @pytest.mark.parametrize("name", LEAVES)
    def test_every_command_stands_in_it(self, name: str) -> None:
        assert name in commands_in_the_table()

    def test_no_command_stands_in_it_that_does_not_exist(self) -> None:
        assert commands_in_the_table() - set(LEAVES) == set()

    @pytest.mark.parametrize("call", readme_calls())
    def test_every_command_line_in_it_exists(self, call: str) -> None:
        command, passed = command_called(call)
        known = {flag for here in (app, command) for p in here.params for flag in [*p.opts, *p.secondary_opts]}
        assert {word.split("=")[0] for word in passed if word.startswith("--")} <= known | {"--help", "--version"}

    def test_one_command_line_runs_the_demo_and_one_the_tests(self) -> None:
        lines = [line for line in README.splitlines() if line.startswith("python3 -m venv .venv")]
        assert [line.split("/")[-1] for line in lines] == ["counterfoil demo demo-shop", "pytest"]

    def test_every_exit_code_is_explained(self) -> None:
        (codes,) = re.findall(r"^Exit codes: (.*)$", README, flags=re.M)
        assert re.findall(r"\b(\d) ", codes) == list("012345678")


class TestHelp:
    """Every command explains itself."""

    @pytest.mark.parametrize("name", COMMANDS)
    def test_every_command_has_help(self, name: str) -> None:
        words = (COMMANDS[name].help or "").split()
        assert len(words) >= 3, f"counterfoil {name} has no help text"

    @pytest.mark.parametrize("name", LEAVES)
    def test_every_option_has_help(self, name: str) -> None:
        silent = [p.name for p in COMMANDS[name].params if isinstance(p, click.Option) and not p.help]
        assert silent == []


CAUTIONS = {
    "a rule file is a reading of the law": ("law in force", "licensed lawyer", "authority", "prevails"),
    "an assessment is no certified assay": ("not a certified assay",),
    "acids are corrosive and toxic": (
        "corrosive",
        "toxic",
        "ventilation",
        "gloves",
        "eye protection",
        "never mix",
        "local law",
    ),
    "X-ray analysers radiate": ("ionising radiation", "maker's instructions", "registration or licence", "local law"),
    "melting and refining are dangerous": ("fumes", "burns", "fire and environmental codes", "local authority"),
    "some tests mark an article": ("Filing", "deep streaks", "acid", "Ask the seller first"),
    "scales must be verified": ("approved and verified", "local law"),
    "suspected stolen goods": ("Do not confront", "local law", "law enforcement", "counsel"),
}


class TestCautions:
    """Each caution stands in README, in words that defer to local law, licence and counsel."""

    @pytest.mark.parametrize("caution", CAUTIONS)
    def test_it_stands_in_readme(self, caution: str) -> None:
        section = README.split("## Cautions")[1].split("\n## ")[0]
        lines = [line for line in section.splitlines() if all(word in line for word in CAUTIONS[caution])]
        assert len(lines) == 1


class TestTheTree:
    """Nothing stands or is named that a user's machine does not have."""

    def test_the_top_level_holds_what_the_design_names(self) -> None:
        listed = tracked()
        assert {name.split("/")[0] for name in listed if not name.startswith(".")} == TOP_LEVEL

    def test_no_file_names_a_place_outside_the_tree(self) -> None:
        outside = [r"\.\./" + "shared", r"(?<![\w.$}/])/" + "work/", r"(?<![\w.$}/])/" + "tmp/", "iss" + r"ues? #?\d"]
        pattern = re.compile("|".join(outside))
        texts = [ROOT / name for name in tracked() if not name.endswith((".jpg", ".png", ".db"))]
        found = {str(t): m[0] for t in texts if (m := pattern.search(t.read_text(encoding="utf-8", errors="replace")))}
        assert found == {}

    @pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
    def test_every_path_that_a_page_names_is_there(self, page: str) -> None:
        tops = "|".join(TOP_LEVEL - {"README.md", "DEVELOPERS.md"})
        named = re.findall(rf"`((?:{tops}|\.ci)/[\w./-]*)`", (ROOT / page).read_text(encoding="utf-8"))
        assert [path for path in named if not (ROOT / path).exists()] == []


class TestLibraries:
    """DEVELOPERS.md names every library that pyproject asks for, and no other."""

    def test_the_table_holds_what_users_install(self) -> None:
        table = DEVELOPERS.split("| library | licence |")[1].split("\n\n")[0]
        rows = re.findall(r"^\| ([\w-]+) \| [^|]+\| [\d.]+ MB \| [^|]{8,}\|$", table, flags=re.M)
        assert sorted(rows) == sorted(
            {*names(PROJECT["dependencies"]), *names(PROJECT["optional-dependencies"]["postgres"])}
        )

    def test_what_only_tests_need_is_named(self) -> None:
        (line,) = re.findall(r"^For tests only: (.*)$", DEVELOPERS, flags=re.M)
        assert [name for name in names(PROJECT["optional-dependencies"]["test"]) if name not in line] == []


def names(requirements: list[str]) -> list[str]:
    return [re.split(r"[\[<>=~! ]", requirement)[0] for requirement in requirements]


def tracked() -> list[str]:
    """Files that belong to the project: what git tracks, or all of an unpacked source archive."""
    if (ROOT / ".git").exists():
        done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
        return [name for name in done.stdout.splitlines() if (ROOT / name).is_file()]
    return [str(file.relative_to(ROOT)) for file in ROOT.rglob("*") if file.is_file()]
