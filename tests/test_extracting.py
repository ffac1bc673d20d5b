"""An extract shows a stranger what was asked for, nothing else, and no alteration of it goes unnoticed.

Checked by the checker that lies in it, by verify.html in a browser, by OpenSSL with the commands that HOW-TO-VERIFY.txt
prints, and by a reading of RFC 9162, RFC 9901 and C2SP signed-note of the tests' own.
"""

import base64
import hashlib
import io
import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from random import Random

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.acts import closing, extracting, inquiring, leaving
from ledger.acts.extracting import Wanted
from ledger.chain import canonical, seals
from ledger.errors import InputError, LockedError
from ledger.handed import verify
from tests.check_book import check_book
from tests.conftest import MOMENT
from tests.shops import Shop, open_shop
from tests.test_signing_keys import NEW, PUBLIC, change

Files = dict[str, bytes]


def handed(shop: Shop, **wanted: object) -> bytes:
    told: dict[str, object] = {"recipient": "Canary Agency", "basis": "subpoena 7", "items": ((1, 1),), **wanted}
    return extracting.extract(shop.book, Wanted(**told), "a4", at=shop.local())[1]  # type: ignore[arg-type]


def files_of(data: bytes) -> Files:
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def zipped(files: Files) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w") as made:
        for name, data in files.items():
            made.writestr(name, data)
    return kept.getvalue()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, str]:
    """An extract of one item with its parties, and the fingerprint as a stub prints it."""
    shop = open_shop(tmp_path_factory.mktemp("extract") / "book", moment=MOMENT, chance=os.urandom)
    shop.record()
    shop.record()
    data = handed(shop, parties=True)
    return data, seals.fingerprint_groups(seals.fingerprint(shop.book.opened().public))


class TestExtracting:
    """Exact entries, the parts asked for, and nothing else."""

    def test_it_is_sound_and_vouched_for_by_the_fingerprint_of_a_stub(self, made: tuple[bytes, str]) -> None:
        found = verify.check(made[0], made[1])
        assert (found.faults, found.vouched) == ([], True)
        assert found.entries >= 2
        assert found.parts > 10
        assert found.pictures > 0

    def test_without_a_fingerprint_nobody_has_vouched(self, made: tuple[bytes, str]) -> None:
        found = verify.check(made[0])
        assert found.ok
        assert not found.vouched
        assert "nobody has vouched" in found.says[0]

    def test_the_book_keeps_that_it_was_handed_out(self, shop: Shop) -> None:
        shop.record()
        entry, data = extracting.extract(shop.book, Wanted("Agency", "s. 1", ((1, 1),)), "a4", at=shop.local())
        manifest = files_of(data)["manifest.json"]
        assert entry.public == {"manifest": hashlib.sha256(manifest).hexdigest()}
        assert [one.partition("/")[0] for one in entry.about] == ["extract"]
        assert verify.check(data).ok
        check_book(shop)

    def test_people_are_in_it_only_where_the_basis_reaches_them(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        without = names_in(handed(sqlite_shop))
        with_them = names_in(handed(sqlite_shop, parties=True))
        assert not {name for name in without if name.startswith(("seller/", "declaration/"))}
        assert {"seller/name", "seller/birth_date"} <= with_them
        assert without < with_them
        narrow = names_in(handed(sqlite_shop, parts=("item/1/price",), papers=False))
        assert narrow == {"item/1/price"}

    def test_prices_and_a_dossier_beside_named_parts_are_in_it_only_where_asked_for(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        document = {"recipient": "Canary Agency", "basis": "s. 12", "items": ["1/1"]}
        assert "item/1/description" in names_in(handed(sqlite_shop))
        assert "item/1/price" not in names_in(handed(sqlite_shop))
        assert extracting.read_wanted(document).papers
        assert not extracting.read_wanted({**document, "parts": ["item/1/description"]}).papers
        assert extracting.read_wanted({**document, "parts": ["item/1/description"], "papers": True}).papers

    def test_another_item_of_the_slip_is_not_in_it(self, sqlite_shop: Shop) -> None:
        ring = sqlite_shop.slip().items[0]
        assert ring is not None
        sqlite_shop.record()
        sqlite_shop.record()
        told = names_in(handed(sqlite_shop, items=((2, 1),)))
        assert all(name.startswith("item/1/") for name in told)
        assert len(files_of(handed(sqlite_shop, items=((2, 1),)))["entries.jsonl"].splitlines()) == 2

    def test_looks_and_inquiries_are_in_no_items_extract(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        inquiring.ask(sqlite_shop.book, "ring", {"agency": "Other Agency"})
        leaving.out(sqlite_shop.book, 1, 1, "stolen-or-lost", at=sqlite_shop.local())
        kinds = [json.loads(line)["kind"] for line in files_of(handed(sqlite_shop))["entries.jsonl"].splitlines()]
        assert "outcome/0" in kinds
        assert not {"look/0", "inquiry/0", "extract/0"} & set(kinds)

    def test_entries_are_handed_out_by_number(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        data = handed(sqlite_shop, items=(), entries=(0, 2))
        assert [json.loads(line)["seq"] for line in files_of(data)["entries.jsonl"].splitlines()] == [0, 2]
        assert verify.check(data).ok

    def test_a_locked_book_hands_out_nothing(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            handed(sqlite_shop)

    def test_more_entries_than_an_extract_holds_are_refused(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        sqlite_shop.record()
        monkeypatch.setattr(extracting, "MOST_ENTRIES", 1)
        with pytest.raises(InputError, match="at most 1"):
            handed(sqlite_shop)


def names_in(data: bytes) -> set[str]:
    """Names of the parts that an extract shows, read as RFC 9901 says."""
    found = set()
    for line in files_of(data)["parts.jsonl"].splitlines():
        disclosure = json.loads(line)["disclosure"]
        found.add(json.loads(base64.urlsafe_b64decode(disclosure + "=" * (-len(disclosure) % 4)))[1])
    return found


class TestWanted:
    """What is asked for is read at the door, with one sentence for what is wrong."""

    def test_a_document_names_items_parts_and_basis(self) -> None:
        told = {"recipient": "A", "basis": "B", "items": ["12/1"], "parts": ["item/1/*"], "parties": True}
        wanted = extracting.read_wanted(told)
        assert (wanted.items, wanted.parts, wanted.parties) == (((12, 1),), ("item/1/*",), True)

    @pytest.mark.parametrize(
        ("changes", "field"),
        [
            ({"items": []}, "items"),
            ({"items": ["12"]}, "items"),
            ({"items": "12/1"}, "items"),
            ({"entries": [-1]}, "entries"),
            ({"entries": "1"}, "entries"),
            ({"recipient": ""}, "recipient"),
            ({"basis": 3}, "basis"),
            ({"parties": "yes"}, "parties"),
            ({"papers": 1}, "papers"),
            ({"parts": [3]}, "parts"),
            ({"colour": "red"}, "colour"),
        ],
    )
    def test_what_is_wrong_is_named(self, changes: dict[str, object], field: str) -> None:
        with pytest.raises(InputError) as refused:
            extracting.read_wanted({"recipient": "A", "basis": "B", "items": ["1/1"], **changes})
        assert refused.value.field == field


class TestGuessing:
    """A withheld birth date is not found by trying every day, and would be without salts."""

    def test_forty_thousand_days_are_tried(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        data = handed(sqlite_shop, papers=False)
        digests = {one for line in files_of(data)["entries.jsonl"].splitlines() for one in json.loads(line)["parts"]}
        first = datetime(1917, 1, 1).date().toordinal()
        days = [datetime.fromordinal(first + number).date().isoformat() for number in range(40_000)]
        assert "1984-02-29" in days

        def digest(content: list[object]) -> str:
            disclosure = base64.urlsafe_b64encode(canonical.encode(content)).decode().rstrip("=")
            return base64.urlsafe_b64encode(hashlib.sha256(disclosure.encode()).digest()).decode().rstrip("=")

        control = {digest(["seller/birth_date", "1984-02-29"])}
        assert not {digest(["seller/birth_date", day]) for day in days} & digests
        assert {digest(["seller/birth_date", day]) for day in days} & control, "the search finds it without salts"


# Alterations


def resigned(files: Files) -> Files:
    """With a manifest and a seal's key of the forger's own, so that everything inside agrees."""
    key = Ed25519PrivateKey.generate()
    public = key.public_key().public_bytes_raw()
    origin = files["book.vkey"].decode().split("+")[0]
    entries = {name: data for name, data in files.items() if name not in ("manifest.json", "manifest.note")}
    entries["book.vkey"] = (seals.vkey(origin, public) + "\n").encode()
    text = seals.read_note(entries["seal.txt"].decode()).text
    note = seals.sign_note(text, origin, public, key.sign)
    for name in list(entries):
        if name.startswith("proofs/"):
            entries[name] = entries[name].split(b"\n\n")[0] + b"\n\n" + note.encode()
    entries["seal.txt"] = note.encode()
    return signed_anew(entries, key.sign, public, origin)


def signed_anew(files: Files, sign: Callable[[bytes], bytes], public: bytes, origin: str) -> Files:
    kept = {name: data for name, data in files.items() if name not in ("manifest.json", "manifest.note")}
    manifest = canonical.encode({"files": {name: hashlib.sha256(data).hexdigest() for name, data in kept.items()}})
    text = f"counterfoil extract\n{hashlib.sha256(manifest).hexdigest()}\n"
    note = seals.sign_note(text, origin, public, sign)
    return {**kept, "manifest.json": manifest, "manifest.note": note.encode()}


def flipped(data: bytes, random: Random) -> bytes:
    at = random.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << random.randrange(8))]) + data[at + 1 :]


def alterations(data: bytes, random: Random) -> Iterator[tuple[str, bytes]]:
    """Altered extracts, each with its kind."""
    files = files_of(data)
    for name in files:
        for _ in range(12):
            yield f"content of {name}", zipped({**files, name: flipped(files[name], random)})
        yield f"removed {name}", zipped({key: kept for key, kept in files.items() if key != name})
        yield f"emptied {name}", zipped({**files, name: b""})
    for name in ("papers/extra.pdf", "notes.txt", "../verify.py", f"pictures/{'0' * 64}.jpg", "proofs/999.tlog-proof"):
        yield f"added {name}", zipped({**files, name: b"x"})
    kept = io.BytesIO(data)
    with zipfile.ZipFile(kept, "a") as opened, pytest.warns(UserWarning, match="Duplicate"):
        opened.writestr("parts.jsonl", files["parts.jsonl"])
    yield "doubled name", kept.getvalue()
    yield "cut zip", data[: len(data) // 2]
    yield "no zip", b"not a zip at all"
    lines = files["entries.jsonl"].splitlines(keepends=True)
    yield "entries in another order", zipped({**files, "entries.jsonl": b"".join(reversed(lines))})
    yield "an entry twice", zipped({**files, "entries.jsonl": b"".join([*lines, lines[-1]])})


class TestAltering:
    """Every altered extract is refused, and the sentence says what was done."""

    def test_each_kind_of_alteration_is_refused(self, made: tuple[bytes, str]) -> None:
        count = 0
        for kind, altered in alterations(made[0], Random(9162)):
            found = verify.check(altered, made[1])
            assert not found.ok, kind
            assert found.faults[0].endswith("."), kind
            count += 1
        assert count >= 240

    def test_an_extract_signed_anew_by_another_key_fails_against_the_fingerprint(self, made: tuple[bytes, str]) -> None:
        forged = zipped(resigned(files_of(made[0])))
        assert verify.check(forged).ok, "by itself it is sound"
        assert verify.check(forged, made[1]).faults == [
            "The extract is signed by another key than the one whose fingerprint was given."
        ]

    @pytest.mark.parametrize(
        ("name", "change", "says"),
        [
            ("entries.jsonl", lambda data: data.replace(b'"by":"', b'"by":"x', 1), "was changed"),
            ("parts.jsonl", lambda data: data + data.splitlines(keepends=True)[0], "stands twice"),
            ("proofs", lambda data: data.replace(b"index ", b"index 1", 1), "is not one for this entry"),
            ("seal.txt", lambda data: data.replace(b"\n\n", b"\n\n\n", 1), "seal"),
            ("pictures", lambda data: data + b"x", "not the picture of its name"),
            ("rules", lambda data: data + b"#", "not the rule file of its name"),
        ],
    )
    def test_the_holder_of_the_key_cannot_change_what_the_seal_fixed(
        self, sqlite_shop: Shop, name: str, change: Callable[[bytes], bytes], says: str
    ) -> None:
        sqlite_shop.record()
        files = files_of(handed(sqlite_shop, parties=True, papers=False))
        target = next(one for one in files if one.startswith(name))
        keys = sqlite_shop.book.opened()
        forged = signed_anew({**files, target: change(files[target])}, keys.sign, keys.public, sqlite_shop.book.origin)
        found = verify.check(zipped(forged))
        assert not found.ok
        assert says in " ".join(found.faults)

    def test_an_older_seal_does_not_go_with_newer_proofs(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        old = files_of(handed(sqlite_shop, papers=False))
        sqlite_shop.record()
        new = files_of(handed(sqlite_shop, papers=False))
        keys = sqlite_shop.book.opened()
        mixed = signed_anew({**new, "seal.txt": old["seal.txt"]}, keys.sign, keys.public, sqlite_shop.book.origin)
        assert "is not one for this entry and this seal" in verify.check(zipped(mixed)).faults[0]

    def test_words_below_the_manifests_signature_are_refused(self, made: tuple[bytes, str]) -> None:
        files = files_of(made[0])
        said = zipped({**files, "manifest.note": files["manifest.note"] + b"Certified by the court.\n"})
        assert verify.check(said, made[1]).faults == ["The manifest has a line below its text that is no signature."]
        signed = files["manifest.note"] + "\u2014 witness.example AAAAAAAA\n".encode()
        assert verify.check(zipped({**files, "manifest.note": signed}), made[1]).faults == []

    def test_bytes_before_the_zip_are_refused(self, made: tuple[bytes, str]) -> None:
        words = "Something stands in the zip before its first file, so that two readers may see two files."
        for data in (made[0] + made[0], after(b"PK\x03\x04", files_of(made[0]))):
            assert verify.check(data, made[1]).faults == [words]

    def test_bytes_after_the_zip_and_in_its_comment_are_refused(self, made: tuple[bytes, str]) -> None:
        words = "Something stands in the zip after its last file, so that two readers may see two files."
        for data in (made[0] + b"\n", made[0] + b"PK\x05\x06" + bytes(18) + b"x", remarked(made[0])):
            assert verify.check(data, made[1]).faults == [words]

    def test_a_file_that_does_not_unpack_is_a_fault_in_words(self, made: tuple[bytes, str]) -> None:
        kept = io.BytesIO()
        with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.writestr("HOW-TO-VERIFY.txt", b"words " * 200)
        at = len("HOW-TO-VERIFY.txt") + 30
        data = kept.getvalue()[:at] + b"\xff" * 8 + kept.getvalue()[at + 8 :]
        (fault,) = verify.check(data).faults
        assert fault.startswith("This is not a zip that can be read")

    def test_a_locked_file_and_a_false_signature_are_told_in_plain_sentences(self, made: tuple[bytes, str]) -> None:
        words = 'The file "HOW-TO-VERIFY.txt" is locked with a password, which an extract never has.'
        assert verify.check(locked(made[0]), made[1]).faults == [words]
        files = files_of(made[0])
        false = zipped({**files, "manifest.note": b"x" + files["manifest.note"]})
        (said,) = verify.check(false, made[1]).faults
        assert said == "The manifest has a false signature: the text was changed, or another key signed it."

    def test_a_fingerprint_that_is_cut_is_no_yes(self, made: tuple[bytes, str]) -> None:
        assert "64 digits" in verify.check(made[0], made[1][:-4]).faults[0]


class TestStrangers:
    """The checkers that lie in an extract need nothing of this program."""

    def test_verify_py_runs_by_itself(self, made: tuple[bytes, str], tmp_path: Path) -> None:
        with zipfile.ZipFile(io.BytesIO(made[0])) as opened:
            opened.extract("verify.py", tmp_path)
        path = tmp_path / "extract.zip"
        path.write_bytes(made[0])
        ran = run(tmp_path, sys.executable, "-I", "verify.py", "extract.zip", made[1])
        assert ran.returncode == 0, ran.stdout + ran.stderr
        assert "SOUND" in ran.stdout
        path.write_bytes(zipped({**files_of(made[0]), "seal.txt": b"x"}))
        ran = run(tmp_path, sys.executable, "-I", "verify.py", "extract.zip", made[1])
        assert ran.returncode == 3
        assert "NOT SOUND" in ran.stdout
        assert run(tmp_path, sys.executable, "-I", "verify.py").returncode == 2
        assert run(tmp_path, sys.executable, "-I", "verify.py", "none.zip").returncode == 2

    @pytest.mark.skipif(shutil.which("openssl") is None, reason="OpenSSL is not installed")
    def test_openssl_verifies_with_the_commands_that_are_printed(self, made: tuple[bytes, str], tmp_path: Path) -> None:
        with zipfile.ZipFile(io.BytesIO(made[0])) as opened:
            opened.extractall(tmp_path)
        printed = (tmp_path / "HOW-TO-VERIFY.txt").read_text()
        commands = [line.strip() for line in printed.splitlines() if re.match(r" {5}\S", line)]
        assert len(commands) >= 7
        ran = run(tmp_path, "bash", "-c", "\n".join(["set -e", *commands]))
        assert ran.returncode == 0, ran.stderr
        assert "Signature Verified Successfully" in ran.stdout
        assert re.sub(r"\s", "", made[1]) in ran.stdout
        assert hashlib.sha256((tmp_path / "manifest.json").read_bytes()).hexdigest() in ran.stdout

    @pytest.mark.skipif(shutil.which("chromium") is None, reason="Debian's chromium is not installed")
    def test_verify_html_says_the_same_in_a_browser(
        self, made: tuple[bytes, str], sqlite_shop: Shop, tmp_path: Path
    ) -> None:
        data, fingerprint = made
        files = files_of(data)
        page = files["verify.html"].decode()
        cases = {
            "sound": data,
            "changed": zipped({**files, "parts.jsonl": flipped(files["parts.jsonl"], Random(1))}),
            "removed": zipped({name: kept for name, kept in files.items() if name != "seal.txt"}),
            "added": zipped({**files, "papers/extra.pdf": b"x"}),
            "forged": zipped(resigned(files)),
            "line": zipped({**files, "manifest.note": files["manifest.note"] + b"Certified by the court.\n"}),
            "before": after(b"PK\x03\x04", files),
            "locked": locked(data),
            "tail": data + b"tail",
            "remarked": remarked(data),
            **rekeyed(sqlite_shop),
            "false": zipped({**files, "manifest.note": b"x" + files["manifest.note"]}),
        }
        told = {name: base64.b64encode(kept).decode() for name, kept in cases.items()}
        old = seals.fingerprint(sqlite_shop.book.opened().public)
        prints = {name: old if "rekeyed" in name else fingerprint for name in cases}
        script = (
            "<script>(async () => { const cases = "
            + json.dumps(told)
            + ", prints = "
            + json.dumps(prints)
            + ", said = {};"
            "for (const [name, kept] of Object.entries(cases)) said[name] = await check("
            "Uint8Array.from(atob(kept), (c) => c.charCodeAt(0)), prints[name]);"
            "document.body.replaceChildren(document.createTextNode('ANSWER' + JSON.stringify(said) + 'END'));"
            "})();</script>"
        )
        path = tmp_path / "verify.html"
        path.write_text(page.replace("</body>", script + "</body>"))
        ran = run(
            tmp_path,
            *("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=20000", "--dump-dom"),
            f"--user-data-dir={tmp_path / 'profile'}",
            path.as_uri(),
        )
        answer = re.search(r"ANSWER(.*)END", ran.stdout, re.DOTALL)
        assert answer is not None, ran.stderr[-2000:]
        said = json.loads(answer[1].replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">"))
        for name, kept in cases.items():
            ours = verify.check(kept, prints[name])
            assert said[name]["faults"] == ours.faults, name
            assert said[name]["says"] == ours.says, name
        assert said["sound"]["faults"] == said["rekeyed"]["faults"] == []
        assert len(said["rekeyed"]["says"]) == 4, "the older key, who vouched, what stands in it, the seal outside"


class TestKeyChanged:
    """A fingerprint from before a change of the key still vouches, and a change that one key alone signed does not."""

    def test_the_fingerprint_of_an_old_stub_still_counts(self, sqlite_shop: Shop) -> None:
        cases = rekeyed(sqlite_shop)
        for fingerprint in (seals.fingerprint(sqlite_shop.book.opened().public), seals.fingerprint(PUBLIC)):
            found = verify.check(cases["rekeyed"], fingerprint)
            assert (found.faults, found.vouched) == ([], True)
        assert verify.check(cases["rekeyed"], "0" * 64).faults == [
            "The extract is signed by another key than the one whose fingerprint was given."
        ]

    def test_what_is_wrong_with_a_change_or_a_seal_outside_is_said(self, sqlite_shop: Shop) -> None:
        cases = rekeyed(sqlite_shop)
        assert [verify.check(cases[name]).faults[0].partition(" in entry")[0] for name in ("rekeyed by one",)] == [
            "The change of the key"
        ]
        assert "has no seal beside it" in verify.check(cases["rekeyed without a seal"]).faults[0]
        assert "is not a proof for an entry" in verify.check(cases["rekeyed with another proof"]).faults[0]


def rekeyed(shop: Shop) -> Files:
    """Extracts of a book whose key was changed and of which a seal was taken outside: a sound one, and bad ones."""
    shop.record()
    book, old = shop.book, shop.book.opened()
    note = closing.seal(book)
    with book.writing() as page:
        page.append("seal-kept/0", about=["book"], public={"seal": note.split("\n")})
    change(shop)
    book.keys = replace(old, public=PUBLIC, secrets=replace(old.secrets, signing=bytes(range(32))))
    try:
        data = handed(shop, papers=False)
    finally:
        book.keys = old
    files = files_of(data)
    (proof,) = (name for name in files if name.startswith("keys/"))
    outside = sorted(name for name in files if name.startswith("outside/"))
    alone = "\n".join(line for line in files[proof].decode().split("\n") if old_line(line, book.origin, old.public))
    without = {name: kept for name, kept in files.items() if not name.endswith(".txt") or "/" not in name}
    mixed = {**files, next(one for one in outside if "-" in one): files[proof]}
    bad = {"rekeyed by one": {**files, proof: alone.encode()}, "rekeyed without a seal": without}
    bad["rekeyed with another proof"] = mixed
    anew = {name: zipped(signed_anew(each, NEW.sign, PUBLIC, book.origin)) for name, each in bad.items()}
    return {"rekeyed": data, **anew}


def old_line(line: str, origin: str, public: bytes) -> bool:
    """Whether a line of a note is none of the new key's signatures."""
    own = base64.b64encode(seals.key_id(origin, public)).decode()[:5]
    return not line.startswith("\u2014 ") or line.split(" ")[2].startswith(own)


def remarked(data: bytes) -> bytes:
    """The same zip with a comment at its end."""
    return data[:-2] + b"\x05\x00words"


def locked(data: bytes) -> bytes:
    """The same zip, its first file marked as locked with a password in the list of files."""
    at = data.index(b"PK\x01\x02") + 8
    return data[:at] + bytes([data[at] | 1]) + data[at + 1 :]


def after(before: bytes, files: Files) -> bytes:
    """A zip in which other bytes stand before the first file, with places that count them."""
    kept = io.BytesIO(before)
    kept.seek(0, io.SEEK_END)
    start = kept.tell()
    with zipfile.ZipFile(kept, "a") as made:
        assert made.start_dir == start
        for name, data in files.items():
            made.writestr(name, data)
    return kept.getvalue()


def run(folder: Path, *command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=120, check=False)
