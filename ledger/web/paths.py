"""Routes: which path is which page, who may ask for it, and how much may be posted to it.

>>> table = Routing((Route(method="GET", path="/slip/{draft}", page=print, who=frozenset({"clerk"}), name="slip"),))
>>> route, values, allowed = table.find("GET", "/slip/1f")
>>> route.name, values, allowed
('slip', {'draft': '1f'}, ('GET', 'HEAD', 'OPTIONS'))
>>> table.find("POST", "/slip/1f")[0] is None, table.find("GET", "/slip/1f/2")[2]
(True, ())
"""

import re
import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.routing import compile_path


@dataclass(frozen=True, kw_only=True)
class Route:
    """One page or act, as the browser asks for it."""

    method: str
    """GET | POST"""
    path: str
    page: Callable[[Any], Any]
    """takes a Visit and answers with a Response; runs in a thread"""
    who: frozenset[str]
    """roles; `nobody` is whoever has not signed in"""
    name: str
    most_bytes: int = 65_536
    most_fields: int = 1_000
    most_files: int = 0
    again: bool = False
    """asks for the pass-phrase again"""
    place: str = ""
    """its text in the navigation"""
    idle: bool = True
    """whether asking for it is a sign that somebody is there"""


class Routing:
    """A table of routes. Those that are asked for first stand in it at once; the rest is loaded when it is needed."""

    def __init__(self, first: Iterable[Route], rest: Callable[[], Iterable[Route]] | None = None) -> None:
        self._first = _compiled(first)
        self._rest = rest
        self._all = self._first if rest is None else None
        self._loading = threading.Lock()

    @property
    def routes(self) -> tuple[Route, ...]:
        """Every route, in order."""
        return tuple(route for route, _ in self._loaded())

    def _loaded(self) -> list[tuple[Route, re.Pattern[str]]]:
        with self._loading:
            if self._all is None and self._rest is not None:
                self._all = _compiled(self._rest())
        return self._all or self._first

    def find(self, method: str, path: str) -> tuple[Route | None, Mapping[str, str], tuple[str, ...]]:
        """The route of a request, the values in its path, and the methods that the path knows; none: no such path."""
        found = _find(self._first, method, path)
        return found if found[0] is not None else _find(self._loaded(), method, path)

    def leads(self, method: str, url: str) -> bool:
        """Whether a url is one of this counter's own paths: nothing that leads to another place passes."""
        path = url.partition("?")[0]
        if not url.isprintable() or "\\" in url or not url.startswith("/") or url.startswith("//"):
            return False
        return self.find(method, path)[0] is not None


def _compiled(routes: Iterable[Route]) -> list[tuple[Route, re.Pattern[str]]]:
    return [(route, compile_path(route.path)[0]) for route in routes]


def _find(
    table: list[tuple[Route, re.Pattern[str]]], method: str, path: str
) -> tuple[Route | None, Mapping[str, str], tuple[str, ...]]:
    wanted = "GET" if method == "HEAD" else method
    found: tuple[Route | None, Mapping[str, str]] = (None, {})
    methods: set[str] = set()
    for route, pattern in table:
        matched = pattern.fullmatch(path)
        if matched is None:
            continue
        methods.add(route.method)
        if route.method == wanted and found[0] is None:
            found = route, matched.groupdict()
    allowed = {*methods, "OPTIONS", *({"HEAD"} if "GET" in methods else ())} if methods else set()
    return *found, tuple(sorted(allowed))
