"""What a browser posted, read in memory: forms, files in forms, plain bodies.

Decides: how many fields and files are taken, that bytes which are no UTF-8 and bodies that break off are refused.
Nothing is spooled to a disk, where a picture of a document would lie in clear. Leaves the number of bytes to `guard`,
which has counted them before.

>>> read(b"a=1&a=2&b=%C3%A9", FORM, most_fields=9, most_files=0).many
{'a': ['1', '2'], 'b': ['é']}
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final
from urllib.parse import parse_qsl

from python_multipart.exceptions import MultipartParseError
from python_multipart.multipart import MultipartParser, parse_options_header

from ledger.errors import InputError, LedgerError

if TYPE_CHECKING:  # the library names it for type checkers only
    from python_multipart.multipart import MultipartCallbacks

FORM: Final = "application/x-www-form-urlencoded"
PLAIN: Final = ("application/json", "application/octet-stream")
"""bodies that a page reads itself"""
MOST_NAME: Final = 300


@dataclass(kw_only=True, eq=False)
class Refused(LedgerError):
    """A request that is not even looked at, with the status that tells a browser why."""

    status: int
    says: str

    def __str__(self) -> str:
        return self.says


@dataclass(frozen=True)
class Upload:
    """One file of a form. filename is the browser's word and may be anything; it never becomes a path."""

    filename: str
    data: bytes = field(repr=False)
    media_type: str


@dataclass(frozen=True)
class Posted:
    """A body that was read."""

    many: Mapping[str, list[str]] = field(default_factory=dict)
    uploads: Mapping[str, list[Upload]] = field(default_factory=dict)
    body: bytes = field(default=b"", repr=False)

    @property
    def fields(self) -> dict[str, str]:
        """The last value of each name."""
        return {name: values[-1] for name, values in self.many.items()}


def read(body: bytes, content_type: str, *, most_fields: int, most_files: int) -> Posted:
    """Raises: Refused with 400 (no such form), 413 (too many fields or files), 415 (another kind of body)."""
    kind, _, _ = content_type.partition(";")
    match kind.strip().lower():
        case "":
            if body:
                raise Refused(status=415, says="The request does not say what kind of content it brings.")
            return Posted()
        case "application/x-www-form-urlencoded":
            return Posted(_form(body, most_fields))
        case "multipart/form-data":
            return _Parts(content_type, most_fields, most_files).read(body)
        case known if known in PLAIN:
            return Posted(body=body)
    raise Refused(status=415, says="This kind of content is not taken here; post a form.")


def number(text: str, field: str, wanted: str = "a whole number") -> int:
    """A whole number as a form or an address has it. Raises: InputError, also for one that no table could hold.

    >>> number("012", "slip")
    12
    """
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise InputError(field=field, given=text, wanted=wanted)
    return int(text)


def _form(body: bytes, most_fields: int) -> dict[str, list[str]]:
    if body.count(b"&") >= most_fields:
        raise _too_many_fields(most_fields)
    try:
        pairs = parse_qsl(body.decode(), keep_blank_values=True, errors="strict")
    except ValueError as fault:
        raise _no_form("it holds bytes that are no text in UTF-8") from fault
    many: dict[str, list[str]] = {}
    for name, value in pairs:
        _take(many, name, value)
    return many


def _take(many: dict[str, list[str]], name: str, value: str) -> None:
    if len(name) > MOST_NAME or not name.isprintable():
        raise _no_form("the name of a field is too long or holds a control character")
    many.setdefault(name, []).append(value.replace("\r\n", "\n"))


class _Parts:
    """Reads one body of multipart/form-data (RFC 7578)."""

    def __init__(self, content_type: str, most_fields: int, most_files: int) -> None:
        self._most_fields, self._most_files = most_fields, most_files
        self._boundary = parse_options_header(content_type)[1].get(b"boundary", b"")
        self._many: dict[str, list[str]] = {}
        self._uploads: dict[str, list[Upload]] = {}
        self._headers: dict[bytes, bytes] = {}
        self._header, self._value, self._data = bytearray(), bytearray(), bytearray()
        self._fields = self._files = 0
        self._ended = False

    def read(self, body: bytes) -> Posted:
        """The form. Raises: Refused."""
        callbacks: MultipartCallbacks = {
            "on_part_begin": self._part_begin,
            "on_part_data": lambda data, start, end: self._data.extend(data[start:end]),
            "on_part_end": self._part_end,
            "on_header_field": lambda data, start, end: self._header.extend(data[start:end]),
            "on_header_value": lambda data, start, end: self._value.extend(data[start:end]),
            "on_header_end": self._header_end,
            "on_end": self._end,
        }
        if not 0 < len(self._boundary) <= 70:  # RFC 2046, 5.1.1
            raise _no_form("its boundary is missing")
        try:
            parser = MultipartParser(self._boundary, callbacks)
            parser.write(body)
            parser.finalize()
        except (MultipartParseError, UnicodeDecodeError) as fault:
            raise _no_form("its parts cannot be told apart") from fault
        if not self._ended:
            raise _no_form("it breaks off before its end")
        return Posted(self._many, self._uploads)

    def _part_begin(self) -> None:
        self._headers = {}
        self._data = bytearray()

    def _header_end(self) -> None:
        self._headers[bytes(self._header).lower()] = bytes(self._value)
        self._header, self._value = bytearray(), bytearray()

    def _part_end(self) -> None:
        kind, options = parse_options_header(self._headers.get(b"content-disposition", b""))
        if kind != b"form-data" or b"name" not in options:
            raise _no_form("a part of it has no name")
        name = options[b"name"].decode()
        if b"filename" not in options:
            self._fields += 1
            if self._fields > self._most_fields:
                raise _too_many_fields(self._most_fields)
            _take(self._many, name, self._data.decode())
            return
        filename = options[b"filename"].decode(errors="replace")
        if not filename and not self._data:
            return  # a field for a file in which nothing was chosen
        self._files += 1
        if self._files > self._most_files:
            most = f"at most {self._most_files} files are" if self._most_files else "no file is"
            raise Refused(status=413, says=f"There are too many files in this form; {most} taken here at once.")
        plain = "".join(c for c in filename.replace("\\", "/").rpartition("/")[2] if c.isprintable())
        media_type = parse_options_header(self._headers.get(b"content-type", b""))[0].decode("latin-1")
        self._uploads.setdefault(name, []).append(Upload(plain[:200], bytes(self._data), media_type))

    def _end(self) -> None:
        self._ended = True


def _no_form(why: str) -> Refused:
    return Refused(status=400, says=f"What was posted cannot be read as a form: {why}. Go back and send it again.")


def _too_many_fields(most: int) -> Refused:
    return Refused(status=413, says=f"There are too many fields in this form; at most {most} are taken here.")
