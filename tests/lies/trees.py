"""Inclusion and consistency over the eight leaves of the reference tree, and lies about both.

A lie about the size alone is told only where it changes the shape of the path: the root of a tree does not hold its
size, so that entry 0 of 3 and entry 0 of 4 have paths of one shape. The seal ties the size to the root.
"""

from collections.abc import Callable
from hashlib import sha256

from ledger.chain import tree
from tests.lies.cases import Case, Lies, flipped

# Source: the test tree of RFC 6962 implementations (certificate-transparency and transparency-dev/merkle use it).
_HEX = ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
REFERENCE_ENTRIES = tuple(map(bytes.fromhex, _HEX))
_LEAVES = [tree.leaf_hash(each) for each in REFERENCE_ENTRIES]
_LEVELS = tree.all_levels(_LEAVES)
_GARBAGE = tree.leaf_hash(b"garbage")

INCLUSIONS = ((0, 1), (0, 8), (5, 8), (2, 3), (1, 5), (4, 5), (3, 7), (6, 7))
CONSISTENCIES = ((1, 8), (6, 8), (2, 5), (3, 7), (4, 8), (7, 8), (5, 6))

Lie = Callable[[Case], Case]


def node(level: int, idx: int) -> bytes:
    return _LEVELS[level][idx]


def _inclusion(index: int, size: int) -> Case:
    path = list(tree.inclusion(index, size, node))
    return {"leaf": _LEAVES[index], "index": index, "size": size, "path": path, "root": tree.root(size, node)}


def _consistency(old: int, new: int) -> Case:
    path = list(tree.consistency(old, new, node))
    return {"old": old, "new": new, "path": path, "old_root": tree.root(old, node), "new_root": tree.root(new, node)}


def _path_lies() -> dict[str, Lie]:
    """Lies that both kinds of proof share: `path` is what is lied about."""
    return {
        "truncated-proof": lambda case: {"path": case["path"][:-1]},
        "beheaded-proof": lambda case: {"path": case["path"][1:]},
        "trailing-garbage": lambda case: {"path": [*case["path"], _GARBAGE]},
        "leading-garbage": lambda case: {"path": [_GARBAGE, *case["path"]]},
        "doubled-last-hash": lambda case: {"path": [*case["path"], *case["path"][-1:]]},
        "empty-proof": lambda case: {"path": []},
        "reversed-proof": lambda case: {"path": case["path"][::-1]},
        "first-hash-lowest-bit": lambda case: {"path": [flipped(case["path"][0], 0), *case["path"][1:]]},
        "first-hash-highest-bit": lambda case: {"path": [flipped(case["path"][0], -1), *case["path"][1:]]},
        "last-hash-lowest-bit": lambda case: {"path": [*case["path"][:-1], flipped(case["path"][-1], 0)]},
        "hash-one-byte-short": lambda case: {"path": [*case["path"][:-1], case["path"][-1][:-1]]},
        "hash-one-byte-long": lambda case: {"path": [*case["path"][:-1], case["path"][-1] + b"\x00"]},
    }


def _lies(happy: list[Case], lies: dict[str, Lie]) -> Lies:
    """Each lie about each happy case; where a lie changes nothing or cannot be told, it is left out."""
    told: Lies = {"happy": [{**case, "valid": True} for case in happy]}
    for name, lie in lies.items():
        changed = [{**case, **lie(case)} for case in happy if case["path"]]
        told[name] = [{**case, "valid": False} for case in changed if case not in happy]
    return told


def inclusion_lies() -> Lies:
    happy = [_inclusion(index, size) for index, size in INCLUSIONS]
    lies: dict[str, Lie] = {
        **_path_lies(),
        "index-plus-one": lambda case: {"index": case["index"] + 1},
        "index-minus-one": lambda case: {"index": case["index"] - 1},
        "index-xor-two": lambda case: {"index": case["index"] ^ 2},
        "index-is-size": lambda case: {"index": case["size"]},
        "size-doubled": lambda case: {"size": case["size"] * 2},
        "size-halved": lambda case: {"size": case["size"] // 2},
        "size-zero": lambda case: {"size": 0},
        "another-leaf": lambda case: {"leaf": _GARBAGE},
        "leaf-lowest-bit": lambda case: {"leaf": flipped(case["leaf"], 0)},
        "leaf-is-its-neighbour": lambda case: {"leaf": case["path"][0]},
        "leaf-is-a-node": lambda case: {
            "leaf": tree.node_hash(case["leaf"], case["path"][0]),
            "path": case["path"][1:],
        },
        "leaf-is-the-root": lambda case: {"leaf": case["root"], "path": []},
        "leaf-without-its-prefix": lambda case: {"leaf": sha256(REFERENCE_ENTRIES[case["index"]]).digest()},
        "leaf-one-byte-short": lambda case: {"leaf": case["leaf"][:-1]},
        "root-lowest-bit": lambda case: {"root": flipped(case["root"], 0)},
        "root-is-the-leaf": lambda case: {"root": case["leaf"]},
        "root-of-nothing": lambda case: {"root": tree.EMPTY_ROOT},
        "root-is-empty": lambda case: {"root": b""},
    }
    return _lies(happy, lies)


def consistency_lies() -> Lies:
    happy = [_consistency(old, new) for old, new in CONSISTENCIES]
    same = {**_consistency(8, 8)}
    lies: dict[str, Lie] = {
        **_path_lies(),
        "swapped-roots": lambda case: {"old_root": case["new_root"], "new_root": case["old_root"]},
        "swapped-sizes": lambda case: {"old": case["new"], "new": case["old"]},
        "old-size-plus-one": lambda case: {"old": case["old"] + 1},
        "old-size-minus-one": lambda case: {"old": case["old"] - 1},
        "old-size-zero": lambda case: {"old": 0, "old_root": tree.EMPTY_ROOT},
        "old-size-is-new-size": lambda case: {"old": case["new"]},
        "new-size-doubled": lambda case: {"new": case["new"] * 2},
        "new-size-halved": lambda case: {"new": case["new"] // 2},
        "old-root-lowest-bit": lambda case: {"old_root": flipped(case["old_root"], 0)},
        "new-root-lowest-bit": lambda case: {"new_root": flipped(case["new_root"], 0)},
        "old-root-of-nothing": lambda case: {"old_root": tree.EMPTY_ROOT},
        "old-root-is-new-root": lambda case: {"old_root": case["new_root"]},
        "new-root-is-old-root": lambda case: {"new_root": case["old_root"]},
        "roots-are-empty": lambda case: {"old_root": b"", "new_root": b""},
        "roots-of-twelve-bytes": lambda case: {"old_root": bytes(12), "new_root": bytes(12)},
    }
    told = _lies(happy, lies)
    told["happy"].append({**same, "valid": True})
    told["same-size-other-root"] = [{**same, "new_root": _GARBAGE, "valid": False}]
    told["same-size-with-a-path"] = [{**same, "path": [_GARBAGE], "valid": False}]
    return told
