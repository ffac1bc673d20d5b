"""The JSON Schema of a rule file, made from the same form that the program reads by.

Decides: how each shape reads as JSON Schema (draft 2020-12). A date stands as text of the form 2026-07-01,
since JSON has none, and a number with decimals that are all noughts is whole, as JSON Schema has it. The schema
accepts exactly the shapes that the program accepts; what no schema can say (names of facts, dates that overlap) is
found by `ledger.law.files.read`.

>>> json_schema()["additionalProperties"]
False
"""

from typing import Any

from ledger.law.form import FILE
from ledger.law.shapes import AnyOf, Day, Either, Flag, Key, ListOf, Recursive, Shape, Table, Text, Whole, Word


def json_schema() -> dict[str, Any]:
    """The schema as a JSON value."""
    definitions: dict[str, Any] = {}
    body = _table(FILE, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rule file of counterfoil",
        **body,
        "$defs": definitions,
    }


def _table(table: Table, definitions: dict[str, Any]) -> dict[str, Any]:
    body: dict[str, Any] = {
        "type": "object",
        "properties": {key.name: _key(key, definitions) for key in table.keys},
        "additionalProperties": False,
    }
    needed = [key.name for key in table.keys if key.need]
    if needed:
        body["required"] = needed
    if table.one_of:
        body["oneOf"] = [{"required": [name]} for name in table.one_of]
    return body


def _key(key: Key, definitions: dict[str, Any]) -> dict[str, Any]:
    return {**_shape(key.shape, definitions), "description": key.says}


def _shape(shape: Shape, definitions: dict[str, Any]) -> dict[str, Any]:
    match shape:
        case Text():
            # Not blank; and $ alone would let a line break follow in some readers.
            pattern = f"^(?:{shape.pattern})$(?!\\n)" if shape.pattern else r"\S"
            return {"type": "string", "minLength": 1, "maxLength": shape.longest, "pattern": pattern}
        case Word():
            return {"enum": list(shape.options)}
        case Day():
            return {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$(?!\n)"}
        case Flag():
            return {"type": "boolean"}
        case Whole():
            return {"type": "integer", "minimum": shape.low, "maximum": shape.high}
        case ListOf():
            return {
                "type": "array",
                "minItems": shape.least,
                "maxItems": shape.most,
                "items": _shape(shape.item, definitions),
            }
        case Either():
            return {"oneOf": [_shape(shape.text, definitions), _shape(shape.table, definitions)]}
        case AnyOf():
            return {"anyOf": [_shape(one, definitions) for one in shape.shapes]}
        case Table():
            return _table(shape, definitions)
        case Recursive():
            if shape.name not in definitions:
                definitions[shape.name] = {}
                definitions[shape.name].update(_table(shape.table(), definitions))
            return {"$ref": f"#/$defs/{shape.name}"}
        case _:
            words = {"type": "array", "minItems": 1, "items": {"type": "string"}}
            return {"anyOf": [{"type": ["string", "integer", "boolean"]}, words]}
