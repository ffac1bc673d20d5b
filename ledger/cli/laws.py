"""Commands on rule files: check, explain, schema, adopt, diff. Only adopt needs a book.

Decides: which case files lie beside a rule file, what ends with 4 or 8. The caution that a rule file is a person's
reading of the law stands at the end of everything printed here.
"""

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from ledger.acts import setting_up, wording
from ledger.cli import given, opened, said
from ledger.cli.options import Asked, as_json, for_a_book
from ledger.cli.undone import told
from ledger.errors import InputError, RuleFileWrong
from ledger.law import cases, duties, files, holds
from ledger.law.duties import Duties
from ledger.law.rules import RuleFile
from ledger.moments import local_text, parse_local

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
    asked: Asked = ctx.obj
    rules = [path for path in paths if not path.endswith(_CASES)]
    found, faults = _readable(asked, rules)
    together = list(files.check_together(list(found.values()))) if not faults else []
    beside = [path for path in paths if path.endswith(_CASES)]
    beside += [str(path) for rule in rules if (path := Path(rule.removesuffix(".toml") + _CASES)).is_file()]
    failed, ran = _run(asked, dict.fromkeys(beside), found) if not faults else ([], 0)
    today = opened.clock().date()
    old = [sentence for file in found.values() if (sentence := file.stale_on(today))]
    ok = not (faults or together or failed)
    document = {
        "ok": ok,
        "files": [
            {"path": path, "jurisdiction": file.jurisdiction, "layer": file.layer, "digest": file.digest}
            for path, file in found.items()
        ],
        "faults": [{"path": path, "says": says} for path, says in faults],
        "together": together,
        "cases_run": ran,
        "cases_failed": failed,
        "stale": old,
        "caution": CAUTION,
    }
    lines = [
        *(
            f"{path}: {file.name}, {file.layer}, {len(file.rules)} rules, {file.digest[:16]}"
            for path, file in found.items()
        ),
        *(f"{path}: {says}" for path, says in faults),
        *together,
        *failed,
        *([f"{said.count(ran, 'case file')} came true."] if ran and not failed else []),
        *old,
        CAUTION,
    ]
    said.answer(asked, document, lines)
    ctx.exit(0 if ok and not (stale and old) else STALE if ok else FAULTY)


def _readable(asked: Asked, paths: Sequence[str]) -> tuple[dict[str, RuleFile], list[tuple[str, str]]]:
    found: dict[str, RuleFile] = {}
    faults: list[tuple[str, str]] = []
    for path in paths:
        try:
            found[path] = _file(asked, path)
        except RuleFileWrong as fault:
            faults += [(path, one) for one in fault.faults]
    return found, faults


def _file(asked: Asked, path: str) -> RuleFile:
    return files.read(given.data(asked, path, "rule file"), path)


def _run(asked: Asked, beside: dict[str, None], known: dict[str, RuleFile]) -> tuple[list[str], int]:
    """Sentences of the cases that fail, and how many case files were run; their layers lie beside them."""
    failed: list[str] = []
    for path in beside:
        data = given.data(asked, path, "case file")
        names = [path.removesuffix(_CASES) + ".toml"]
        names += [str(Path(path).parent / name) for name in cases.layers(data, path)]
        layers = [known[name] if name in known else _file(asked, name) for name in dict.fromkeys(names)]
        failed += cases.run(data, layers, path)
    return failed, len(beside)


@click.command()
@click.option("--rules", "paths", multiple=True, required=True, metavar="FILE", help="A rule file; may be given again.")
@click.option("--facts", metavar="FILE", required=True, help="Facts, JSON or TOML; - is standard input.")
@click.option("--at", metavar="MOMENT", help="When the purchase happens; else the fact slip.occurred says it.")
@as_json
@click.pass_obj
def explain(asked: Asked, paths: tuple[str, ...], facts: str, at: str | None) -> None:
    """Show the duties of given facts, with the way to each.

    Nothing is written. The names of facts are those of the rule files.
    """
    layers = [_file(asked, path) for path in paths]
    told_facts = given.document(asked, facts, "--facts")
    found = duties.weigh(layers, told_facts, at=_moment(at, told_facts, layers))
    document = {**found.record(), "exit_code": 0, "caution": CAUTION}
    said.answer(asked, document, [*_explained(found), CAUTION])


def _moment(at: str | None, facts: dict[str, Any], layers: Sequence[RuleFile]) -> datetime:
    slip = facts.get("slip")
    text = at or (slip.get("occurred") if isinstance(slip, dict) else None)
    zone = next((file.zone for file in layers if file.zone is not None), None)
    if not isinstance(text, str):
        raise InputError(field="--at", given="nothing", wanted="a moment, by --at or the fact slip.occurred")
    return parse_local(text, "--at") if zone is None else given.moment(text, zone, opened.clock())


def _explained(found: Duties) -> list[str]:
    lines = []
    for duty in found.duties:
        lines.append(f"{duty.state}: {duty.jurisdiction}/{duty.rule}, about {duty.about}")
        cited = duty.says if duty.source in duty.says else f"{duty.says.rstrip('.')} ({duty.source})."
        lines.append(f"  {cited}")
        lines += [f"  {name}: {_brief(value)}" for name, value in duty.trace.items()]
    for hold in found.holds:
        end = wording.leaves(holds.leave([hold]))
        lines.append(f"hold: {hold.jurisdiction}/{hold.rule}, item {hold.line}, no {', '.join(hold.forbids)}: {end}")
    for report in found.reports:
        lines.append(
            f"report: {report.jurisdiction}/{report.rule} to {report.recipient_name}, due {local_text(report.due)}"
        )
    return lines + list(found.stale)


def _brief(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)


@click.command()
@as_json
@click.pass_obj
def schema(asked: Asked) -> None:
    """Print the JSON Schema of a rule file."""
    from ledger.law.schema import json_schema

    document = json_schema()
    said.answer(asked, document, json.dumps(document, indent=2, ensure_ascii=False))


@click.command()
@click.argument("path", metavar="FILE")
@click.option("--compared-on", metavar="DAY", help="Day on which the file was compared with the law; today without it.")
@for_a_book
@click.pass_obj
def adopt(asked: Asked, path: str, compared_on: str | None) -> None:
    """Put a rule file into force in a book.

    The book keeps its exact bytes for ever, with who compared it with the law and when: the one who acts here, or
    whom --as names.
    """
    book = opened.a_book(asked, unlocked=True)
    day = given.day(compared_on, opened.zone(book), opened.clock(), "--compared-on")
    entry = setting_up.adopt(book, given.data(asked, path, "rule file"), path, compared_on=day, by=book.by)
    digest, jurisdiction = entry.public["digest"], entry.public["jurisdiction"]
    told(asked, entry, f"{path} governs {jurisdiction} from now on", jurisdiction=jurisdiction, digest=digest)


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
