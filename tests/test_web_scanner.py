"""A scanner that types, a camera and no script at all, in front of the people's part of a slip, in a real browser."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from ledger.acts import drafts
from tests import barcode_video, shops
from tests.shops import Shop
from tests.test_web_serving import serve
from tests.test_wedge import CARD

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser is installed")

FAMILY = "[name='parties.0.name.family']"
KEYS = {"\x1e": "Control+Shift+6", "\r": "Control+m", " ": "Space"}
"""how a scanner presses control characters: Ctrl with the key that makes them, Enter for a line feed"""


@pytest.fixture
def draft(sqlite_shop: Shop) -> str:
    """An open slip on tray 4."""
    at = f"{sqlite_shop.local().isoformat()}[America/Chicago]"
    fields = {"tray.number": "4", "tray.articles": "1", "occurred_at": at, "staff": "ada", "channel": "counter"}
    return drafts.begin(sqlite_shop.book, tray="4", fields=fields).id


@pytest.fixture
def browser(tmp_path: Path) -> "Iterator[Browser]":
    """Chromium, its camera fed with a video of a card's back."""
    from playwright.sync_api import sync_playwright

    video = barcode_video.write(tmp_path / "card.mjpeg")
    camera = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    with sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=[*camera, f"--use-file-for-fake-video-capture={video}"]
        )
        yield opened
        opened.close()


def slip_page(page: "Page", place: str, draft: str) -> list[str]:
    """Sign in and open the slip; what the browser complains of meanwhile comes back as it happens."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(f"http://{place}/sign-in")
    page.get_by_label("Name in the book").fill(shops.OWNER)
    page.get_by_label("Pass-phrase").fill(shops.PASS_PHRASE)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="sign out").wait_for()
    page.goto(f"http://{place}/slip/{draft}")
    return said


def test_a_scanner_stream_stays_in_its_box_and_is_read_when_it_pauses(
    sqlite_shop: Shop, draft: str, browser: "Browser"
) -> None:
    with serve(sqlite_shop.book.folder) as (place, _process):
        page = browser.new_page()
        said = slip_page(page, place, draft)
        page.locator("#scan-0").focus()
        for key in CARD:
            page.keyboard.press("Enter" if key == "\n" else KEYS.get(key, key))
        page.get_by_text("Read, to be compared").wait_for()
        assert page.url.endswith(f"/slip/{draft}")
        assert page.locator(FAMILY).input_value() == "SAMPLE"
        assert page.locator("#scan-0").input_value() == ""
        assert page.locator(":focus").get_attribute("name") == "parties.0.documents.0.compared"
        assert said == []


def test_a_tab_key_of_a_person_still_leaves_the_box(sqlite_shop: Shop, draft: str, browser: "Browser") -> None:
    with serve(sqlite_shop.book.folder) as (place, _process):
        page = browser.new_page()
        slip_page(page, place, draft)
        page.locator("#scan-0").focus()
        page.keyboard.press("Tab")
        page.locator("#scan-0:not(:focus)").wait_for()
        assert page.locator(":focus").inner_text() == "Read the scan"
        page.keyboard.press("Shift+Tab")
        assert page.locator(":focus").get_attribute("id") == "scan-0"
        page.keyboard.press("Shift+Tab")
        page.locator("#scan-0:not(:focus)").wait_for()


def test_the_camera_reads_a_barcode_and_takes_a_picture(sqlite_shop: Shop, draft: str, browser: "Browser") -> None:
    with serve(sqlite_shop.book.folder) as (place, _process):
        page = browser.new_page()
        said = slip_page(page, place, draft)
        page.locator(".other-ways > summary").click()
        page.locator("[data-camera='barcode.0']").click()
        page.get_by_role("button", name="Take the picture").click()
        page.get_by_text("Read, to be compared").wait_for()
        assert page.locator(FAMILY).input_value() == "SAMPLE"
        page.locator("details.captures > summary").first.click()
        page.locator("[data-camera='parties.0.photo']").click()
        page.get_by_role("button", name="Take the picture").click()
        page.get_by_text("show the person").wait_for()
        assert said == []
    assert drafts.open_(sqlite_shop.book, draft).fields["parties.0.captures.0.what"] == "photo"


def test_without_scripts_a_button_reads_what_was_scanned(sqlite_shop: Shop, draft: str, browser: "Browser") -> None:
    with serve(sqlite_shop.book.folder) as (place, _process):
        page = browser.new_context(java_script_enabled=False).new_page()
        slip_page(page, place, draft)
        page.locator("#scan-0").fill(CARD.replace("\x1e", "").replace("\r", "\n"))
        page.get_by_role("button", name="Read the scan").click()
        page.get_by_text("Read, to be compared").wait_for()
        assert page.locator(FAMILY).input_value() == "SAMPLE"
        assert page.url.endswith("#party-0")


@pytest.mark.parametrize("width", [1280, 820, 390])
def test_nothing_runs_over_the_edge_and_axe_finds_nothing(
    sqlite_shop: Shop, draft: str, browser: "Browser", width: int
) -> None:
    """Accessibility faults that a machine can find: axe-core's rules (WCAG 2.2)."""
    from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]

    with serve(sqlite_shop.book.folder) as (place, _process):
        page = browser.new_page(viewport={"width": width, "height": 900})
        slip_page(page, place, draft)
        for fold in page.locator("#parties summary").all():
            if fold.is_visible():
                fold.click()
        found = Axe().run(page, context="#parties")
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
