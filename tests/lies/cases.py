"""What the vectors have in common: bytes as hex, one case an object, one lie a list of cases."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

VECTORS = Path(__file__).parent.parent / "vectors" / "chain"

Case = dict[str, Any]
Lies = dict[str, list[Case]]
Files = dict[str, str]


def as_text(cases: list[Case]) -> str:
    """The text of a vector file."""
    return json.dumps([_hex(case) for case in cases], indent=1, sort_keys=True, ensure_ascii=True) + "\n"


def _hex(value: Any) -> Any:
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, Mapping):
        return {name: _hex(member) for name, member in value.items()}
    return [_hex(member) for member in value] if isinstance(value, list | tuple) else value


def flipped(data: bytes, bit: int) -> bytes:
    """The same bytes with one bit changed; bit 0 is the lowest of the first byte, -1 the highest of the last."""
    byte, place = divmod(bit % (8 * len(data)), 8)
    return data[:byte] + bytes([data[byte] ^ 1 << place]) + data[byte + 1 :]


def vectors(folder: str) -> dict[str, Case]:
    """Every case that lies in one folder of tests/vectors/chain, by the lie's name and its place in the file."""
    found: dict[str, Case] = {}
    for path in sorted((VECTORS / folder).glob("*.json")):
        for place, case in enumerate(json.loads(path.read_text(encoding="utf-8"))):
            found[f"{path.stem}-{place}"] = case
    return found


def published(name: str) -> Any:
    """Other people's vectors; each file names its source."""
    return json.loads((VECTORS / "published" / f"{name}.json").read_text(encoding="utf-8"))
