"""Every page of the counter before axe-core, and the slip under the Tab key, in a real browser.

Source of the rules: axe-core (Deque), which follows WCAG 2.2; of the order of focus: WCAG 2.2, 2.4.3, 2.4.7, 2.4.11.
The pages come from the table of routes: one that is new and not told of here fails.
"""

import itertools
import re
import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import pytest

from ledger.acts import drafts
from ledger.slip import fields as form
from ledger.web.routes import ROUTES
from ledger.web.visits import NOBODY, Route
from tests import shops, slip_samples, web_shop
from tests.shops import Shop
from tests.test_web_serving import serve

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser is installed")

WIDTHS: Final = (1280, 390)
"""a desk's screen and a telephone"""
TRAY: Final = "4"
SCOPE: Final = ("register", "stock", "reports", "rules")
VALUES: Final[dict[str, tuple[str, ...]]] = {"slip": ("1",), "line": ("1",), "what": SCOPE}
"""what stands in the places of a path, beside {draft}"""
NOT_PAGES: Final[dict[str, str]] = {
    "home": "leads to the trays",
    "slip-margin": "a piece of the slip page",
    "slip-picture-shown": "a picture",
    "item-picture": "a picture",
    "item-label": "a paper",
    "today-sheet": "a paper",
    "today-holds": "a paper",
    "paper": "a paper",
    "inspection-paper": "a paper",
    "static": "a file of the pages",
}
ROLES: Final = ("owner", "clerk", "inspector", NOBODY)
TOKEN: Final = re.compile(r'name="token" value="[^"]*"')
EVERY_RULE: Final[dict[str, object]] = {"resultTypes": ["violations"]}
"""of what is in order no places are worked out"""
BUT_CONTRAST: Final[dict[str, object]] = {**EVERY_RULE, "rules": {"color-contrast": {"enabled": False}}}
"""for the second width: no colour depends on the width, and this one rule takes as long as all others together"""
OFFICER: Final = {"name": "Invented Officer", "number": "4417", "agency": "Invented Agency", "power": "Invented Code 9"}


@pytest.fixture(scope="module")
def browser() -> "Iterator[Browser]":
    """Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=shutil.which("chromium"))
        yield opened
        opened.close()


@pytest.fixture
def counter(sqlite_shop: Shop) -> Iterator[tuple[str, str]]:
    """A counter with a purchase, a clerk and a slip of three items on a tray: its address and the draft."""
    sqlite_shop.record()
    web_shop.add_clerk(sqlite_shop)
    document = slip_samples.changed(("tray", {"number": TRAY, "articles": 3}))
    draft = drafts.begin(sqlite_shop.book, tray=TRAY, fields=form.fields_of(document)).id
    with serve(sqlite_shop.book.folder) as (place, _process):
        yield f"http://{place}", draft


def pages_of(role: str) -> Iterator[Route]:
    """The pages that a role may open."""
    for route in ROUTES:
        if route.method == "GET" and role in route.who and route.name not in NOT_PAGES:
            yield route


def addresses(route: Route, draft: str) -> list[str]:
    """Every address of a page to look at. Raises: KeyError for a place of the path that is not told of here."""
    places = re.findall(r"\{(\w+)\}", route.path)
    known = {**VALUES, "draft": (draft,)}
    found = []
    for chosen in itertools.product(*(known[place] for place in places)):
        told = dict(zip(places, chosen, strict=True))
        found.append(re.sub(r"\{(\w+)\}", lambda place, told=told: told[place[1]], route.path))  # type: ignore[misc]
    return found


def sign_in(page: "Page", base: str, staff: str) -> None:
    """Somebody of the shop at the counter."""
    page.goto(f"{base}/sign-in")
    page.get_by_label("Name in the book").fill(staff)
    page.get_by_label("Pass-phrase").fill(web_shop.PHRASES[staff])
    page.keyboard.press("Enter")
    page.get_by_role("button", name="sign out").wait_for()


def type_again(page: "Page") -> None:
    """The owner's pass-phrase once more."""
    page.get_by_label("Pass-phrase", exact=True).fill(shops.PASS_PHRASE)
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Let an inspector look").wait_for()


def inspector(browser: "Browser", page: "Page", base: str) -> "Page":
    """An inspector whom the owner at this page let in, before his own screen."""
    page.goto(f"{base}/inspection")
    if page.get_by_role("heading", name="Pass-phrase again").count():
        type_again(page)
    for name, value in {**OFFICER, "minutes": "30"}.items():
        page.locator(f"[name='{name}']").fill(value)
    for box in page.locator("[name='scope']").all():
        box.check()
    page.get_by_role("button", name="Open it").click()
    page.get_by_text("shown this once").wait_for()
    his = browser.new_page()
    his.goto(f"{base}/inspector")
    his.get_by_label("Code that the owner").fill(page.locator(".once code").first.inner_text())
    his.keyboard.press("Enter")
    his.wait_for_url("**/inspector/desk")
    return his


def visitors(browser: "Browser", base: str) -> "Iterator[tuple[str, Page]]":
    """Each role with a browser of its own; the owner stays signed in and lets the inspector in."""
    owner = browser.new_page()
    sign_in(owner, base, shops.OWNER)
    yield "owner", owner
    clerk = browser.new_page()
    sign_in(clerk, base, web_shop.CLERK)
    yield "clerk", clerk
    yield "inspector", inspector(browser, owner, base)
    yield NOBODY, browser.new_page()


def faults(page: "Page", called: str, *, contrast: bool = True) -> list[str]:
    """What axe finds on the page with everything unfolded, and whether it runs over the edge, at each width.

    contrast: False for a page whose colours were looked at before, as it is for somebody else.
    """
    from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]

    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        options = EVERY_RULE if contrast and width == WIDTHS[0] else BUT_CONTRAST
        for one in Axe().run(page, options=options).response["violations"]:
            found.append(f"{called} at {width}: {one['id']}, {[node['target'] for node in one['nodes']][:3]}")
        if page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"):
            found.append(f"{called} at {width}: runs over the edge")
    return found


class TestEveryPage:
    """No violation on any page that somebody may open."""

    def test_what_is_called_no_page_is_a_route(self) -> None:
        assert set(NOT_PAGES) <= {route.name for route in ROUTES if route.method == "GET"}

    def test_axe_finds_nothing_on_any_page_of_anybody(self, counter: tuple[str, str], browser: "Browser") -> None:
        base, draft = counter
        found, looked, visited = [], set(), set()
        for role, page in visitors(browser, base):
            for route in pages_of(role):
                for address in addresses(route, draft):
                    answer = page.goto(f"{base}{address}")
                    assert answer is not None
                    assert answer.headers["content-type"].startswith("text/html"), f"{route.name} is not told of here"
                    new = route.name not in visited
                    visited.add(route.name)
                    if page.get_by_role("heading", name="Pass-phrase again").count():
                        found += faults(page, f"{role}: {address}, before the pass-phrase")
                        type_again(page)
                    else:
                        assert answer.status == 200, (role, address)
                    sheet = TOKEN.sub("", page.locator(".desk").inner_html())
                    if (route.name, sheet) not in looked:
                        looked.add((route.name, sheet))
                        found += faults(page, f"{role}: {address}", contrast=new)
        assert found == []
        assert visited == {route.name for role in ROLES for route in pages_of(role)}

    def test_nor_on_what_is_said_when_something_cannot_be_done(
        self, counter: tuple[str, str], browser: "Browser"
    ) -> None:
        base, _ = counter
        page = browser.new_page()
        page.goto(f"{base}/today")
        found = faults(page, "signed out")
        sign_in(page, base, web_shop.CLERK)
        page.goto(f"{base}/nowhere")
        found += faults(page, "no such page")
        page.goto(f"{base}/item/1/1")
        page.get_by_role("button", name="Look").click()
        page.locator("#summary").wait_for()
        found += faults(page, "a field left empty")
        page.keyboard.press("F9")
        page.locator("#cover:not([hidden])").wait_for()
        assert [*found, *faults(page, "covered")] == []


FIRST: Final = "[name='parties.0.name.family']"
"""the first field behind the scanner's box, which waits a moment whether a TAB is a scanner's"""


def reached(page: "Page", start: str, most: int) -> list[tuple[int, bool]]:
    """Where TAB leads from an element on: each one's place in the document, and whether its focus can be seen."""
    page.locator(start).focus()
    found: list[tuple[int, bool]] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        place, shown, inside = page.evaluate(
            """() => {
              const here = document.activeElement, style = getComputedStyle(here);
              const box = here.getBoundingClientRect(), line = parseFloat(style.outlineWidth);
              const ringed = style.outlineStyle !== "none" && line >= 2;
              const onScreen = box.height > 0 && box.bottom > 0 && box.top < innerHeight;
              const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
              const bare = top === here || here.contains(top) || (top && top.contains(here));
              return [[...document.querySelectorAll("*")].indexOf(here), ringed && onScreen && !!bare,
                      document.querySelector("#slip").contains(here)];
            }"""
        )
        if not inside:
            break
        found.append((int(place), bool(shown)))
    return found


class TestTheSlipByKeyboard:
    """TAB reaches the fields of the slip as they stand on the sheet, and always shows where one is."""

    @pytest.mark.parametrize("width", WIDTHS)
    def test_tab_goes_down_the_sheet_and_is_seen(
        self, counter: tuple[str, str], browser: "Browser", width: int
    ) -> None:
        base, draft = counter
        page = browser.new_page(viewport={"width": width, "height": 800})
        sign_in(page, base, web_shop.CLERK)
        page.goto(f"{base}/slip/{draft}")
        found = reached(page, FIRST, 400)
        places = [place for place, _ in itertools.groupby(place for place, _ in found)]
        assert places == sorted(places), "a date's parts are one field; nothing is gone back to"
        assert [place for place, shown in found if not shown] == []
        reachable = page.evaluate(
            """(first) => [...document.querySelectorAll("#slip :is(input, select, textarea, button, summary)")]
              .filter((one) => document.querySelector(first).compareDocumentPosition(one) === 4)
              .filter((one) => one.type !== "hidden" && one.tabIndex >= 0 && one.checkVisibility()).length""",
            FIRST,
        )
        assert len(places) >= reachable > 50
