"""The form of an evidence document as JSON Schema (draft 2020-12), for the slip's schema to hold.

Decides: which members each kind of test has, and the words each may choose from. Leaves to `evidence` reading a
document with better sentences than a schema can, and to `findings` whether figures can be true.

>>> sorted(MEMBERS["magnet"])
['pull']
"""

from typing import Any

from ledger.assay.density import ELEMENTS
from ledger.measures import UNITS

CHOICES: dict[str, tuple[str, ...]] = {
    "unit-of-elements": ("per-mille", "per-cent"),
    "geometry": ("flat", "curved", "tiny"),
    "depth": ("light", "deep"),
    "result": ("holds", "fades", "gone"),
    "colour": ("bright-red", "dark-red", "brown", "green", "blue", "yellow", "none"),
    "bubbles": ("none", "seen"),
    "pull": ("none", "weak", "strong"),
    "visual": ("one-colour", "other-metal-at-wear", "seam", "verdigris", "hollow", "filled", "solder", "other"),
    "cut": ("one-metal", "layers", "filler", "hollow"),
    "who": ("seller", "shop"),
    "metal": ("gold", "silver", "platinum", "palladium"),
    "method": ("pin", "dip", "drill", "fire-assay", "other"),
    "leaves-a-mark": ("filed-xrf", "streak", "cut", "stripped", "melt"),
}
"""Words that a member may be, by the kind of choice."""

LONGEST_TEXT = 400
MOST = 60
"""Tests in a document, readings in a test."""


def _choice(name: str) -> dict[str, Any]:
    return {"enum": list(CHOICES[name])}


def _object(needed: tuple[str, ...], members: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "required": list(needed), "properties": members, "additionalProperties": False}


def _list(each: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "minItems": 1, "maxItems": MOST, "items": each}


_TEXT = {"type": "string", "maxLength": LONGEST_TEXT}
_NUMBER = {
    "type": "string",
    "pattern": r"^[0-9]{1,9}(\.[0-9]{1,9})?$",
    "description": "a number as decimal text, such as '12.34'",
}
_UNIT = {"enum": list(UNITS)}
_YES = {"type": "boolean"}

_COMMON: dict[str, Any] = {
    **dict.fromkeys(("instrument", "by", "at", "spot", "part", "note"), _TEXT),
    "consent": _object(("given",), {"given": _YES, "mark_left": _TEXT}),
}
_READING = _object(
    ("elements",),
    {
        "elements": {
            "type": "object",
            "properties": dict.fromkeys(ELEMENTS, _NUMBER),
            "additionalProperties": False,
        },
        "spot": _TEXT,
        "part": _TEXT,
    },
)
_XRF = {
    "unit": _choice("unit-of-elements"),
    "readings": _list(_READING),
    "uncertainty": _NUMBER,
    "geometry": _choice("geometry"),
    "message": _TEXT,
}

MEMBERS: dict[str, dict[str, Any]] = {
    "xrf": _XRF,
    "filed-xrf": _XRF,
    "streak": {
        "acid_karat": _NUMBER,
        "depth": _choice("depth"),
        "result": _choice("result"),
        "batch": _TEXT,
        "opened": _TEXT,
        "needles": _YES,
        "control": _object(("karat", "result"), {"karat": _NUMBER, "result": _choice("result")}),
    },
    "density": {
        "air": _NUMBER,
        "water": _NUMBER,
        "unit": _UNIT,
        "interval": _NUMBER,
        "water_temperature": _NUMBER,
        "air_after": _NUMBER,
        "bubbles": _choice("bubbles"),
        "stones": _object(
            ("weight", "unit", "density"),
            {"weight": _NUMBER, "unit": _UNIT, "density": _NUMBER, "estimated": _YES},
        ),
    },
    "magnet": {"pull": _choice("pull")},
    "conductance": {
        "readings": _list(_object(("kilohertz", "iacs"), {"kilohertz": _NUMBER, "iacs": _NUMBER})),
        "uncertainty": _NUMBER,
        "thickness_mm": _NUMBER,
    },
    "ultrasound": {"calliper_mm": _NUMBER, "shown_mm": _NUMBER},
    "visual": {"shows": _list(_choice("visual")), "text": _TEXT},
    "cut": {"shows": _choice("cut")},
    "stripped": {"who": _choice("who"), "shell": _NUMBER, "unit": _UNIT},
    "melt": {
        "metal": _choice("metal"),
        "fineness": _NUMBER,
        "method": _choice("method"),
        "uncertainty": _NUMBER,
        "laboratory": _TEXT,
        "before": _NUMBER,
        "after": _NUMBER,
        "unit": _UNIT,
    },
    "consent": {"given": _YES, "to": _list(_choice("leaves-a-mark"))},
    "silver-streak": {
        "colour": _choice("colour"),
        "depth": _choice("depth"),
        "batch": _TEXT,
        "opened": _TEXT,
        "control": _object(("fineness", "colour"), {"fineness": _NUMBER, "colour": _choice("colour")}),
    },
}
"""Members of each kind of test beside those that all have."""

NEEDED: dict[str, tuple[str, ...]] = {
    "xrf": ("unit", "readings"),
    "filed-xrf": ("unit", "readings"),
    "streak": ("acid_karat", "depth", "result"),
    "silver-streak": ("colour", "depth"),
    "density": ("air", "water", "unit"),
    "magnet": ("pull",),
    "conductance": ("readings",),
    "ultrasound": ("calliper_mm", "shown_mm"),
    "visual": ("shows",),
    "cut": ("shows",),
    "stripped": ("who", "shell", "unit"),
    "melt": ("metal", "fineness", "method"),
    "consent": ("given",),
}


def _test(name: str) -> dict[str, Any]:
    common = {member: form for member, form in _COMMON.items() if member != name}
    members = {"test": {"const": name}, **common, **MEMBERS[name]}
    return {
        "if": {"properties": {"test": {"const": name}}, "required": ["test"]},
        "then": _object(("test", *NEEDED[name]), members),
    }


EVIDENCE_SCHEMA: dict[str, Any] = {
    "type": "array",
    "maxItems": MOST,
    "items": {
        "type": "object",
        "required": ["test"],
        "properties": {"test": {"enum": list(MEMBERS)}},
        "allOf": [_test(name) for name in MEMBERS],
    },
}
"""JSON Schema of a whole evidence document; every object in it refuses members it does not know."""
