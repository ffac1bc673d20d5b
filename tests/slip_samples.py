"""The sample slip of sample_config/slips as tests change it: one place, then read."""

import copy
import json
from pathlib import Path
from typing import Any

from ledger.slip import reading
from ledger.slip.document import Slip

FOLDER = Path(__file__).parent.parent / "sample_config" / "slips"
JSON = (FOLDER / "three-items.json").read_bytes()
TOML = (FOLDER / "three-items.toml").read_bytes()
_GONE = object()
GONE: Any = _GONE
"""Put in place of a value: the member is taken out."""


def document() -> dict[str, Any]:
    """A fresh copy of the sample's document."""
    decoded: dict[str, Any] = json.loads(JSON)
    return decoded


def changed(*changes: tuple[str, Any]) -> dict[str, Any]:
    """The sample with members replaced: ("items.0.pieces", 2); parts of the path count from nought."""
    doc = document()
    for path, value in changes:
        *steps, last = path.split(".")
        place: Any = doc
        for step in steps:
            place = place[int(step)] if isinstance(place, list) else place[step]
        if value is GONE:
            del place[int(last) if isinstance(place, list) else last]
        elif isinstance(place, list):
            place[int(last) :] = [copy.deepcopy(value), *place[int(last) + 1 :]]
        else:
            place[last] = copy.deepcopy(value)
    return doc


def slip(*changes: tuple[str, Any]) -> Slip:
    """The sample slip with members replaced."""
    return reading.slip_of(changed(*changes))
