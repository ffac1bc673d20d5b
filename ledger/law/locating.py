"""Where each key of a TOML text stands.

The standard library's reader gives values without positions, so a fault could not name its line. This walks a
text that the standard library has already accepted and notes where each key, header and array element begins.
Decides nothing about values. On a text it cannot follow it stops and keeps what it found.

>>> Places('title = "x"\\n[[hold]]\\nid = "a"\\n').line(("hold", 0, "id"))
3
"""

import contextlib
import re
from collections.abc import Sequence

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SPACE = re.compile(r"[ \t]*")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL = re.compile(r"'[^'\n]*'")
_BASIC_LONG = re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.DOTALL)
_LITERAL_LONG = re.compile(r"'''(?:[^']|'(?!''))*'{3,5}", re.DOTALL)
_SCALAR = re.compile(r"[^,\]}\n#]+")
HEADER = re.compile(r"^[ \t]*\[{1,2}[A-Za-z0-9_.\"' \t-]+\]{1,2}[ \t]*(?:#.*)?$", re.MULTILINE)
"""a line that opens a table"""


class _Lost(Exception):
    """The text is not TOML as this walk knows it."""


class Places:
    """Positions of the keys of one text."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._found: dict[Path, int] = {}
        self._arrays: dict[Path, int] = {}
        self.headers: set[Path] = set()
        """paths of the tables that a line in brackets opens"""
        with contextlib.suppress(_Lost, RecursionError):
            self._document()

    def line(self, path: Sequence[str | int]) -> int:
        """Line of a path, counted from 1; that of the nearest table around it if the path is not in the text."""
        return self._text.count("\n", 0, self._offset(path)) + 1

    def place(self, path: Sequence[str | int]) -> tuple[int, int]:
        """Line and column of a path, both counted from 1."""
        return self.line(path), self.column(path)

    def column(self, path: Sequence[str | int]) -> int:
        """Column of a path, counted from 1."""
        offset = self._offset(path)
        return offset - (self._text.rfind("\n", 0, offset) + 1) + 1

    def _offset(self, path: Sequence[str | int]) -> int:
        whole = tuple(path)
        while whole and whole not in self._found:
            whole = whole[:-1]
        return self._found.get(whole, 0)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        if match is None:
            raise _Lost
        self._at = match.end()
        return match[0]

    def _next(self, wanted: str) -> bool:
        if self._text.startswith(wanted, self._at):
            self._at += len(wanted)
            return True
        return False

    def _must(self, wanted: str) -> None:
        if not self._next(wanted):
            raise _Lost

    def _document(self) -> None:
        table: Path = ()
        while True:
            self._skip(_BLANK)
            if self._at >= len(self._text):
                return
            begin = self._at
            if self._next("[["):
                table = self._header(begin, "]]", of_many=True)
            elif self._next("["):
                table = self._header(begin, "]", of_many=False)
            else:
                self._pair(table)

    def _header(self, begin: int, end: str, *, of_many: bool) -> Path:
        keys = self._keys()
        self._must(end)
        path: Path = ()
        for key in keys[:-1]:
            self._found.setdefault((*path, key), begin)
            path = self._into((*path, key))
        path = (*path, keys[-1])
        self._found.setdefault(path, begin)
        if not of_many:
            self.headers.add(path)
            return path
        self._arrays[path] = self._arrays.get(path, -1) + 1
        path = self._into(path)
        self.headers.add(path)
        self._found[path] = begin
        return path

    def _into(self, path: Path) -> Path:
        """A path, with the newest element where it names an array of tables."""
        return (*path, self._arrays[path]) if path in self._arrays else path

    def _keys(self) -> list[str]:
        keys = []
        while True:
            self._skip(_SPACE)
            if self._text.startswith('"', self._at):
                keys.append(self._skip(_BASIC)[1:-1])
            elif self._text.startswith("'", self._at):
                keys.append(self._skip(_LITERAL)[1:-1])
            else:
                keys.append(self._skip(_BARE))
            self._skip(_SPACE)
            if not self._next("."):
                return keys

    def _pair(self, table: Path) -> None:
        self._skip(_SPACE)
        begin = self._at
        keys = self._keys()
        path = table
        for key in keys:
            path = (*path, key)
            self._found.setdefault(path, begin)
        self._must("=")
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: Path) -> None:
        if self._next("["):
            self._array(path)
        elif self._next("{"):
            self._inline(path)
        else:
            for opening, pattern in (
                ('"""', _BASIC_LONG),
                ("'''", _LITERAL_LONG),
                ('"', _BASIC),
                ("'", _LITERAL),
            ):
                if self._text.startswith(opening, self._at):
                    self._skip(pattern)
                    return
            self._skip(_SCALAR)

    def _array(self, path: Path) -> None:
        number = 0
        while True:
            self._skip(_BLANK)
            if self._next("]"):
                return
            self._found[(*path, number)] = self._at
            self._value((*path, number))
            number += 1
            self._skip(_BLANK)
            if not self._next(","):
                self._must("]")
                return

    def _inline(self, path: Path) -> None:
        while True:
            self._skip(_BLANK)
            if self._next("}"):
                return
            self._pair(path)
            self._skip(_BLANK)
            if not self._next(","):
                self._must("}")
                return
