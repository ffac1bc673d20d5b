"""Turns a JSON Schema into a checker that names every fault by field, what was given and what is wanted.

Decides: how a document is held against a schema, and in which words a fault is said. The words wanted come from the
schema itself: the `description` of the member that is wrong. What people typed about people is never repeated in a
fault, only its kind and length, since error texts end up in logs and on screens.
Leaves to others: which documents there are (`schema`), reading bytes (`reading`).
Lists count from one, as lines do on paper: `items[2]` is the second item.

Only the keywords used here are understood; a schema with another one, or with a text, list or number without limit,
is refused when it is compiled. It is several times faster than a general validator,
which the tests hold it against, document by document.

>>> check = compile_schema({"type": "object", "additionalProperties": False, "required": ["pieces"],
...     "properties": {"pieces": {"type": "integer", "minimum": 1, "maximum": 9, "description": "1 to 9"}}})
>>> [str(fault) for fault in check({"pieces": 0})]
['pieces: 0 was given; wanted is 1 to 9.']
"""

import re
from collections.abc import Callable, Mapping
from datetime import date
from difflib import get_close_matches
from typing import Any

from ledger import measures, moments
from ledger.errors import InputError, Said

Schema = Mapping[str, Any]
Check = Callable[[Any, str, list[InputError]], None]
"""value, its path, where faults are added"""

_ANNOTATIONS = {"$schema", "$id", "$defs", "title", "description", "examples", "format", "default", "$comment"}
_PERSONAL = re.compile(r"(parties\[|notes|declaration|payout\.(payee|reference)|parcel|place)")


NOTHING = Said("nothing")


class _Member(Said):
    """A member that does not belong here."""

    __slots__ = ()


class PointNumber:
    """A number with a point or an exponent, as written. It is never turned into a float."""

    def __init__(self, text: str) -> None:
        self.text = text


def compile_schema(schema: Schema) -> Callable[[Any], list[InputError]]:
    """A function from a decoded document to all its faults, in the order of the schema's members.

    schema: JSON Schema 2020-12, of the keywords that this module knows; `$ref` only within the schema.
    Raises: ValueError at once for a keyword that it does not know.
    """
    check = _Compiler(schema).check_of(schema)

    def faults(document: Any) -> list[InputError]:
        found: list[InputError] = []
        check(document, "", found)
        return found

    return faults


def shown(value: Any, path: str, *, plain: bool) -> object:
    """What a fault says was given.

    plain: whether short text may be repeated: a word of a fixed list, a figure or a date. All else is described.
    """
    if isinstance(value, str):
        if plain and value.strip() and len(value) <= 60 and not _PERSONAL.match(path):
            return value
        return Said(f"a text of {len(value):,} characters" if value.strip() else "an empty text")
    if value is None or isinstance(value, bool):
        return Said({None: "null", True: "true", False: "false"}[value])
    if isinstance(value, int):
        return value if plain and abs(value) < 10**15 and not _PERSONAL.match(path) else Said("a number")
    if isinstance(value, PointNumber):
        short = len(value.text) <= 30 and not _PERSONAL.match(path)
        return Said(f"the number {value.text}" if short else "a number with a point")
    if isinstance(value, list):
        return Said(f"a list of {len(value)}")
    return Said("an object with members of its own")


class _Compiler:
    """Compiles each node of one schema once; references are looked up when they are first followed."""

    def __init__(self, root: Schema) -> None:
        self.root = root
        self.by_reference: dict[str, Check] = {}

    def check_of(self, node: Schema) -> Check:
        if "$ref" in node:
            return self._referred(node)
        if unknown := set(node) - _ANNOTATIONS - set(_KEYWORDS):
            raise ValueError(f"schema keywords that are not understood: {', '.join(sorted(unknown))}")
        for keyword, make in _MAKERS.items():  # the first that a node has says what it is
            if keyword in node:
                return make(self, node)
        return _typed(self, node)

    def target(self, reference: str) -> Schema:
        """The node that a reference within this schema names."""
        node: Any = self.root
        for step in reference.removeprefix("#/").split("/"):
            node = node[step]
        found: Schema = node
        return found

    def _referred(self, node: Schema) -> Check:
        if extra := set(node) - {"$ref"} - _ANNOTATIONS:
            raise ValueError(f"members beside $ref that are not understood: {', '.join(sorted(extra))}")
        reference: str = node["$ref"]
        target = self.target(reference)
        if "description" in node:  # its own words for what is wanted here
            return self.check_of({**target, "description": node["description"]})

        def check(value: Any, path: str, found: list[InputError]) -> None:
            if (known := self.by_reference.get(reference)) is None:
                known = self.by_reference[reference] = self.check_of(target)
            known(value, path, found)

        return check


def _typed(compiler: _Compiler, node: Schema) -> Check:
    match node.get("type"):
        case "object":
            return _object(compiler, node)
        case "array":
            return _array(compiler, node)
        case "string":
            return _string(node)
        case "integer":
            return _integer(node)
        case "boolean":
            return _one_of((True, False), node.get("description", "true or false"))
        case other:
            raise ValueError(f"a schema of type {other!r} is not understood")


def _object(compiler: _Compiler, node: Schema) -> Check:
    members = {name: compiler.check_of(member) for name, member in node["properties"].items()}
    wanted_of = {name: _words(compiler, member) for name, member in node["properties"].items()}
    required = tuple(node.get("required", ()))
    wanted = node.get("description", "an object with members of its own")
    least = node.get("minProperties", 0)
    if node.get("additionalProperties") is not False:
        raise ValueError("every object must say additionalProperties false")

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if not isinstance(value, dict):
            found.append(InputError(field=path or "slip", given=shown(value, path, plain=False), wanted=wanted))
            return
        dot = f"{path}." if path else ""
        for name, inner in value.items():
            member = members.get(name)
            if member is None:
                found.append(_unknown(name, path, members))
            else:
                member(inner, dot + name, found)
        for name in required:
            if name not in value:
                found.append(InputError(field=dot + name, given=NOTHING, wanted=wanted_of[name]))
        if len(value) < least:
            found.append(InputError(field=path, given=Said("an empty object"), wanted=wanted))

    return check


def _unknown(name: str, path: str, members: Mapping[str, object]) -> InputError:
    tidy = re.fullmatch(r"[A-Za-z0-9_-]{1,40}", name)
    called = f"the member '{name}'" if tidy else f"a member with a name of {len(name):,} characters"
    if close := tidy and get_close_matches(name, members, n=1, cutoff=0.5):
        wanted = f"'{close[0]}' or another member that `counterfoil slip schema` lists"
    elif len(members) <= 8:
        wanted = f"nothing beside {', '.join(members)}"
    else:
        wanted = "nothing beside the members that `counterfoil slip schema` lists"
    return InputError(field=path or "slip", given=_Member(called), wanted=wanted)


def _array(compiler: _Compiler, node: Schema) -> Check:
    member = compiler.check_of(node["items"])
    least, most = node.get("minItems", 0), _limit(node, "maxItems")
    wanted = node.get("description", f"a list of {least} to {most}")

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if not isinstance(value, list) or not least <= len(value) <= most:
            found.append(InputError(field=path, given=shown(value, path, plain=False), wanted=wanted))
            return
        for number, inner in enumerate(value, 1):
            member(inner, f"{path}[{number}]", found)

    return check


def _limit(node: Schema, keyword: str) -> int:
    if keyword not in node:
        raise ValueError(f"a schema without {keyword}: {node.get('description', node)}")
    limit: int = node[keyword]
    return limit


def _string(node: Schema) -> Check:
    pattern = re.compile(node["pattern"]).search if "pattern" in node else None
    bounded = node.get("pattern", "").startswith("^")  # a pattern of the whole text is a limit itself
    least, most = node.get("minLength", 0), node.get("maxLength", 2**31) if bounded else _limit(node, "maxLength")
    checked = _FORMATS.get(node.get("format", ""))
    plain = bounded or checked is not None
    wanted = node.get("description", f"a text of {least} to {most:,} characters")

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if not isinstance(value, str) or not least <= len(value) <= most or (pattern and not pattern(value)):
            found.append(InputError(field=path, given=shown(value, path, plain=plain), wanted=wanted))
        elif checked:
            try:
                checked(value, path)
            except InputError as fault:
                given = shown(value, path, plain=True)
                found.append(InputError(field=fault.field, given=given, wanted=fault.wanted))

    return check


def _integer(node: Schema) -> Check:
    least, most = _limit(node, "minimum"), _limit(node, "maximum")
    wanted = node.get("description", f"a whole number, {least:,} to {most:,}")

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            found.append(InputError(field=path, given=shown(value, path, plain=True), wanted=wanted))

    return check


def _one_of(allowed: tuple[Any, ...], wanted: str) -> Check:
    typed = {(type(value), value) for value in allowed}

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if not isinstance(value, str | int | bool | None) or (type(value), value) not in typed:
            found.append(InputError(field=path, given=shown(value, path, plain=True), wanted=wanted))

    return check


def _enumerated(compiler: _Compiler, node: Schema) -> Check:
    return _one_of(tuple(node["enum"]), _words(compiler, node))


def _constant(compiler: _Compiler, node: Schema) -> Check:
    return _one_of((node["const"],), _words(compiler, node))


def _alternatives(compiler: _Compiler, node: Schema) -> Check:
    """Holds a value against the one branch it is meant for: by its type, by a telling word, or by its members."""
    branches = [_resolved(compiler, branch) for branch in node.get("anyOf", node.get("oneOf"))]
    checks = [compiler.check_of(branch) for branch in branches]
    name, by_word = _telling_member(compiler, branches, checks)
    objects = [
        (own, check)
        for own, branch, check in zip(_own_members(branches), branches, checks, strict=True)
        if branch.get("type") == "object"
    ]
    likely = None if "description" in node or not objects else objects[0][1]
    others = [pair for pair in zip(branches, checks, strict=True) if pair[0].get("type") != "object"]
    wanted = _words(compiler, node)

    def meant(value: Any, path: str, found: list[InputError]) -> Check | None:
        if isinstance(value, dict):
            if not name:
                fitting = [check for own, check in objects if not own.isdisjoint(value)]
                return fitting[0] if len(fitting) == 1 else likely
            word = value.get(name, NOTHING)
            if isinstance(word, str) and word in by_word:
                return by_word[word]
            given = word if word is NOTHING else shown(word, path, plain=True)
            found.append(InputError(field=f"{path}.{name}", given=given, wanted="one of " + ", ".join(by_word)))
            return _nothing_more
        return next((check for branch, check in others if _kind(value) == branch.get("type", "string")), None)

    def check(value: Any, path: str, found: list[InputError]) -> None:
        if one := meant(value, path, found):
            one(value, path, found)
        else:
            found.append(InputError(field=path, given=shown(value, path, plain=False), wanted=wanted))

    return check


def _conditional(compiler: _Compiler, node: Schema) -> Check:
    """`allOf` of `if` a member is this word `then` that object: the word says what the object must be."""
    by_word: dict[str, Check] = {}
    for branch in node["allOf"]:
        ((name, word),) = branch["if"]["properties"].items()
        by_word[word["const"]] = compiler.check_of(branch["then"])
    wanted = "one of " + ", ".join(by_word)

    def check(value: Any, path: str, found: list[InputError]) -> None:
        word = value.get(name, NOTHING) if isinstance(value, dict) else None
        if isinstance(word, str) and word in by_word:
            by_word[word](value, path, found)
        elif isinstance(value, dict):
            given = word if word is NOTHING else shown(word, path, plain=True)
            found.append(InputError(field=f"{path}.{name}", given=given, wanted=wanted))
        else:
            given = shown(value, path, plain=False)
            found.append(InputError(field=path, given=given, wanted=f"an object with the member '{name}'"))

    return check


def _nothing_more(value: Any, path: str, found: list[InputError]) -> None:
    """For a value whose fault is found already."""


_KINDS = {str: "string", bool: "boolean", int: "integer", list: "array", dict: "object"}


def _kind(value: Any) -> str:
    return _KINDS.get(type(value), "")


def _resolved(compiler: _Compiler, node: Schema) -> Schema:
    while set(node) == {"$ref"}:
        node = compiler.target(node["$ref"])
    return node


def _own_members(branches: list[Schema]) -> list[frozenset[str]]:
    """For each branch the members that it must have and no other branch may have."""
    return [
        frozenset(branch.get("required", ()))
        - {name for other in branches if other is not branch for name in other.get("properties", ())}
        for branch in branches
    ]


def _telling_member(compiler: _Compiler, branches: list[Schema], checks: list[Check]) -> tuple[str, dict[str, Check]]:
    """A member whose fixed words differ from branch to branch, and the check that each word means."""
    for name in branches[0].get("properties", {}):
        by_word: dict[str, Check] = {}
        count = 0
        for branch, check in zip(branches, checks, strict=True):
            member = _resolved(compiler, branch.get("properties", {}).get(name, {}))
            words = member.get("enum", [member["const"]] if "const" in member else [])
            by_word |= dict.fromkeys(words, check)
            count += len(words) or len(by_word) + 1  # a branch without fixed words tells nothing
        if count == len(by_word):
            return name, by_word
    return "", {}


def _words(compiler: _Compiler, node: Schema) -> str:
    """What is wanted of a member, in words: its description, or what its keywords say."""
    if "description" in node:
        return str(node["description"])
    if "$ref" in node:
        return _words(compiler, _resolved(compiler, {"$ref": node["$ref"]}))
    if "enum" in node:
        return "one of " + ", ".join(node["enum"])
    if "const" in node:
        return repr(node["const"])
    if branches := node.get("anyOf", node.get("oneOf")):
        return ", or ".join(dict.fromkeys(_words(compiler, branch) for branch in branches))
    return {"array": "a list", "object": "an object with members of its own", "boolean": "true or false"}.get(
        node.get("type", ""), "a text"
    )


def _is_date(text: str, path: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError:
        raise InputError(field=path, given=text, wanted="a day of the calendar, such as 1984-02-29") from None


_FORMATS: Mapping[str, Callable[[str, str], object]] = {
    "date": _is_date,
    "local-moment": moments.parse_local,
    "moment": moments.parse_moment,
    "weight-unit": measures.unit,
}
_MAKERS: Mapping[str, Callable[[_Compiler, Schema], Check]] = {
    "enum": _enumerated,
    "const": _constant,
    "anyOf": _alternatives,
    "oneOf": _alternatives,
    "allOf": _conditional,
}
_KEYWORDS = (
    *_MAKERS, "type", "properties", "required", "additionalProperties", "minProperties", "items", "minItems",
    "maxItems", "minLength", "maxLength", "pattern", "minimum", "maximum",
)  # fmt: skip
