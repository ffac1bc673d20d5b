"""Slip documents drawn from the schema itself: every document it allows, as far as the form goes."""

from typing import Any

from hypothesis import strategies as st

from ledger.measures import UNITS
from ledger.slip.schema import FIGURE, SCHEMA
from tests.slip_samples import document

_FORMATS = {
    "date": st.dates().map(lambda day: day.isoformat()),
    "local-moment": st.sampled_from(
        ["2026-11-24T10:15:00-05:00[America/New_York]", "2028-02-29T23:59:59+05:30[Asia/Kolkata]"]
    ),
    "moment": st.sampled_from(["2026-11-24T10:15:00-05:00", "2026-11-24T10:15:00Z"]),
    "weight-unit": st.sampled_from(sorted(UNITS)),
}
# No control and surrogate characters, and no override of the writing direction: no document may hold them.
_TEXT = st.text(
    st.characters(
        exclude_categories=("Cc", "Cs"), exclude_characters="\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    ),
    min_size=1,
    max_size=12,
).filter(lambda text: bool(text.strip()))
_EVIDENCE = st.lists(st.sampled_from([test for item in document()["items"] for test in item["evidence"]]), max_size=2)


def documents() -> st.SearchStrategy[dict[str, Any]]:
    """Documents that the schema allows; their values need not make sense together."""
    return _of(SCHEMA)


def _of(node: dict[str, Any]) -> st.SearchStrategy[Any]:
    if "$ref" in node:
        return st.deferred(lambda: _of(SCHEMA["$defs"][node["$ref"].rsplit("/", 1)[1]]))
    if "const" in node:
        return st.just(node["const"])
    if "enum" in node:
        return st.sampled_from(node["enum"])
    if "anyOf" in node:
        return st.one_of([_of(branch) for branch in node["anyOf"]])
    match node["type"]:
        case "object":
            needed = set(node.get("required", ())) or set(list(node["properties"])[:1])
            members = {name: _of(member) for name, member in node["properties"].items()}
            return st.fixed_dictionaries(
                {name: member for name, member in members.items() if name in needed},
                optional={name: member for name, member in members.items() if name not in needed},
            )
        case "array" if "allOf" in node["items"]:
            return _EVIDENCE
        case "array":
            return st.lists(_of(node["items"]), min_size=node.get("minItems", 0), max_size=2)
        case "integer":
            return st.integers(node["minimum"], node["maximum"])
        case "boolean":
            return st.booleans()
        case _ if "format" in node:
            return _FORMATS[node["format"]]
        case _ if node == FIGURE:  # few decimals, as money and weights have
            return st.from_regex(r"[1-9][0-9]{0,3}(\.[0-9]{1,2})?", fullmatch=True)
        case _ if node["description"].startswith("the size as it is written"):
            return st.sampled_from(["9.5", "54", "7"])
        case _ if node["pattern"].startswith("^"):
            return st.from_regex(node["pattern"], fullmatch=True).filter(
                lambda text: len(text) <= node["maxLength"] and text.isprintable()
            )
        case _:
            return _TEXT
