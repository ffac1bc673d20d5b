"""A slip that is still being written, as far as it goes: so that the margin can speak while somebody types.

What cannot be taken is set aside and named; what is required and missing is said to be not entered yet. The result is
for looking at only: nothing is recorded from it.
"""

import copy
import re
from dataclasses import replace
from typing import Any

from ledger.errors import InputError
from ledger.slip import reading
from ledger.slip.document import Slip

NOT_ENTERED = {"not_known": "not entered yet"}
_STEP = re.compile(r"[^.\[\]]+")
_MOST_TRIES = 100
_NOTHING_YET = "no article was entered yet"
"""stands for an item while a slip without one is read, and is taken out again"""
_PLAIN: dict[str, Any] = {
    "format": "slip/0",
    "channel": "counter",
    "tray": {"number": "-", "articles": 0},
    "number": "-",
    "articles": 0,
    "parties": [{"role": "seller", "kind": "person", "name": NOT_ENTERED}],
    "role": "seller",
    "kind": "single",
    "name": NOT_ENTERED,
    "goods": "jewelry",
    "article": "article",
    "pieces": 1,
    "items": [{"kind": "single", "goods": "other", "article": _NOTHING_YET, "pieces": 1}],
    "text": "-",
    "language": "en",
}


def provisional(document: dict[str, Any]) -> tuple[Slip | None, list[InputError]]:
    """The slip as far as it goes, and every fault by its field; no slip where the document has not even a moment."""
    left = copy.deepcopy(document)
    told: dict[str, InputError] = {}
    for _ in range(_MOST_TRIES):
        found = reading.faults_of(left)
        if not found:
            slip = reading.slip_of(left)
            entered = tuple(item for item in slip.items if item.article != _NOTHING_YET)
            return replace(slip, items=entered), list(told.values())
        for fault in found:
            told.setdefault(fault.field, fault)
        if not _all_mended(left, [_steps(fault.field) for fault in found]):
            break
    return None, list(told.values())


def _all_mended(document: dict[str, Any], faults: list[list[str | int]]) -> bool:
    """Whether any could be mended: one fault of each item or party a round, the last ones first.

    What is taken out then moves no place that is still to be mended.
    """
    one_each = {tuple(steps[:2]): steps for steps in reversed(faults)}
    return sum(_mended(document, steps) for steps in one_each.values()) > 0


def _steps(field: str) -> list[str | int]:
    return [int(step) - 1 if step.isdigit() else step for step in _STEP.findall(field)]


def _mended(document: dict[str, Any], steps: list[str | int]) -> bool:
    """Whether the member at fault could be set aside, or what is missing be put in for looking at."""
    here: Any = document
    for place, step in enumerate(steps):
        last = place == len(steps) - 1
        if isinstance(here, dict) and isinstance(step, str):
            if step in here and not last:
                here = here[step]
                continue
            if step in here and here[step] != _PLAIN.get(step):
                del here[step]
                return True
            if step not in here and step in _PLAIN:
                here[step] = copy.deepcopy(_PLAIN[step])
                return True
        elif isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
            if not last:
                here = here[step]
                continue
            del here[step]
            return True
        return _without(document, steps[:place])
    return False


def _without(document: dict[str, Any], steps: list[str | int]) -> bool:
    """Whether what stands at a place was taken out as a whole."""
    if not steps:
        return False
    here: Any = document
    for step in steps[:-1]:
        here = here[step]
    del here[steps[-1]]
    return True
