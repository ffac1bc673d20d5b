"""FORMAT.md is true: its tables are the program's, its examples come out of it to the byte."""

import base64
import re
from pathlib import Path

import ledger.chain
from ledger.chain import canonical, entries, kinds, parts, seals, tree
from tests.chain_book import ORIGIN, key, public

PAGE = (Path(next(iter(ledger.chain.__path__))) / "FORMAT.md").read_text(encoding="utf-8")


def table(heading: str) -> list[list[str]]:
    """The rows of the table under the line that begins with these column names, cell by cell."""
    rows = PAGE[PAGE.index(heading) :].split("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]


def names(cell: str) -> list[str]:
    return re.findall(r"`([^`]+)`", cell)


class TestTables:
    """Everything a stranger needs stands on the page, and nothing else."""

    def test_the_kinds_and_their_members(self) -> None:
        rows = {names(row[0])[0]: row for row in table("| kind |")}
        assert list(rows) == list(kinds.KINDS)
        for kind, row in rows.items():
            assert kinds.Kind(frozenset(names(row[1])), frozenset(names(row[2]))) == kinds.KINDS[kind]
            assert row[3], f"{kind} says nothing"

    def test_the_public_members(self) -> None:
        described = [name for row in table("| public member |") for name in names(row[0])]
        assert sorted(described) == sorted(kinds.MEMBERS)

    def test_the_members_of_an_entry(self) -> None:
        assert [names(row[0])[0] for row in table("| member |")] == sorted(entries._ALLOWED)

    def test_the_names_and_classes_of_parts(self) -> None:
        on_page = {name: row[0] for row in table("| class |") for name in names(row[1])}
        shared = {
            name.replace("seller/", "party/#/"): cls for name, cls in on_page.items() if name.startswith("seller/")
        }
        assert on_page | shared == {name: parts.class_of(name.replace("#", "2")) for name in parts.PART_NAMES}

    def test_the_kinds_that_name_their_own_id(self) -> None:
        (sentence,) = re.findall(r"\n(`look/0`, [^:]*):", PAGE)
        named = names(sentence)
        half = len(kinds.OWN_ID_ONLY)
        assert dict(zip(named[:half], named[half + 1 :], strict=True)) == dict(kinds.OWN_ID_ONLY)

    def test_the_limits(self) -> None:
        assert f"An entry has at most {canonical.MAX_BYTES:,} bytes." in PAGE
        assert f"At most {canonical.MAX_DEPTH} objects and arrays lie inside one another" in PAGE
        assert f"±{canonical.MAX_WHOLE:,}" in PAGE


class TestExamples:
    """The examples come out of the program to the byte."""

    def blocks(self) -> list[str]:
        return re.findall(r"^```\n(.*?)^```", PAGE, flags=re.M | re.S)

    def test_the_entry_and_its_hash(self) -> None:
        entry = entries.read(self.blocks()[0].rstrip("\n").encode())
        assert (entry.kind, entry.seq, entry.prev) == ("opened/0", 0, entries.ZERO)
        assert f"`{entry.leaf.hex()}`" in PAGE
        assert entry.public["vkey"] == seals.vkey(ORIGIN, public(key()))

    def test_the_seal_its_short_form_and_the_fingerprint(self) -> None:
        entry = entries.read(self.blocks()[0].rstrip("\n").encode())
        note = self.blocks()[1]
        assert note == seals.seal(ORIGIN, 1, entry.leaf, public(key()), key().sign)
        checkpoint = seals.verify_seal(note, seals.read_vkey(entry.public["vkey"]))
        assert checkpoint.root == tree.root(1, lambda level, idx: entry.leaf)
        assert f"`{seals.short_form(1, entry.leaf)}`" in PAGE
        assert f"    {seals.fingerprint_groups(seals.fingerprint(public(key())))}\n" in PAGE

    def test_the_part(self) -> None:
        salt = bytes(range(16))
        assert f"`{salt.hex()}`" in PAGE
        part = parts.make("seller/birth_date", "1984-02-29", salt)
        assert f"    {part.disclosure}\n    {part.digest}\n" in PAGE

    def test_the_proof_file(self) -> None:
        assert self.blocks()[2].startswith("c2sp.org/tlog-proof@v1\nindex 3\n")

    def test_the_letters_that_a_digest_may_end_in(self) -> None:
        """Unused bits of the last letter are zero: 43 letters hold 258 bits, a hash has 256."""
        last = {base64.urlsafe_b64encode(bytes(31) + bytes([n]))[42] for n in range(256)}
        assert last == set(kinds._LAST_LETTERS)
