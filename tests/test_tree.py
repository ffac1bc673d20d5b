"""The tree: against the RFC's own recursion, published hashes, and every lie by name."""

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import tree
from tests.chain_book import small_book
from tests.lies.cases import Case, flipped, published, vectors

REFERENCE = published("rfc9162_reference_tree")
ENTRIES = [bytes.fromhex(each) for each in REFERENCE["leaves"]]
INCLUSION = vectors("inclusion")
CONSISTENCY = vectors("consistency")


# RFC 9162, section 2.1, as it stands there: slow, short, and nothing to go wrong in.


def split(size: int) -> int:
    """The largest power of two below size."""
    return 1 if size <= 2 else 2 * split((size + 1) // 2)


def mth(d: list[bytes]) -> bytes:
    if len(d) <= 1:
        return sha256(b"\x00" + d[0]).digest() if d else sha256().digest()
    k = split(len(d))
    return sha256(b"\x01" + mth(d[:k]) + mth(d[k:])).digest()


def path(m: int, d: list[bytes]) -> list[bytes]:
    if len(d) == 1:
        return []
    k = split(len(d))
    return [*path(m, d[:k]), mth(d[k:])] if m < k else [*path(m - k, d[k:]), mth(d[:k])]


def subproof(m: int, d: list[bytes], whole: bool) -> list[bytes]:
    if m == len(d):
        return [] if whole else [mth(d)]
    k = split(len(d))
    return [*subproof(m, d[:k], whole), mth(d[k:])] if m <= k else [*subproof(m - k, d[k:], False), mth(d[:k])]


class Kept:
    """Nodes as a book keeps them: appended once, asked for complete ones only."""

    def __init__(self, entries: list[bytes]) -> None:
        self.nodes: dict[tuple[int, int], bytes] = {}
        self.asked = 0
        for size, entry in enumerate(entries):
            for level, idx, value in tree.new_nodes(size, tree.leaf_hash(entry), self):
                assert (level, idx) not in self.nodes, "a node appears once"
                self.nodes[level, idx] = value

    def __call__(self, level: int, idx: int) -> bytes:
        self.asked += 1
        return self.nodes[level, idx]


def numbered(size: int) -> list[bytes]:
    return [b"entry %d" % n for n in range(size)]


class TestReferenceTree:
    """Source: the reference tree of RFC 6962 and RFC 9162 implementations, in published/."""

    @pytest.mark.parametrize("size", range(9))
    def test_each_root_is_the_published_one(self, size: int) -> None:
        expected = bytes.fromhex(REFERENCE["roots"][size])
        assert tree.root(size, Kept(ENTRIES)) == expected
        assert mth(ENTRIES[:size]) == expected

    @pytest.mark.parametrize("node", REFERENCE["nodes"], ids=lambda each: f"{each['level']}-{each['idx']}")
    def test_inner_nodes_are_the_published_ones(self, node: Case) -> None:
        expected = bytes.fromhex(node["hash"])
        assert Kept(ENTRIES).nodes[node["level"], node["idx"]] == expected
        assert tree.all_levels(list(map(tree.leaf_hash, ENTRIES)))[node["level"]][node["idx"]] == expected

    def test_the_root_of_nothing_is_the_hash_of_nothing(self) -> None:
        assert tree.root(0, Kept([])) == tree.EMPTY_ROOT == sha256().digest()


class TestAgainstTheRecursion:
    """The clever code is held against the RFC's recursion."""

    @pytest.mark.parametrize("size", [*range(1, 35), 63, 64, 65, 100])
    def test_root_nodes_and_levels_agree(self, size: int) -> None:
        entries = numbered(size)
        kept = Kept(entries)
        levels = tree.all_levels(list(map(tree.leaf_hash, entries)))
        assert tree.root(size, kept) == mth(entries)
        assert {(level, idx): node for level, row in enumerate(levels) for idx, node in enumerate(row)} == kept.nodes

    @pytest.mark.parametrize("size", [*range(1, 20), 32, 33])
    def test_every_inclusion_path_agrees_and_verifies(self, size: int) -> None:
        entries, kept = numbered(size), Kept(numbered(40))
        for index in range(size):
            proof = tree.inclusion(index, size, kept)
            assert list(proof) == path(index, entries)
            assert tree.verify_inclusion(tree.leaf_hash(entries[index]), index, size, proof, mth(entries))

    @pytest.mark.parametrize("new", [*range(1, 20), 32, 33])
    def test_every_consistency_path_agrees_and_verifies(self, new: int) -> None:
        entries, kept = numbered(new), Kept(numbered(40))
        for old in range(1, new + 1):
            proof = tree.consistency(old, new, kept)
            assert list(proof) == subproof(old, entries, True)
            assert tree.verify_consistency(old, new, proof, mth(entries[:old]), mth(entries))

    @given(st.integers(1, 300), st.data())
    def test_any_place_of_any_size_verifies(self, size: int, draw: st.DataObject) -> None:
        index, old = draw.draw(st.integers(0, size - 1)), draw.draw(st.integers(1, size))
        top = tree.root(size, KEPT)
        assert tree.verify_inclusion(KEPT(0, index), index, size, tree.inclusion(index, size, KEPT), top)
        before = tree.root(old, KEPT)
        assert tree.verify_consistency(old, size, tree.consistency(old, size, KEPT), before, top)

    def test_no_leaves_have_no_levels(self) -> None:
        assert tree.all_levels([]) == []


KEPT = Kept(numbered(300))


class TestCost:
    """Appending, rooting and proving cost O(log n) hashes."""

    @pytest.mark.parametrize("size", [1 << 16, (1 << 16) - 1, 99_999, 100_000])
    def test_a_large_book_asks_for_few_nodes(self, size: int) -> None:
        asked: list[tuple[int, int]] = []

        def node(level: int, idx: int) -> bytes:
            assert (idx + 1) << level <= size, "only complete nodes are asked for"
            asked.append((level, idx))
            return bytes(32)

        for question in (
            lambda: tree.new_nodes(size, bytes(32), node),
            lambda: tree.root(size, node),
            lambda: tree.inclusion(size // 3, size, node),
            lambda: tree.consistency(size // 3, size, node),
        ):
            asked.clear()
            question()
            assert len(asked) <= 2 * size.bit_length()


class TestLies:
    """Verification refuses size 0 and anything that is not 32 bytes long, and every lie by name."""

    @pytest.mark.parametrize("name", INCLUSION)
    def test_each_lie_about_inclusion_is_found(self, name: str) -> None:
        case = INCLUSION[name]
        given_path = [bytes.fromhex(each) for each in case["path"]]
        leaf, root = bytes.fromhex(case["leaf"]), bytes.fromhex(case["root"])
        assert tree.verify_inclusion(leaf, case["index"], case["size"], given_path, root) == case["valid"]

    @pytest.mark.parametrize("name", CONSISTENCY)
    def test_each_lie_about_consistency_is_found(self, name: str) -> None:
        case = CONSISTENCY[name]
        given_path = [bytes.fromhex(each) for each in case["path"]]
        roots = bytes.fromhex(case["old_root"]), bytes.fromhex(case["new_root"])
        assert tree.verify_consistency(case["old"], case["new"], given_path, *roots) == case["valid"]

    @given(st.integers(2, 300), st.data())
    def test_a_flipped_bit_in_a_path_is_found(self, size: int, draw: st.DataObject) -> None:
        index = draw.draw(st.integers(0, size - 1))
        proof = list(tree.inclusion(index, size, KEPT))
        step = draw.draw(st.integers(0, len(proof) - 1))
        proof[step] = flipped(proof[step], draw.draw(st.integers(0, 255)))
        assert not tree.verify_inclusion(KEPT(0, index), index, size, proof, tree.root(size, KEPT))

    @given(st.integers(2, 300), st.data())
    def test_one_entry_does_not_pass_for_another(self, size: int, draw: st.DataObject) -> None:
        index, other = draw.draw(st.permutations(range(size)))[:2]
        proof = tree.inclusion(index, size, KEPT)
        assert not tree.verify_inclusion(KEPT(0, other), index, size, proof, tree.root(size, KEPT))
        assert not tree.verify_inclusion(KEPT(0, index), other, size, proof, tree.root(size, KEPT))

    @pytest.mark.parametrize(("index", "size"), [(0, 0), (3, 3), (-1, 3)])
    def test_no_path_is_made_for_an_entry_outside(self, index: int, size: int) -> None:
        with pytest.raises(ValueError, match=f"entry {index} does not lie in a book of {size} entries"):
            tree.inclusion(index, size, KEPT)

    @pytest.mark.parametrize(("old", "new"), [(0, 0), (0, 3), (4, 3), (-1, 3)])
    def test_no_path_is_made_between_sizes_that_do_not_follow(self, old: int, new: int) -> None:
        with pytest.raises(ValueError, match=f"a book of {new} entries cannot be shown to extend one of {old}"):
            tree.consistency(old, new, KEPT)

    @pytest.mark.parametrize(
        ("leaf", "size", "steps", "why"),
        [
            (bytes(32), 4, 3, "the path is too long"),
            (bytes(32), 4, 1, "the path is too short"),
            (bytes(31), 4, 2, "a hash is not 32 bytes long"),
        ],
    )
    def test_a_path_that_leads_nowhere_says_why(self, leaf: bytes, size: int, steps: int, why: str) -> None:
        with pytest.raises(ValueError, match=why):
            tree.root_from_inclusion(leaf, 0, size, [bytes(32)] * steps)


class TestEntries:
    """Any flipped bit of an entry, any dropped, doubled or swapped entry changes the root that was sealed."""

    BOOK = small_book()
    ROOT = BOOK.root()

    def root_of(self, entries: list[bytes]) -> bytes:
        return tree.root(len(entries), Kept(entries))

    def test_the_untouched_book_has_the_sealed_root(self) -> None:
        assert self.root_of(self.BOOK.data) == self.ROOT

    @given(st.data())
    def test_a_flipped_bit_of_any_entry_is_found(self, draw: st.DataObject) -> None:
        entries = list(self.BOOK.data)
        place = draw.draw(st.integers(0, len(entries) - 1))
        entries[place] = flipped(entries[place], draw.draw(st.integers(0, 8 * len(entries[place]) - 1)))
        assert self.root_of(entries) != self.ROOT

    @given(st.integers(0, 12), st.integers(0, 12))
    def test_a_dropped_doubled_or_swapped_entry_is_found(self, one: int, other: int) -> None:
        data = self.BOOK.data
        assert self.root_of(data[:one] + data[one + 1 :]) != self.ROOT
        assert self.root_of([*data[:one], data[other], *data[one:]]) != self.ROOT
        swapped = list(data)
        swapped[one], swapped[other] = swapped[other], swapped[one]
        assert (self.root_of(swapped) != self.ROOT) == (one != other)
