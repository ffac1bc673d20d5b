"""The tree over a book's entries: RFC 9162 section 2.1 with SHA-256.

Decides hashes, roots and the two kinds of proof: inclusion (this entry stands in a book of that root) and
consistency (this book is the earlier one with entries added). Leaves to the caller where nodes are kept: they
come through a function (level, idx) -> hash, which is asked for complete subtrees only. The node (level, idx)
covers the leaves idx * 2**level up to, not including, (idx + 1) * 2**level; level 0 holds the leaf hashes.

    level 2                 (2,0)
    level 1         (1,0)           (1,1)
    level 0     (0,0)   (0,1)   (0,2)   (0,3)   (0,4)        size 5: root = node((2,0), (0,4))

Appending, rooting and proving cost O(log n) hashes. Verification refuses size 0 and anything that is not
32 bytes long, so that a placeholder cannot pass for a hash.

>>> kept = {}
>>> for size, entry in enumerate([b"", b"\\x00", b"\\x10"]):
...     for level, idx, value in new_nodes(size, leaf_hash(entry), lambda level, idx: kept[level, idx]):
...         kept[level, idx] = value
>>> top = root(3, lambda level, idx: kept[level, idx])
>>> path = inclusion(1, 3, lambda level, idx: kept[level, idx])
>>> verify_inclusion(leaf_hash(b"\\x00"), 1, 3, path, top)
True

Source: RFC 9162 (2021), 2.1.1 hashes, 2.1.3 inclusion, 2.1.4 consistency.
"""

from collections.abc import Callable, Sequence
from hashlib import sha256

HASH_BYTES = 32
EMPTY_ROOT = sha256(b"").digest()

NodeAt = Callable[[int, int], bytes]


def leaf_hash(data: bytes) -> bytes:
    """Hash of one entry's bytes. Shape: SHA-256(00 | data)."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash of two subtrees. Shape: SHA-256(01 | left | right)."""
    return sha256(b"\x01" + left + right).digest()


def new_nodes(size: int, leaf: bytes, node: NodeAt) -> list[tuple[int, int, bytes]]:
    """Complete nodes (level, idx, hash) that appear when `leaf` becomes entry number `size`, lowest first.

    node: asked only for the left neighbours of the new nodes.
    """
    level, idx, value = 0, size, leaf
    found = [(level, idx, value)]
    while idx % 2:  # a right child closes its parent
        value = node_hash(node(level, idx - 1), value)
        level, idx = level + 1, idx // 2
        found.append((level, idx, value))
    return found


def root(size: int, node: NodeAt) -> bytes:
    """Hash over the first `size` entries; EMPTY_ROOT for none."""
    return _range_hash(0, size, node) if size else EMPTY_ROOT


def _range_hash(begin: int, end: int, node: NodeAt) -> bytes:
    """Hash over the entries begin to end - 1, where `begin` is the start of a subtree.

    A range that is no complete subtree falls into complete ones, one for each bit of its length; the largest
    comes first and the smaller ones hang to its right, so they are folded from the right.
    """
    width = end - begin
    value = b""
    for level in range(width.bit_length()):
        if width >> level & 1:
            end -= 1 << level
            complete = node(level, end >> level)
            value = node_hash(complete, value) if value else complete
    return value


def inclusion(index: int, size: int, node: NodeAt) -> tuple[bytes, ...]:
    """The hashes that lead from entry `index` to the root of the first `size` entries, nearest first.

    Requires 0 <= index < size; anything else is ValueError.
    """
    if not 0 <= index < size:
        raise ValueError(f"entry {index} does not lie in a book of {size} entries")
    path: list[bytes] = []
    begin, end = 0, size
    while end - begin > 1:
        middle = begin + _split(end - begin)
        if index < middle:
            path.append(_range_hash(middle, end, node))
            end = middle
        else:
            path.append(_range_hash(begin, middle, node))
            begin = middle
    return tuple(reversed(path))


def consistency(old: int, new: int, node: NodeAt) -> tuple[bytes, ...]:
    """The hashes that show the first `new` entries to begin with the first `old`.

    Requires 0 < old <= new; anything else is ValueError.
    """
    if not 0 < old <= new:
        raise ValueError(f"a book of {new} entries cannot be shown to extend one of {old}")
    path: list[bytes] = []
    begin, end = 0, new
    while end != old:
        middle = begin + _split(end - begin)
        if old <= middle:
            path.append(_range_hash(middle, end, node))
            end = middle
        else:
            path.append(_range_hash(begin, middle, node))
            begin = middle
    if begin:  # else the old root itself is the first hash, and the verifier has it
        path.append(_range_hash(begin, end, node))
    return tuple(reversed(path))


def _split(width: int) -> int:
    """The largest power of two below `width`, which is above 1."""
    return 1 << ((width - 1).bit_length() - 1)


def root_from_inclusion(leaf: bytes, index: int, size: int, path: Sequence[bytes]) -> bytes:
    """The root that this path leads to from this leaf.

    Raises: ValueError when no path of that length leads from `index` to the root of `size` entries, or a hash
    is not 32 bytes long.

    Source: RFC 9162, 2.1.3.2.
    """
    if not 0 <= index < size:
        raise ValueError(f"entry {index} does not lie in a book of {size} entries")
    if not _are_hashes([leaf, *path]):
        raise ValueError("a hash is not 32 bytes long")
    place, last, value = index, size - 1, leaf
    for step in path:
        if not last:
            raise ValueError("the path is too long")
        if place % 2 or place == last:
            value = node_hash(step, value)
            while not place % 2 and place:
                place, last = place >> 1, last >> 1
        else:
            value = node_hash(value, step)
        place, last = place >> 1, last >> 1
    if last:
        raise ValueError("the path is too short")
    return value


def verify_inclusion(leaf: bytes, index: int, size: int, path: Sequence[bytes], root: bytes) -> bool:
    """Whether the path leads from this leaf, as entry `index` of `size`, to this root."""
    try:
        return root_from_inclusion(leaf, index, size, path) == root
    except ValueError:
        return False


def verify_consistency(old: int, new: int, path: Sequence[bytes], old_root: bytes, new_root: bytes) -> bool:
    """Whether the path shows a book of `new` entries to begin with the `old` entries under `old_root`.

    Source: RFC 9162, 2.1.4.2.
    """
    if not 0 < old <= new or not _are_hashes([old_root, new_root, *path]):
        return False
    if old == new:
        return not path and old_root == new_root
    if not path:
        return False
    steps = list(path) if old & (old - 1) else [old_root, *path]  # a complete old tree is its own first step
    place, last = old - 1, new - 1
    while place % 2:
        place, last = place >> 1, last >> 1
    before = after = steps[0]
    for step in steps[1:]:
        if not last:
            return False
        if place % 2 or place == last:
            before, after = node_hash(step, before), node_hash(step, after)
            while not place % 2 and place:
                place, last = place >> 1, last >> 1
        else:
            after = node_hash(after, step)
        place, last = place >> 1, last >> 1
    return not last and before == old_root and after == new_root


def _are_hashes(values: Sequence[bytes]) -> bool:
    return all(len(value) == HASH_BYTES for value in values)


def all_levels(leaves: Sequence[bytes]) -> list[list[bytes]]:
    """Every complete node over these leaf hashes; [level][idx], levels[0] the leaves, [] for no leaves."""
    levels = [list(leaves)] if leaves else []
    while levels and len(levels[-1]) > 1:
        below = iter(levels[-1])
        levels.append([sha256(b"\x01" + left + right).digest() for left, right in zip(below, below, strict=False)])
    return levels
