"""Commands on rule files that need no book: check, explain, schema, diff.

Decides: which case files lie beside a rule file, how a fault is shown under its line, what ends with 4 or 8. The
caution that a rule file is a person's reading of the law stands at the end of everything printed here. What only one
command needs is imported there, so that each starts fast.
"""

import json
import unicodedata
from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import click

from ledger.cli import given, said
from ledger.cli.options import Asked, as_json
from ledger.errors import InputError, RuleFileWrong
from ledger.law import files
from ledger.moments import parse_local, place

if TYPE_CHECKING:
    from ledger.law.cases import Ran
    from ledger.law.rules import RuleFile

FAULTY, STALE = 4, 8
CAUTION = (
    "A rule file is a person's reading of the law on a date: compare it with the law in force, and ask a licensed"
    " lawyer or the authority before use."
)
_CASES = ".cases.toml"


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="FILES...")
@click.option("--stale", is_flag=True, help="End with 8 when a file was not compared with the law of today.")
@as_json
@click.pass_context
def check(ctx: click.Context, paths: tuple[str, ...], stale: bool) -> None:
    """Look for faults in rule files, and run their cases.

    Cases lie beside a rule file as NAME.cases.toml. Ends with 4 when a file has a fault or a case fails.
    """
    from pathlib import Path

    from ledger.law.together import shops

    asked: Asked = ctx.obj
    rules = [path for path in paths if not path.endswith(_CASES)]
    found, faults = _readable(asked, rules)
    together = [says for group in shops(list(found.values())) for says in files.check_together(group)]
    beside = [path for path in paths if path.endswith(_CASES)]
    beside += [str(path) for rule in found if (path := Path(rule.removesuffix(".toml") + _CASES)).is_file()]
    ran, wrong = _run(asked, dict.fromkeys(beside), found, {fault.path for fault in faults})
    faults += wrong
    old = _old(found)
    failed = [says for one in ran.values() for says in one.failures]
    ok = not (faults or together or failed)
    document = {
        "ok": ok,
        "files": [
            {"path": path, "jurisdiction": file.jurisdiction, "layer": file.layer, "digest": file.digest}
            for path, file in found.items()
        ],
        "faults": [one for fault in faults for one in _faults(fault)],
        "together": list(dict.fromkeys(together)),
        "cases_run": len(ran),
        "cases_failed": failed,
        "illustrations": [says for one in ran.values() for says in one.shown],
        "stale": list(old.values()),
        "caution": CAUTION,
    }
    lines = [
        *(
            f"{path}: {file.name}, {file.layer}, {len(file.rules)} rules, {file.digest[:16]}"
            for path, file in found.items()
        ),
        *(line for fault in faults for line in _pointed(fault)),
        *dict.fromkeys(together),
        *(line for one in ran.values() for line in (*one.failures, *one.shown)),
        *_came_true(ran),
        *(f"{path}: {says}; read the law again and write 'read_on' and 'checked_until'." for path, says in old.items()),
        CAUTION,
    ]
    said.answer(asked, document, lines)
    ctx.exit(0 if ok and not (stale and old) else STALE if ok else FAULTY)


def _old(found: "dict[str, RuleFile]") -> dict[str, str]:
    """What each file says that nobody compared with the law of today."""
    from ledger.cli import opened

    today: date = opened.clock().date()
    return {path: says for path, file in found.items() if (says := file.stale_on(today))}


def _came_true(ran: "dict[str, Ran]") -> list[str]:
    if not ran or any(one.failures for one in ran.values()):
        return []
    asserted = sum(one.asserted for one in ran.values())
    return [f"{said.count(len(ran), 'case file')} came true. {said.count(asserted, 'case')} asserted."]


def _readable(asked: Asked, paths: Sequence[str]) -> "tuple[dict[str, RuleFile], list[RuleFileWrong]]":
    found: dict[str, RuleFile] = {}
    faults: list[RuleFileWrong] = []
    for path in paths:
        try:
            found[path] = _file(asked, path)
        except RuleFileWrong as fault:
            faults.append(fault)
    return found, faults


def _file(asked: Asked, path: str) -> "RuleFile":
    return files.read(given.data(asked, path, "rule file"), path)


def _faults(fault: RuleFileWrong) -> list[dict[str, Any]]:
    return [
        {"path": fault.path, "says": says, "line": spot.line, "column": spot.column, "source": spot.source}
        for says, spot in zip(fault.faults, fault.spots, strict=True)
    ]


def _pointed(fault: RuleFileWrong) -> list[str]:
    """Each fault with the line it stands in and a mark under the place."""
    lines = []
    for says, spot in zip(fault.faults, fault.spots, strict=True):
        number = str(spot.line)
        lines += [
            f"{fault.path}: {says}",
            f"  {number} | {spot.source.rstrip()}".rstrip(),
            f"  {' ' * len(number)} | {_blank(spot.source[: spot.column - 1])}^",
        ]
    return lines


def _blank(text: str) -> str:
    """So much room as a text takes on a terminal; a tab stays one."""
    return "".join("\t" if one == "\t" else " " * (1 + (unicodedata.east_asian_width(one) in "WF")) for one in text)


def _run(
    asked: Asked, beside: dict[str, None], known: "dict[str, RuleFile]", wrong: set[str]
) -> "tuple[dict[str, Ran], list[RuleFileWrong]]":
    """What each case file came to, and those that cannot be read; their layers lie beside them.

    wrong: rule files that were found at fault already; cases that need one are not run.
    """
    ran: dict[str, Ran] = {}
    faults: list[RuleFileWrong] = []
    if beside:
        from pathlib import Path

        from ledger.law import cases
    for path in beside:
        try:
            data = given.data(asked, path, "case file")
            names = [path.removesuffix(_CASES) + ".toml"]
            names += [str(Path(path).parent / name) for name in cases.layers(data, path)]
            if not wrong.intersection(names):
                layers = [known[name] if name in known else _file(asked, name) for name in dict.fromkeys(names)]
                ran[path] = cases.work(data, layers, path)
        except RuleFileWrong as fault:
            faults.append(fault)
    return ran, faults


@click.command()
@click.option("--rules", "paths", multiple=True, required=True, metavar="FILE", help="A rule file; may be given again.")
@click.option("--facts", metavar="FILE", required=True, help="Facts, JSON or TOML; - is standard input.")
@click.option("--at", metavar="MOMENT", help="When the purchase happens; else the fact slip.occurred says it.")
@as_json
@click.pass_obj
def explain(asked: Asked, paths: tuple[str, ...], facts: str, at: str | None) -> None:
    """Show the duties of given facts, with the way to each.

    Nothing is written. The names of facts are those of the rule files. A table `events` among them tells what has
    happened since, each with its moment.
    """
    from ledger.cli.explaining import explained
    from ledger.law import case_names, duties

    layers = [_file(asked, path) for path in paths]
    told_facts = given.document(asked, facts, "--facts")
    happened = told_facts.pop("events", {})
    vocabulary = {name: fact for layer in layers for name, fact in layer.declared.vocabulary.items()}
    for name, wanted in case_names.wrong_facts(told_facts, vocabulary):
        raise InputError(field="--facts", given=name, wanted=wanted)
    moment = _moment(at, told_facts, layers)
    found = duties.weigh(layers, told_facts, at=moment, events=_events(happened, moment, layers))
    document = {**found.record(), "exit_code": 0, "caution": CAUTION}
    said.answer(asked, document, [*explained(found, layers), CAUTION])


def _events(happened: Any, at: datetime, layers: "Sequence[RuleFile]") -> dict[str, datetime]:
    """What has happened, by name, with its moment. Raises: InputError."""
    from ledger.law import case_names

    zone = place(at.tzinfo)
    if not isinstance(happened, dict) or zone is None:
        raise InputError(field="events", given=happened, wanted="a table of events, each with its moment")
    for name, wanted in case_names.wrong_events(happened, layers):
        raise InputError(field="events", given=name, wanted=wanted)
    return {name: given.moment_of(str(text), zone, f"events.{name}") for name, text in happened.items()}


def _moment(at: str | None, facts: dict[str, Any], layers: "Sequence[RuleFile]") -> datetime:
    slip = facts.get("slip")
    text = at or (slip.get("occurred") if isinstance(slip, dict) else None)
    zone = next((file.zone for file in layers if file.zone is not None), None)
    if not isinstance(text, str):
        raise InputError(field="--at", given="nothing", wanted="a moment, by --at or the fact slip.occurred")
    return parse_local(text, "--at") if zone is None else given.moment_of(text, zone, "--at")


@click.command()
@as_json
@click.pass_obj
def schema(asked: Asked) -> None:
    """Print the JSON Schema of a rule file."""
    from ledger.law.schema import json_schema

    document = json_schema()
    said.answer(asked, document, json.dumps(document, indent=2, ensure_ascii=False))


@click.command()
@click.argument("old", metavar="A")
@click.argument("new", metavar="B")
@as_json
@click.pass_obj
def diff(asked: Asked, old: str, new: str) -> None:
    """Show what changes between two rule files."""
    changes = files.diff(_file(asked, old), _file(asked, new))
    said.answer(
        asked, {"changes": changes, "caution": CAUTION}, [*(changes or ["Nothing changes for the shop."]), CAUTION]
    )
