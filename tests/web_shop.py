"""A counter for tests: a shop of tests/shops.py behind the real door, asked as a browser would ask.

Stands in for a browser only: keeps the cookie, brings the token back, says where a form was sent from.
"""

import asyncio
import html
import re
from collections.abc import Coroutine
from dataclasses import dataclass, field
from typing import Any, TypeVar

import httpx

from ledger.acts import setting_up
from ledger.shop import settings
from ledger.vault import keys_file
from ledger.vault.keys_file import Cost
from ledger.web import serving
from ledger.web.counter import Counter
from ledger.web.guard import Guard
from tests import shops
from tests.shops import Shop

HOST = "127.0.0.1:8470"
CLERK, CLERK_PHRASE = "ben", "the clerk's pass-phrase of a test"
PHRASES = {shops.OWNER: shops.PASS_PHRASE, CLERK: CLERK_PHRASE}
T = TypeVar("T")
Files = dict[str, tuple[str, bytes, str]]


class Client:
    """Speaks HTTP to an application in this process, one request at a time."""

    def __init__(self, guard: Guard) -> None:
        transport = httpx.ASGITransport(guard, raise_app_exceptions=False, client=("192.0.2.7", 50_000))
        self._runner = asyncio.Runner()
        self._client = httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}", follow_redirects=False)

    def request(self, method: str, url: str, **told: Any) -> httpx.Response:
        """One request; no cookie is kept."""
        self._client.cookies.clear()
        return self.run(self._client.request(method, url, **told))

    def run(self, asked: Coroutine[Any, Any, T]) -> T:
        """What a coroutine answers."""
        return self._runner.run(asked)

    def close(self) -> None:
        """Let go of the loop."""
        self._runner.run(self._client.aclose())
        self._runner.close()


@dataclass
class Web:
    """One browser in front of one counter."""

    shop: Shop
    counter: Counter
    client: Client
    cookie: str = ""
    headers: dict[str, str] = field(default_factory=lambda: {"Sec-Fetch-Site": "same-origin"})

    @property
    def token(self) -> str:
        """The token of the session that this browser is in; empty when signed out."""
        secret = self.cookie.partition("=")[2]
        session = self.counter.sessions.find(secret, self.counter.known().now, seen=False)
        return session.token if session else ""

    def ask(
        self,
        method: str,
        url: str,
        *,
        headers: dict[str, str] | None = None,
        content: bytes | None = None,
        data: dict[str, str | list[str]] | None = None,
        files: Files | None = None,
    ) -> httpx.Response:
        """One request with the cookie, as it is said; nothing is followed."""
        told = {**self.headers, **({"Cookie": self.cookie} if self.cookie else {}), **(headers or {})}
        got = self.client.request(method, url, headers=told, content=content, data=data, files=files)
        for line in got.headers.get_list("set-cookie"):
            self.cookie = "" if "Max-Age=0" in line else line.partition(";")[0]
        return got

    def get(self, url: str, **headers: str) -> httpx.Response:
        """A page."""
        return self.ask("GET", url, headers=headers)

    def post(
        self,
        url: str,
        fields: dict[str, str] | dict[str, list[str]] | dict[str, str | list[str]],
        files: Files | None = None,
        **headers: str,
    ) -> httpx.Response:
        """A form with its token."""
        data: dict[str, str | list[str]] = {"token": self.token, **fields}
        return self.ask("POST", url, data=data, files=files, headers=headers)

    def sign_in(self, staff: str, phrase: str | None = None) -> httpx.Response:
        """Sign in; the answer is a 303."""
        told = {"staff": staff, "pass_phrase": PHRASES[staff] if phrase is None else phrase}
        return self.ask("POST", "/sign-in", data={**told})

    def sign_out(self) -> httpx.Response:
        """Sign out."""
        return self.post("/sign-out", {})

    def other(self) -> "Web":
        """Another browser in front of the same counter."""
        return Web(self.shop, self.counter, self.client)


def add_clerk(shop: Shop) -> None:
    """A clerk whose pass-phrase opens the book, where there is none yet."""
    book = shop.book
    if CLERK in {staff for staff, _ in keys_file.people(book.folder / "keys.json")}:
        return
    keys_file.add_person(
        book.folder / "keys.json",
        book.opened(),
        staff=CLERK,
        role="clerk",
        pass_phrase=CLERK_PHRASE,
        chance=book.chance,
        cost=Cost(64, 1, 1),
    )
    setting_up.add_person(book, CLERK, "clerk", "Ben of the tests")


def opened(shop: Shop, *, text: bytes = b"") -> Web:
    """A counter over a shop, with an owner and a clerk, its vault closed. text: of settings.toml."""
    book = shop.book
    add_clerk(shop)
    counter = serving.counter_of(book, settings.read(text), frozenset({HOST}))
    return Web(shop, counter, Client(Guard(counter)))


def form_of(page: str, action: str) -> dict[str, str]:
    """The hidden fields of the form on a page that is sent to action."""
    found = re.search(rf'<form[^>]*action="{re.escape(html.escape(action))}".*?</form>', page, flags=re.S)
    assert found, f"no form on the page leads to {action}"
    inputs = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', found[0])
    return {html.unescape(name): html.unescape(value) for name, value in inputs}
