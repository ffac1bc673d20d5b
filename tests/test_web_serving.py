"""`serve` as a process of its own: quick to open, on this machine alone unless there is TLS, stopping cleanly."""

import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from cryptography import x509

from ledger.book import engine as engines
from ledger.cli import main
from ledger.errors import InputError, StorageError
from ledger.shop import settings
from ledger.shop.settings import CounterSettings
from ledger.web import certificates, serving
from tests import shops
from tests.shops import Shop

SOON = 20.0


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@contextmanager
def serve(folder: Path, *more: str) -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """A counter in a process of its own: the address it prints, and the process."""
    port = free_port()
    command = [sys.executable, "-c", "from ledger.cli import main; main()", "serve", "--port", str(port), *more]
    began = time.perf_counter()
    process = subprocess.Popen(
        [*command, "--book", str(folder)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parent.parent,
    )
    try:
        while time.perf_counter() - began < SOON:
            assert process.poll() is None, process.stderr and process.stderr.read()
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.005)
        yield f"127.0.0.1:{port}", process
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=SOON)
        finally:
            process.kill()


def test_a_cold_start_ends_in_a_first_page_and_a_line_of_the_log(sqlite_shop: Shop) -> None:
    """How long it takes is for tests/bench/bench_first_page.py to say."""
    sqlite_shop.book.engine.dispose()
    with serve(sqlite_shop.book.folder) as (place, process):
        with urllib.request.urlopen(f"http://{place}/sign-in", timeout=SOON) as page:
            assert b"The vault is closed" in page.read()
            assert "server" not in page.headers
        process.send_signal(signal.SIGTERM)
        said, log = process.communicate(timeout=SOON)
    assert f"The counter is open: http://{place}/" in said
    assert re.search(r"GET /sign-in 200 \d+ ms", log)
    assert "Traceback" not in log


def test_what_is_no_http_is_turned_away_without_a_word_about_it(sqlite_shop: Shop) -> None:
    sqlite_shop.book.engine.dispose()
    with serve(sqlite_shop.book.folder) as (place, process):
        host, _, port = place.partition(":")
        for sent in (
            b"canary nonsense\r\n\r\n",
            b"GET /sign-in HTTP/1.1\r\n\r\n",
            b"GET / HTTP/1.1\r\nHost: canary\r\n\r\n",
        ):
            with socket.create_connection((host, int(port)), timeout=SOON) as raw:
                raw.sendall(sent)
                assert re.match(rb"HTTP/1\.1 4(00|21) ", raw.recv(200))
        process.send_signal(signal.SIGINT)
        _, log = process.communicate(timeout=SOON)
    assert "canary" not in log


class TestWhere:
    """This machine alone by default; others on the network only with TLS."""

    def test_by_default_it_is_this_machine(self, tmp_path: Path) -> None:
        place = serving.where(tmp_path, CounterSettings())
        assert (place.address, place.secure, place.url) == ("127.0.0.1", False, "http://127.0.0.1:8470/")
        assert place.hosts == {"127.0.0.1:8470", "localhost:8470", "[::1]:8470"}

    def test_the_usual_port_may_be_left_away(self, tmp_path: Path) -> None:
        assert "localhost" in serving.where(tmp_path, CounterSettings(port=80)).hosts

    @pytest.mark.parametrize("address", ["0.0.0.0", "192.0.2.4", "::"])
    def test_another_address_without_tls_is_refused_in_one_sentence(self, tmp_path: Path, address: str) -> None:
        with pytest.raises(InputError, match="a certificate first: run `counterfoil serve --make-certificate`"):
            serving.where(tmp_path, CounterSettings(address=address))

    def test_an_address_that_is_none_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="an address of this machine"):
            serving.where(tmp_path, CounterSettings(address="the counter"))

    def test_a_certificate_needs_its_key(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="both a certificate and its key"):
            serving.where(tmp_path, CounterSettings(certificate="a.pem"))

    def test_an_own_certificate_says_the_names(self, tmp_path: Path) -> None:
        certificates.make(tmp_path, ["counter.local", "192.0.2.4"], datetime.now(UTC))
        pem = str(tmp_path / "certificates" / "counter.pem")
        told = CounterSettings(address="192.0.2.4", certificate=pem, certificate_key=pem, names=("till.local",))
        place = serving.where(tmp_path, told)
        assert (place.secure, place.url) == (True, "https://192.0.2.4:8470/")
        assert {"counter.local:8470", "till.local:8470", "192.0.2.4:8470"} <= place.hosts
        for wrong, kind in (("no.pem", StorageError), (__file__, InputError)):
            with pytest.raises(kind):
                certificates.names_in(Path(wrong))

    def test_the_command_refuses_too(self, sqlite_shop: Shop) -> None:
        done = CliRunner().invoke(main, ["serve", "--book", str(sqlite_shop.book.folder), "--address", "192.0.2.4"])
        assert (done.exit_code, "--make-certificate" in done.stderr) == (2, True)

    @pytest.mark.parametrize(
        "text",
        [
            'names = "a"',
            "names = [1]",
            "port = 0",
            "port = true",
            "idle_minutes = 241",
            "longest_hours = 25",
            "address = 1",
        ],
    )
    def test_settings_that_cannot_be_are_told(self, text: str) -> None:
        with pytest.raises(InputError, match="counter"):
            settings.read(f"[counter]\n{text}\n".encode())

    def test_settings_are_read(self) -> None:
        told = settings.read(b'[counter]\nport = 9000\nnames = ["counter.local"]\n').counter
        assert (told.port, told.names, told.idle_minutes, told.longest_hours) == (9000, ("counter.local",), 15, 12)


class TestCertificate:
    """An authority that signs once, is bound to the counter's names and whose key is nowhere. Source: RFC 5280, 4.2."""

    def test_a_device_that_trusts_it_opens_the_counter_by_tls(self, sqlite_shop: Shop) -> None:
        folder = sqlite_shop.book.folder
        sqlite_shop.book.engine.dispose()
        done = CliRunner().invoke(
            main,
            ["serve", "--book", str(folder), "--make-certificate", "--address", "127.0.0.1", "--name", "counter.local"],
        )
        assert done.exit_code == 0, done.output
        for device in ("Windows", "macOS", "iPad", "Android", "Firefox"):
            assert device in done.output
        pem = folder / "certificates" / "counter.pem"
        text = (folder / "settings.toml").read_text()
        text = text.replace("[counter] ", f'[counter]\ncertificate = "{pem}"\ncertificate_key = "{pem}"\n#')
        (folder / "settings.toml").write_text(text)
        trusting = ssl.create_default_context(cafile=str(folder / "certificates" / "authority.crt"))
        with serve(folder) as (place, _process):
            with urllib.request.urlopen(f"https://{place}/sign-in", context=trusting, timeout=SOON) as page:
                assert page.status == 200
            with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
                urllib.request.urlopen(f"https://{place}/sign-in", context=ssl.create_default_context(), timeout=SOON)

    def test_its_key_is_closed_to_others_and_the_authoritys_is_nowhere(self, tmp_path: Path) -> None:
        authority = certificates.make(tmp_path, ["counter.local"], datetime.now(UTC))
        files = sorted((tmp_path / "certificates").iterdir())
        assert [path.name for path in files] == ["authority.crt", "counter.pem"]
        assert b"PRIVATE KEY" not in authority.read_bytes()
        pem = files[1].read_bytes()
        assert pem.count(b"BEGIN PRIVATE KEY") == 1
        assert files[1].stat().st_mode & 0o777 == 0o600
        own, above = x509.load_pem_x509_certificates(pem)
        own.verify_directly_issued_by(above)

    def test_it_is_bound_to_its_names_and_to_a_year(self, tmp_path: Path) -> None:
        now = datetime.now(UTC)
        authority = x509.load_pem_x509_certificate(certificates.make(tmp_path, ["counter.local"], now).read_bytes())
        bound = authority.extensions.get_extension_for_class(x509.NameConstraints)
        assert bound.critical
        assert {str(one.value) for one in bound.value.permitted_subtrees or ()} == {
            "counter.local",
            "localhost",
            "127.0.0.1/32",
        }
        basic = authority.extensions.get_extension_for_class(x509.BasicConstraints).value
        assert (basic.ca, basic.path_length) == (True, 0)
        assert authority.not_valid_after_utc - now < timedelta(days=398)

    @pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
    def test_a_stranger_finds_the_chain_sound(self, tmp_path: Path) -> None:
        certificates.make(tmp_path, ["counter.local", "192.0.2.4"], datetime.now(UTC))
        folder = tmp_path / "certificates"
        for name, good in (("counter.local", True), ("evil.example", False)):
            done = subprocess.run(
                ["openssl", "verify", "-x509_strict", "-CAfile", str(folder / "authority.crt"),
                 "-verify_hostname", name, str(folder / "counter.pem")],
                capture_output=True,
            )  # fmt: skip
            assert (done.returncode == 0) is good, done.stderr

    @pytest.mark.parametrize("name", ["", "a b", "*.local", "-" * 70, "x/y", "a..b"])
    def test_a_name_that_is_none_is_refused(self, tmp_path: Path, name: str) -> None:
        with pytest.raises(InputError):
            certificates.make(tmp_path, [name], datetime.now(UTC))


class TestLayout:
    """The database is brought to the newest layout before the first page."""

    def test_an_older_layout_is_brought_up_to_date_and_the_newest_left_alone(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        asked: list[str] = []
        monkeypatch.setattr(engines, "migrate", lambda engine: asked.append("migrate"))
        serving.bring_up_to_date(sqlite_shop.book)
        assert asked == []
        monkeypatch.setattr(engines, "layout", lambda engine: "0001")
        serving.bring_up_to_date(sqlite_shop.book)
        assert asked == ["migrate"]


@pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser is installed")
def test_a_browser_keeps_the_cookie_on_this_machine_and_finds_nothing_against_the_policy(sqlite_shop: Shop) -> None:
    """`__Host-` and Secure on http://127.0.0.1: Chromium takes it, as it holds loopback for trustworthy."""
    from playwright.sync_api import sync_playwright

    sqlite_shop.book.engine.dispose()
    with serve(sqlite_shop.book.folder) as (place, _process), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"))
        page = browser.new_page()
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.goto(f"http://{place}/rules")
        page.get_by_label("Name in the book").fill(shops.OWNER)
        page.get_by_label("Pass-phrase").fill(shops.PASS_PHRASE)
        page.keyboard.press("Enter")
        page.get_by_role("button", name="sign out").wait_for()
        assert page.url == f"http://{place}/rules"
        (cookie,) = page.context.cookies()
        assert (cookie["name"].startswith("__Host-"), cookie["secure"], cookie["httpOnly"], cookie["sameSite"]) == (
            True,
            True,
            True,
            "Strict",
        )
        page.get_by_role("button", name="sign out").click()
        page.wait_for_url(f"http://{place}/sign-in")
        assert page.context.cookies() == []
        assert [line for line in said if "Content Security Policy" in line] == []
        browser.close()
