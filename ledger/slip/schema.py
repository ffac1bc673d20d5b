"""The JSON Schema (draft 2020-12) of a slip document, format "slip/0".

Decides: which members a slip has, how long each may be and how often it may stand, and in words what is wanted of it;
those words are the ones a clerk reads when a member is wrong. Nothing beyond the members named here is taken.
Leaves to others: what contradicts itself (`completeness`), what a rule asks (`ledger.law`), the shape of a test
(`ledger.assay.evidence`). Weights, sizes and money are text, since a number with a point is not exact; texts are
compared after Unicode normalisation (NFC). Files are named only: the pictures lie beside the document.

>>> SCHEMA["properties"]["format"]["const"], SCHEMA["properties"]["items"]["maxItems"]
('slip/0', 100)
"""

from collections.abc import Iterable
from typing import Any, Final

from ledger.assay.evidence import EVIDENCE_SCHEMA
from ledger.identity import kinds
from ledger.moments import LOCAL_EXAMPLE, OFFSET_EXAMPLE

Node = dict[str, Any]

FORMAT: Final = "slip/0"


def _text(most: int, says: str = "") -> Node:
    wanted = f"{says or 'a text'} of 1 to {most:,} characters"
    return {"type": "string", "minLength": 1, "maxLength": most, "pattern": r"\S", "description": wanted}


def _words(*words: str) -> Node:
    return {"enum": list(words)}


def _whole(least: int, most: int, says: str = "") -> Node:
    wanted = f"{says or 'a whole number'}, {least:,} to {most:,}"
    return {"type": "integer", "minimum": least, "maximum": most, "description": wanted}


def _like(pattern: str, most: int, says: str, **more: str) -> Node:
    return {
        "type": "string",
        "minLength": 1,
        "maxLength": most,
        "pattern": pattern,
        "description": says,
        **more,
    }


def _format(name: str, most: int, says: str) -> Node:
    return {"type": "string", "minLength": 1, "maxLength": most, "format": name, "description": says}


def _list(member: Node, most: int, says: str, least: int = 0) -> Node:
    return {"type": "array", "items": member, "minItems": least, "maxItems": most, "description": says}


def _object(says: str, members: Node, required: Iterable[str] = (), least: int = 0) -> Node:
    node: Node = {"type": "object", "description": says, "properties": members}
    if wanted := list(required):
        node["required"] = wanted
    if least:
        node["minProperties"] = least
    node["additionalProperties"] = False
    return node


def _ref(name: str) -> Node:
    return {"$ref": f"#/$defs/{name}"}


def _known(node: Node) -> Node:
    return {"anyOf": [node, _ref("not_known")]}


NOT_KNOWN = _object('{"not_known": "why"}', {"not_known": _text(200, "a reason")}, ["not_known"])
DAY = _format("date", 10, "a day of the calendar, such as 1984-02-29")
MOMENT = _format("moment", 100, f"a moment with its offset, such as {OFFSET_EXAMPLE}")
FIGURE = _like(
    r"^[0-9]{1,9}(\.[0-9]{1,9})?$", 19, 'digits in quotation marks, with a point and no sign, such as "4.20"'
)
CURRENCY = _like(r"^[A-Z]{3}$", 3, 'three capital letters (ISO 4217), such as "USD"')
FILE = _like(
    r'^[^/\\:*?"<>|.][^/\\:*?"<>|]*$',
    120,
    "the name of one file beside the document, without a folder",
)
STAFF = _like(r"^[a-z0-9][a-z0-9._-]*$", 40, "a staff id of small letters, digits, dots and dashes")
WEIGHT_UNIT = _format("weight-unit", 20, "a unit of weight, such as g, dwt or ozt")

NAME = _object(
    "a name with at least its family part",
    {
        "family": _text(80),
        "given": _text(80),
        "middle": _text(80),
        "suffix": _text(20),
        "as_written": _text(160),
    },
    ["family"],
)
ADDRESS = _object(
    "an address with lines and city",
    {
        "lines": _list(_text(120), 4, "1 to 4 lines with street and house number", least=1),
        "city": _text(80),
        "region": _text(80),
        "postcode": _text(20),
        "country": _like(r"^[A-Z]{2}$", 2, 'two capital letters (ISO 3166-1), such as "US"'),
        "county": _text(80),
    },
    ["lines", "city"],
)
PHONE = _object(
    "a telephone number",
    {"number": _text(40), "of": _words("home", "work", "mobile", "other")},
    ["number"],
)
DESCRIPTION = _object(
    "what the person looks like, at least one of it",
    {
        name: _known(_text(most))
        for name, most in (
            ("sex", 20), ("race", 60), ("height", 40), ("weight", 40), ("build", 60), ("hair", 60), ("eyes", 60),
            ("complexion", 60), ("marks", 200),
        )
    },
    least=1,
)  # fmt: skip
VEHICLE = _object(
    "a vehicle, at least one member of it",
    {name: _text(60) for name in ("plate", "region", "make", "model", "colour", "year")},
    least=1,
)
DOCUMENT = _object(
    "a document with type, issuer and number",
    {
        "type": {"enum": list(kinds.KINDS)},
        "issuer": _text(80),
        "number": _known(_text(40)),
        "issued": _known(_ref("day")),
        "expires": _known(_ref("day")),
        "picture": {"type": "boolean"},
        "how_read": _words("typed", "barcode", "lines", "compared"),
        "compared": {"type": "boolean"},
        "country": _like(r"^[A-Z]{2}$", 2, 'two capital letters (ISO 3166-1), such as "US"'),
    },
    ["type", "issuer", "number"],
)
_CAPTURE_WHAT = ("photo", "print", "signature", "document-front", "document-back", "goods", "tamper-band")
_CAPTURE = {
    "what": _words(*_CAPTURE_WHAT),
    "finger": _text(40),
    "document": _whole(1, 10, "the number of the document it shows"),
}
CAPTURE = {
    "anyOf": [
        _object("a capture with its file", {**_CAPTURE, "file": _ref("file")}, ["what", "file"]),
        _object(
            "a capture with the reason why it was not taken",
            {**_CAPTURE, "not_taken": _text(200, "a reason")},
            ["what", "not_taken"],
        ),
    ],
    "description": "what was captured with either file or not_taken",
}
ANSWERS = _list(
    _object(
        "an answer to a question that a rule file declares, with question and answer",
        {
            "question": _like(r"^[a-z][a-z0-9-]*$", 60, "the id of a question in a rule file"),
            "answer": {
                "anyOf": [
                    {"type": "boolean"},
                    _whole(0, 100_000),
                    _text(1000),
                    _list(_text(200), 40, "a list of at most 40 texts"),
                    _object(
                        "an amount with its currency", {"amount": FIGURE, "currency": CURRENCY}, ["amount", "currency"]
                    ),
                    _object("a weight with its unit", {"value": FIGURE, "unit": WEIGHT_UNIT}, ["value", "unit"]),
                    _ref("not_known"),
                ],
                "description": "yes or no (true, false), a whole number, a text or day, a list of texts, an amount with"
                " currency, a weight with unit, or not_known with the reason",
            },
        },
        ["question", "answer"],
    ),
    40,
    "a list of at most 40 answers to questions that rule files declare",
)
PARTY = _object(
    "a party with role, kind and name",
    {
        "role": _words("seller", "co-seller", "principal", "guardian", "host", "interpreter", "witness"),
        "kind": _words("person", "dealer", "estate"),
        "name": _known(_ref("name")),
        "birth_date": _known(_ref("day")),
        "address": _known(_ref("address")),
        "phones": _known(_list(PHONE, 5, "a list of at most 5 telephone numbers")),
        "email": _known(_text(120)),
        "workplace": _known(_text(120)),
        "documents": _list(_ref("document"), 10, "a list of at most 10 documents"),
        "personally_known": _object(
            "the staff id of who knows the party, and how",
            {"by": _ref("staff"), "how": _text(200)},
            ["by", "how"],
        ),
        "description": _known(_ref("looks")),
        "vehicle": _known(VEHICLE),
        "captures": _list(_ref("capture"), 20, "a list of at most 20 captures"),
        "dealer": _object(
            "the business of a dealer",
            {
                "business": _text(120),
                "licence": _known(_text(60)),
                "issuer": _text(80),
                "declaration": _text(2000),
            },
            ["business"],
        ),
        "estate": _object(
            "the estate, the fiduciary's capacity and what proves it",
            {"of": _text(120), "capacity": _text(60), "authority": _known(_text(120))},
            ["of", "capacity"],
        ),
        "observed": _object(
            "what was observed, at least one of it",
            {
                "intoxicated": _known({"type": "boolean"}),
                "known_offender": _known({"type": "boolean"}),
            },
            least=1,
        ),
        "authority": _object(
            "whether a parent's or guardian's authority is written, and what it says",
            {"written": {"type": "boolean"}, "says": _text(500)},
            ["written"],
        ),
        "answers": _ref("answers"),
    },
    ["role", "kind", "name"],
)

_SIZE_OF = _words(
    "length", "width", "height", "depth", "diameter", "inner-diameter", "circumference", "thickness", "gauge"
)
SIZE: Node = {
    "anyOf": [
        _object(
            "a ring size with its system",
            {
                "what": {"const": "ring"},
                "value": _text(12, "the size as it is written,"),
                "system": _words("us", "uk", "eu", "iso", "jp", "in", "other"),
            },
            ["what", "value", "system"],
        ),
        _object(
            "a measurement with its unit",
            {"what": _SIZE_OF, "value": _ref("figure"), "unit": _words("mm", "cm", "in")},
            ["what", "value", "unit"],
        ),
    ],
    "description": "a measurement with its unit, or a ring size with its system",
}
MARK = _object(
    "a mark as read",
    {"text": _text(60, "the mark as it is stamped,"), "where": _text(80), "condition": _text(60)},
    ["text"],
)
INSCRIPTION = _object(
    "an inscription, letter for letter",
    {"text": _text(300, "the inscription as it is engraved,"), "where": _text(80)},
    ["text"],
)
SERIAL: Node = _object(
    "a number and what it belongs to",
    {
        "text": _known(_text(40, "the number as it is engraved,")),
        "of": _words("works", "case", "maker", "certificate", "other"),
        "condition": _words("worn", "altered", "removed"),
    },
    ["text", "of"],
)
STONE: Node = _object(
    "one group of like stones with its count",
    {
        "count": _known(_whole(1, 10_000)),
        "colour": _text(40),
        "shape": _text(40),
        "cut": _text(40),
        "setting": _text(60),
        "position": _text(60),
        "size": _text(40, "a size with its unit, such as '6.5 mm',"),
        "species": _text(60),
        "basis": _words("claimed", "tested", "unknown"),
        "carats": _ref("figure"),
    },
    ["count"],
)
WEIGHING: Node = _object(
    "one weighing as the scale showed it",
    {
        "what": _words("gross", "stones", "foreign", "net", "piece"),
        "value": _ref("figure"),
        "unit": _ref("weight_unit"),
        "scale": _text(40),
        "at": _ref("moment"),
        "by": _ref("staff"),
        "piece": _whole(1, 10_000),
        "paid_on": {"type": "boolean"},
    },
    ["what", "value", "unit"],
)
_DAY_OR_YEAR = _like(r"^[0-9]{4}(-[0-9]{2}-[0-9]{2})?$", 10, 'a year or a day, such as "1975" or "1981-09-30"')
MADE = _object(
    "where and when the article was made, as far as it is known",
    {
        "country": _like(r"^[A-Z]{2}$", 2, 'two capital letters (ISO 3166-1), such as "US"'),
        "from": _DAY_OR_YEAR,
        "to": _DAY_OR_YEAR,
    },
    least=1,
)
PICTURE = _object(
    "the file of a picture and what it shows",
    {
        "file": _ref("file"),
        "shows": _words(
            "overall", "front", "back", "inside", "mark", "inscription", "clasp", "stone", "damage", "contents",
            "count", "scale", "other",
        ),
    },
    ["file", "shows"],
)  # fmt: skip
GOODS = (
    "jewelry", "watch", "tableware", "coin", "bullion", "medal", "dental", "industrial", "gem", "other",
)  # fmt: skip
PLACE_KINDS = ("licensed-premises", "dwelling", "hotel-room", "vehicle", "event-place", "by-carrier", "other")
COLOURS = ("yellow", "white", "rose", "green", "grey", "two-tone", "three-tone", "mixed")
ITEM = _object(
    "an item with kind, goods, article and pieces",
    {
        "kind": _words("single", "set", "lot"),
        "goods": _words(*GOODS),
        "article": _text(80, "what kind of article it is,"),
        "pieces": _whole(1, 10_000, "a whole number of pieces"),
        "style": _text(120),
        "wearer": _text(40),
        "metal_colour": _known(_words(*COLOURS)),
        "seller_says": _text(300),
        "obtained": _known(_text(300)),
        "maker": _known(_text(80)),
        "model": _text(80),
        "age_years": _whole(0, 5_000, "a whole number of years"),
        "sizes": _known(_list(SIZE, 12, "a list of at most 12 measurements")),
        "marks": _known(_list(MARK, 20, "a list of at most 20 marks; an empty one says that none was found")),
        "inscriptions": _known(
            _list(INSCRIPTION, 10, "a list of at most 10 inscriptions; an empty one says that there is none")
        ),
        "serials": _known(_list(SERIAL, 10, "a list of at most 10 numbers; an empty one says that there is none")),
        "stones": _known(
            _list(STONE, 20, "a list of at most 20 groups of stones; an empty one says that there is none")
        ),
        "damage": _known(_text(300, "what is damaged, or 'none',")),
        "alteration": _known(_text(300, "what was altered, or 'none',")),
        "contents": _known(_text(200, "what is inside, or 'none',")),
        "melted_on_arrival": {"type": "boolean"},
        "assayed": {"type": "boolean"},
        "made": _known(MADE),
        "consent": _words("given", "refused"),
        "pictures": _list(PICTURE, 20, "a list of at most 20 pictures"),
        "weighings": _list(WEIGHING, 40, "a list of at most 40 weighings"),
        "evidence": EVIDENCE_SCHEMA,
        "conclusion": _object(
            "whether the person agrees with the assessment",
            {"agrees": {"type": "boolean"}, "because": _text(500)},
            ["agrees"],
        ),
        "offer": _object(
            "an offer with amount, currency and answer",
            {
                "amount": _ref("figure"),
                "currency": _ref("currency"),
                "answer": _words("taken", "declined"),
            },
            ["amount", "currency", "answer"],
        ),
        "answers": _ref("answers"),
    },
    ["kind", "goods", "article", "pieces"],
)
SIGNATURE = {
    "anyOf": [
        _object("a signature with its file", {"file": _ref("file")}, ["file"]),
        _object("the paper that is signed", {"on_paper": _text(120)}, ["on_paper"]),
        _object("why there is no picture of it", {"not_taken": _text(200, "a reason")}, ["not_taken"]),
    ],
    "description": "one of file, on_paper and not_taken",
}

SCHEMA: Final[Node] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Slip of a counterfoil book",
    **_object(
        "one slip: one visit or one parcel",
        {
            "format": {"const": FORMAT},
            "occurred_at": _format("local-moment", 100, f"a local moment with its zone, such as {LOCAL_EXAMPLE}"),
            "channel": _words("counter", "parcel", "event", "home", "kiosk"),
            "place": _text(200),
            "place_kind": _words(*PLACE_KINDS),
            "staff": _ref("staff"),
            "tray": _object(
                "the tray's number and the articles counted on it: each piece of a set, a scrap lot as one",
                {
                    "number": _text(20, "the number of the tray,"),
                    "articles": _whole(1, 100_000, "a whole number of articles"),
                },
                ["number", "articles"],
            ),
            "parties": _list(_ref("party"), 10, "a list of 1 to 10 parties, the seller first", least=1),
            "items": _list(
                _ref("item"), 100, "a list of 1 to 100 items; more become a second slip of the visit", least=1
            ),
            "spot": _list(
                _object(
                    "a spot price",
                    {
                        "metal": _words("gold", "silver", "platinum", "palladium", "rhodium"),
                        "price": _ref("figure"),
                        "currency": _ref("currency"),
                        "unit": _ref("weight_unit"),
                        "source": _text(120),
                        "moment": _ref("moment"),
                    },
                    ["metal", "price", "currency", "unit", "source", "moment"],
                ),
                5,
                "a list of at most 5 spot prices",
            ),
            "parcel": _object(
                "how the parcel came",
                {
                    "carrier": _text(80),
                    "received_at": _ref("moment"),
                    "tamper_band": _words("whole", "broken", "none"),
                    "tracking": _text(60),
                },
                ["carrier", "received_at", "tamper_band"],
            ),
            "declaration": _object(
                "the words the seller signs and their language",
                {
                    "text": _text(4000),
                    "language": _like(r"^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$", 35, 'a language tag, such as "en"'),
                    "read_by": _text(120),
                    "signature": SIGNATURE,
                    "sworn": {"type": "boolean"},
                },
                ["text", "language"],
            ),
            "traded_for": _object(
                "what the seller takes in goods, with amount and currency",
                {"amount": _ref("figure"), "currency": _ref("currency"), "goods": _text(300)},
                ["amount", "currency"],
            ),
            "payout": _object(
                "a payout with instrument, payee, amount and currency",
                {
                    "instrument": _words("cash", "cheque", "transfer", "card", "store-credit", "money-order", "other"),
                    "payee": _text(160),
                    "amount": _ref("figure"),
                    "currency": _ref("currency"),
                    "due": _ref("day"),
                    "reference": _text(80),
                    "payee_kind": _words("seller", "principal", "other"),
                    "delivery": _words("in-person", "posted-to-residence", "posted-elsewhere", "electronic"),
                    "cash_part": _ref("figure"),
                    "paid_by_weight": {"type": "boolean"},
                },
                ["instrument", "payee", "amount", "currency"],
            ),
            "answers": _ref("answers"),
            "notes": _text(2000),
        },
        ["format", "occurred_at", "channel", "staff", "tray", "parties", "items"],
    ),
    "$defs": {
        "not_known": NOT_KNOWN,
        "day": DAY,
        "moment": MOMENT,
        "figure": FIGURE,
        "currency": CURRENCY,
        "file": FILE,
        "staff": STAFF,
        "weight_unit": WEIGHT_UNIT,
        "name": NAME,
        "address": ADDRESS,
        "looks": DESCRIPTION,
        "document": DOCUMENT,
        "capture": CAPTURE,
        "answers": ANSWERS,
        "party": PARTY,
        "item": ITEM,
    },
}
