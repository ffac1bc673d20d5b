"""From the checked tables of a rule file to what it declares: questions, events, permissions, tallies.

Decides: what the tables mean, and the names that they add to the facts a file may use. Leaves rules to
`ledger.law.building`. A table whose shape is at fault is left out; what does not fit is a `Fault` at its path.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from ledger.law.declared import PAST, Declared, DeclaredEvent, Permission, Question, Tally, Window, vocabulary
from ledger.law.form import DECLARED
from ledger.law.shapes import Fault, Path, check
from ledger.law.terms import Raw, Terms

T = TypeVar("T", Question, DeclaredEvent, Permission, Tally)


def declared_of(document: Mapping[str, Any], currency: str, faults: list[Fault]) -> Declared:
    """What a file declares. document: the whole file; of its tables only those are read that have their shape."""
    past = Terms(currency, faults, PAST)

    def tally(raw: Raw, path: Path) -> Tally:
        return Tally(
            raw["id"],
            raw["of"],
            raw["by"],
            window_of(raw),
            raw.get("with_this", True),
            past.conditions(raw.get("when", ()), (*path, "when")),
        )

    questions = _each(document, "question", _question(faults), faults)
    tallies = _each(document, "tally", tally, faults)
    return Declared(
        questions,
        _each(document, "event", lambda raw, _: DeclaredEvent(raw["id"], raw["about"], raw["says"]), faults),
        _each(document, "permission", lambda raw, _: _permission(raw), faults),
        tallies,
        vocabulary(questions, tallies),
    )


def window_of(raw: Raw) -> Window:
    """The window of a tally or a ceiling."""
    if "period" in raw:
        return Window(period=raw["period"])
    return Window(raw["window"]["length"], raw["window"]["unit"])


def _each(document: Mapping[str, Any], kind: str, make: Callable[[Raw, Path], T], faults: list[Fault]) -> tuple[T, ...]:
    """The declarations of one kind that have their shape; two of one id are a fault."""
    found: dict[str, T] = {}
    raws: Sequence[Any] = document.get(kind, ())
    for number, raw in enumerate(raws if isinstance(raws, list) else ()):
        wrong: list[Fault] = []
        check(raw, DECLARED[kind], (kind, number), wrong)
        if wrong:
            continue
        one = make(raw, (kind, number))
        if one.id in found:
            says = f"'{one.id}' is declared twice; remove one, or give it another id."
            faults.append(Fault((kind, number, "id"), says))
        found[one.id] = one
    return tuple(found.values())


def _question(faults: list[Fault]) -> Callable[[Raw, Path], Question]:
    def make(raw: Raw, path: Path) -> Question:
        words = tuple(raw.get("words", ()))
        if (raw["type"] == "word") is not bool(words):
            says = (
                "a question of type word needs 'words': the answers that it may have."
                if raw["type"] == "word"
                else f"'words' does not go with the type {raw['type']}; remove it, or write type = \"word\"."
            )
            faults.append(Fault((*path, "words") if words else path, says))
        return Question(
            raw["id"],
            raw["about"],
            raw["type"],
            words,
            raw["asks"],
            raw["who"],
            raw.get("source", ""),
            raw.get("basis", ""),
        )

    return make


def _permission(raw: Raw) -> Permission:
    return Permission(
        raw["id"], raw["about"], raw["says"], raw.get("by", ""), raw.get("source", ""), raw.get("basis", "")
    )
