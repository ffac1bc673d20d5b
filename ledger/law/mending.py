"""What to write where a text stops being TOML.

Decides: the sentence and the place of a fault that the standard library's reader stops at. That reader says where it
gave up, which is often a line below the mistake; this looks back for the quote or bracket that was never closed.
Leaves to `ledger.law.piecing` which part of a file is read.

>>> import tomllib
>>> text = 'a = b\\n'
>>> try:
...     tomllib.loads(text)
... except ValueError as wrong:
...     print(fault(wrong, text))
Broken(line=1, column=5, says='`a = b` cannot be read: text stands in quotes, a number in figures; write "b".')
"""

import re
from collections.abc import Callable
from typing import NamedTuple

_POSITION = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_TOKEN = re.compile(
    r"""#[^\n]*|\"""(?:[^"\\]|\\.|"(?!""))*"{3,5}|'''(?:[^']|'(?!''))*'{3,5}"""
    r"""|(?P<long>\"""|''')|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|(?P<open>[\[{])|(?P<close>[\]}])|(?P<quote>["'])""",
    re.DOTALL,
)
_PARTNER = {"[": "]", "{": "}"}
_WORD = re.compile(r"[^\s,\]}#\"']+")
_TWICE = ("Cannot overwrite", "Cannot declare", "Duplicate", "Cannot mutate", "Cannot redefine", "Cannot namespace")


class Broken(NamedTuple):
    """The place at which a text stops being TOML, and what to write."""

    line: int
    column: int
    says: str


class Unclosed(NamedTuple):
    """A quote or bracket without its partner."""

    offset: int
    sign: str


def unclosed(text: str) -> Unclosed | None:
    """The innermost quote or bracket that opens and is never closed by its own kind; None if every one is."""
    opened: list[Unclosed] = []
    for match in _TOKEN.finditer(text):
        quote = match["long"] or match["quote"]
        if quote:
            return Unclosed(match.start(), quote)
        if match["open"]:
            opened.append(Unclosed(match.start(), match["open"]))
        elif match["close"]:
            if not opened or _PARTNER[opened[-1].sign] != match["close"]:
                return opened[-1] if opened else None
            opened.pop()
    return opened[-1] if opened else None


def fault(wrong: ValueError, text: str) -> Broken:
    """Where the standard library's reader stopped, and what to write there.

    wrong: what `tomllib.loads(text)` raised.
    """
    message = str(wrong)
    position = _POSITION.search(message)
    said = message[: position.start()] if position else message
    offset = _offset(text, int(position[1]), int(position[2])) if position and position[1] else len(text.rstrip())
    if said.startswith(_TWICE):
        offset = _line_start(text, _before(text, offset))
        return _at(text, offset, f"{_shown(text, offset)} stands twice, as a key or a table; keep one of the two.")
    opened = _left_open(said, text, offset)
    if opened is not None:
        return _at(text, opened.offset, _closing(text, opened))
    return _at(text, offset, f"{_shown(text, offset)} cannot be read: {_advice(said, text, offset)}.")


def _offset(text: str, line: int, column: int) -> int:
    start = 0
    for _ in range(line - 1):
        start = text.find("\n", start) + 1
    return start + column - 1


def _line_start(text: str, offset: int) -> int:
    start = text.rfind("\n", 0, offset) + 1
    return start + len(text[start:offset]) - len(text[start:offset].lstrip())


def _before(text: str, offset: int) -> int:
    """The last place before the offset that is not blank: a statement read to its end is reported behind it."""
    return max(len(text[:offset].rstrip()) - 1, 0)


def _at(text: str, offset: int, says: str) -> Broken:
    return Broken(text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset), says)


def _line(text: str, offset: int) -> str:
    end = text.find("\n", offset)
    return text[text.rfind("\n", 0, offset) + 1 : end if end >= 0 else len(text)]


def _shown(text: str, offset: int) -> str:
    line = "".join(one if one.isprintable() else "?" for one in _line(text, offset).strip())
    return f"`{line if len(line) <= 60 else line[:57] + '...'}`" if line else "this line"


_OPEN_ENDS = (
    "Unclosed array",
    "Unclosed inline table",
    "Unterminated string",
    "Illegal character '\\n'",
    "Invalid value",
)


def _left_open(said: str, text: str, offset: int) -> Unclosed | None:
    """The quote or bracket whose missing end made the reader stop; None where the fault is another one."""
    if not said.startswith(_OPEN_ENDS):
        return None
    found = unclosed(text)
    if found is None or found.offset > offset:
        return None
    if found.sign in "[{" and text[found.offset : offset].count("\n") == 0 and offset < len(text.rstrip()):
        return None  # the bracket is closed further on; the fault is in what it holds
    return found


def _closing(text: str, opened: Unclosed) -> str:
    if opened.sign in _PARTNER:
        what = "list" if opened.sign == "[" else "table in braces"
        end = _PARTNER[opened.sign]
        return f"the {what} that opens in {_shown(text, opened.offset)} is not closed; write {end} at its end."
    return (
        f"the text that opens in {_shown(text, opened.offset)} is not closed; write a second {opened.sign} at its end."
    )


def _advice(said: str, text: str, offset: int) -> str:
    for beginning, advise in _ADVICE.items():
        if said.startswith(beginning):
            return advise(text, offset)
    return f"{said[:1].lower()}{said[1:]}; write one key on a line, and text in quotes"


def _value(text: str, offset: int) -> str:
    rest = text[offset:].lstrip(" \t")
    sign = rest[:1]
    word = _WORD.match(rest)
    if not sign or sign in "\n#":
        return "nothing stands after the sign =; write a value"
    if sign in "“”„‘’‚«»":
        return 'these are not straight quotes; write " before and behind the text'
    if sign == "=":
        return "two signs = stand here; keep one"
    if sign in ",]}":
        return "a value is missing here; write one, or remove the comma"
    found = word[0] if word else sign
    if found.lower() in ("true", "false", "yes", "no", "on", "off"):
        meant = "true" if found.lower() in ("true", "yes", "on") else "false"
        return f"write {meant}, in small letters and without quotes"
    if sign in "$€£¥":
        return f'an amount stands in quotes and without the sign; write "{found[1:]}"'
    return f'text stands in quotes, a number in figures; write "{found}"'


def _after(text: str, offset: int) -> str:
    whole = _line(text, offset)
    rest = text[offset:].lstrip(" \t")
    value = whole.partition("=")[2].strip()
    if rest.startswith(","):
        return "a comma stands at the end; remove it"
    if re.match(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}", value):
        return "a day has four figures, two and two; write it like 2026-07-01"
    if re.match(r"\d{1,2}:\d{2}", value):
        return f'a clock time stands in quotes; write "{value.split()[0]}"'
    if re.match(r"0\d", value):
        return f"a number does not begin with 0; write {value.split()[0].lstrip('0') or '0'}"
    if re.match(r"[\d.]", value):
        return f'a number stands alone, and anything else in quotes; write "{value}", or the number by itself'
    return "something stands behind the end of the value; remove it, or begin a new line"


def _equals(text: str, offset: int) -> str:
    if text[offset : offset + 1] == ":":
        return "a key and its value are joined by =; write = instead of :"
    return "the sign = is missing behind the key; write a short name without blanks, then = and the value"


def _key(text: str, offset: int) -> str:
    if text[offset : offset + 1] == "}":
        return "a comma stands before the closing brace; remove it"
    if text[offset : offset + 1] in "\n#":
        return "a table in braces stands on one line; write it without a line break"
    return "a key is a short name of letters, figures and hyphens; write such a name here"


_ADVICE: dict[str, Callable[[str, int], str]] = {
    "Invalid value": _value,
    "Expected newline": _after,
    "Expected '='": _equals,
    "Invalid initial character": _key,
    "Invalid statement": lambda text, offset: (
        "a line begins with a key or a table's name; write `key = value` or a name in brackets"
    ),
    "Expected ']": lambda text, offset: (
        "the name of a table stands in brackets that close on the line; write such as [[hold]]"
    ),
    "Unclosed array": lambda text, offset: "values of a list are parted by commas; write one here, or ] at its end",
    "Unclosed inline table": lambda text, offset: (
        "keys of a table in braces are parted by commas; write one here, or } at its end"
    ),
    "Unescaped": lambda text, offset: (
        "a backslash has a meaning of its own in double quotes; write \\\\, or put the text in single quotes"
    ),
    "Exceeds the limit": lambda text, offset: "no number in a rule file is so long; write fewer figures",
    "Invalid date": lambda text, offset: "there is no such day or hour; write it like 2026-07-01",
}
