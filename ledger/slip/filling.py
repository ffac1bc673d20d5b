"""What was read off a document, written into the fields of a slip's form.

Decides: that a blank field is filled, that a filled one is never written over (it is told what was read instead), and
into which of a party's documents the reading goes. What was read stays beside each field, so that it can be compared.
Leaves to others: reading (`identity`), whether the clerk compared it with the document in hand (a field of its own).
A form field's name is its path in the document with dots; ui.barcode.PATH and ui.lines.PATH hold what was read there.

>>> found = fill({"parties.0.name.family": "SAMPLER"}, 0, "barcode", {"name": {"family": "SAMPLE"}}, {})
>>> found["parties.0.name.family"], found["ui.barcode.parties.0.name.family"]
('SAMPLER', 'SAMPLE')
>>> differing(found)
('parties.0.name.family',)
"""

from collections.abc import Mapping
from typing import Any, Final

from ledger.identity import names
from ledger.slip import fields as form

Fields = Mapping[str, str]

WAYS: Final = ("barcode", "lines")
MOST_DOCUMENTS: Final = 10


def fill(fields: Fields, number: int, how: str, party: Mapping[str, Any], description: Mapping[str, str]) -> Fields:
    """The fields with what was read of the party at a position, counted from nought.

    how: barcode or lines. party: members as a slip document writes them, with one document. description: what the
    person looks like, as far as it is to be kept.
    """
    prefix = f"parties.{number}"
    (document,) = party.get("documents") or ({},)
    place = _place_of(fields, prefix, document)
    told = {name: value for name, value in party.items() if name != "documents"}
    if description:
        told["description"] = description
    read = form.fields_of(told, prefix)
    if document:
        told = {name: document[name] for name in document if name != "how_read"}
        read |= form.fields_of(told, f"{prefix}.documents.{place}")
    after = dict(fields)
    for path, value in read.items():
        if not path.endswith(".not_known"):
            after[f"ui.{how}.{path}"] = value
        if not after.get(path, "").strip() and not (path.endswith(".not_known") and after.get(path[:-10])):
            after[path] = value
            after.pop(f"{path}.not_known", None)
    if document:
        after.pop(f"{prefix}.documents.{place}.compared", None)
        after[f"{prefix}.documents.{place}.how_read"] = how
    return after


def _place_of(fields: Fields, prefix: str, document: Mapping[str, Any]) -> int:
    """The position of the same document, else of the first that has no number yet, else one more."""
    read = names.number_key_if_any(str(document.get("number", "")))
    free = None
    for place in range(MOST_DOCUMENTS):
        typed = fields.get(f"{prefix}.documents.{place}.number", "")
        if typed and read and names.number_key_if_any(typed) == read:
            return place
        kind = fields.get(f"{prefix}.documents.{place}.type", "")
        if not typed and free is None and kind in ("", document.get("type")):
            free = place
    return 0 if free is None else free


def differing(fields: Fields) -> tuple[str, ...]:
    """Fields in which something else stands than was read, in order."""
    found = []
    for name, value in fields.items():
        for way in WAYS:
            path = name.removeprefix(f"ui.{way}.")
            if path != name and fields.get(path, "").strip() and not _agree(path, fields[path], value):
                found.append(path)
    return tuple(sorted(set(found)))


def _agree(path: str, typed: str, read: str) -> bool:
    if path.endswith(".number") and ".documents." in path:
        return names.number_key_if_any(typed) == names.number_key_if_any(read)
    return names.folded_name(typed) == names.folded_name(read)


def take(fields: Fields, path: str) -> Fields:
    """The fields with what was read in place of what was typed, because the clerk said so. The barcode goes first."""
    read = next((fields[name] for way in WAYS if (name := f"ui.{way}.{path}") in fields), None)
    return fields if read is None else {**fields, path: read}


def read_as(fields: Fields, path: str) -> tuple[str, str]:
    """How a field was read and what was read there; two empty texts where nothing was."""
    for way in WAYS:
        if (name := f"ui.{way}.{path}") in fields:
            return way, fields[name]
    return "", ""


def captured(fields: Fields, path: str, told: Mapping[str, str]) -> Fields:
    """The fields with one more row in the list at path, or in place of the row of the same sort without a file.

    path: parties.N.captures or items.N.pictures. told: its members, such as what and file.
    """
    sort = {name: value for name, value in told.items() if name in ("what", "shows", "document")}
    place = 0
    while any(name.startswith(f"{path}.{place}.") for name in fields):
        row = f"{path}.{place}."
        if not fields.get(f"{row}file") and all(fields.get(f"{row}{name}") == value for name, value in sort.items()):
            break
        place += 1
    after = {name: value for name, value in fields.items() if name != f"{path}.{place}.not_taken"}
    return after | {f"{path}.{place}.{name}": value for name, value in told.items() if value}
