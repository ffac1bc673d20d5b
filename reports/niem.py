"""A report to an authority as NIEM 6.0 XML: one `j:PawnPurchaseTransaction` for each article that was bought.

Decides: which answer goes into which element, in the order of the model's types; that every other answer stands in a
description with its label, so that none is lost; that what nobody knows has no element.
Leaves to others: what the recipient may be shown (acts); counts, totals and corrections (tabular).

An article has its own transaction because the model has one price for a transaction; the ticket number is that of the
slip. NIEM has no element for a report, so the root and what it says of the whole are ours. A mark is text as it was
read and goes to `nc:ItemVisibleID`: `j:JewelryCaratText` would say that the article is of that fineness. Weights are in
grams: the model has no pennyweight. Values are those after all corrections; what they were stands in the corrections.

Source: NIEM 6.0 (OASIS NIEMOpen, niem-model 6.0-ps02, CC BY 4.0): xsd/niem-core.xsd, xsd/domains/justice.xsd,
xsd/codes/unece_rec20.xsd, xsd/codes/iso_4217.xsd.

>>> element("nc:Amount", "180.00")
'<nc:Amount>180.00</nc:Amount>'
>>> element("nc:ItemName", " "), element("nc:Item", element("nc:ItemName", ""))
('', '')
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from xml.sax.saxutils import escape

from ledger.errors import InputError
from ledger.identity.kinds import KINDS
from ledger.measures import grams, weigh
from reports.authority import ReportRecord
from reports.goods import Correction, Field, Item, Picture
from reports.page import Imprint
from reports.tabular import Cover, Paper, cover_of, records_of

_MODEL = "https://docs.oasis-open.org/niemopen/ns/model"
NAMESPACES: Mapping[str, str] = {
    "cf": "urn:counterfoil:report:0",
    "nc": f"{_MODEL}/niem-core/6.0/",
    "j": f"{_MODEL}/domains/justice/6.0/",
    "iso_4217": f"{_MODEL}/codes/iso_4217/6.0/",
    "unece": f"{_MODEL}/codes/unece_rec20/6.0/",
    "xsi": "http://www.w3.org/2001/XMLSchema-instance",
}
"""prefixes of the file and what they stand for; `cf` is ours"""

# Source: XML 1.0 (fifth edition), production 2: the characters that a document may hold.
_NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Xml(str):
    """Text that is XML already."""


def element(name: str, *inner: str, kind: str = "") -> Xml:
    """An element; nothing where nothing is in it. kind: its type where that is not the one the model gives it.

    inner: elements, or one text. Raises: InputError for a character that XML cannot hold.
    """
    said = "".join(each if isinstance(each, Xml) else _text(name, each) for each in inner)
    if not said:
        return Xml()
    of = f' xsi:type="{kind}"' if kind else ""
    return Xml(f"<{name}{of}>{said}</{name}>")


def _text(name: str, text: str) -> str:
    found = _NO_XML.search(text)
    if found:
        raise InputError(field=name, given=f"U+{ord(found[0]):04X}", wanted="characters that XML can hold")
    return escape(text.strip())


def niem_of(paper: Paper) -> bytes:
    """The report as an XML document. Shape: UTF-8 with its declaration, no blanks between elements, a last line end.

    Raises: InputError for a character that XML cannot hold.
    """
    cover = cover_of(paper)
    names = "".join(f' xmlns:{prefix}="{address}"' for prefix, address in NAMESPACES.items())
    parts = [
        *_cover(cover),
        *(_transaction(paper.imprint, record, item) for record in records_of(paper) for item in record.items),
    ]
    body = "\n".join(part for part in parts if part)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<cf:Report{names}>\n{body}\n</cf:Report>\n'.encode()


def _cover(cover: Cover) -> Iterator[Xml]:
    yield element("cf:ReportID", cover.report)
    yield element("cf:ReportTitleText", cover.title)
    yield element("cf:RecipientName", cover.recipient)
    yield element("cf:PeriodText", cover.period)
    yield element("cf:JurisdictionName", cover.jurisdiction)
    yield element("cf:LegalBasisText", cover.source)
    yield element("cf:DueText", cover.due)
    yield from (element("cf:ShopAddressText", line) for line in cover.address)
    yield element("cf:PurchaseQuantity", str(cover.purchases))
    yield element("cf:ItemQuantity", str(cover.items))
    yield from (element("cf:TotalPaidAmount", *_amount(total)) for total in cover.totals)
    yield from (_correction(one) for one in cover.corrections)
    for name, digest in cover.rule_files:
        yield element("cf:RuleFile", element("cf:JurisdictionName", name), element("cf:SHA256Text", digest))
    yield element("cf:BookID", cover.book)
    yield element("cf:SealText", cover.seal)
    yield element("cf:KeyFingerprintText", cover.fingerprint)


def _correction(one: Correction) -> Xml:
    return element(
        "cf:Correction",
        element("cf:CorrectedText", one.what),
        element("cf:OldText", one.old),
        element("cf:NewText", one.new),
        element("cf:EntryNumber", str(one.entry)),
        element("cf:CorrectedAtText", one.at),
        element("cf:CorrectedByText", one.by),
        element("cf:ReasonText", one.because),
    )


def _amount(money: str) -> tuple[Xml, ...]:
    """An amount as the paper prints it, "USD 180.00", with its currency."""
    currency, _, figure = money.partition(" ")
    return element("nc:Amount", figure), element("iso_4217:CurrencyCode", currency)


class _Answers:
    """The answers of a purchase or of one of its articles, by fact; what an element has taken is not said again."""

    def __init__(self, fields: Iterable[Field]) -> None:
        self._known = [field.today for field in fields]
        self._said: set[int] = set()

    def of(self, fact: str, about: str = "", count: int | None = None) -> list[str]:
        """The single texts of a fact; none where its value is not known, or they are not as many as they should."""
        return list(self.parts(fact, about, count).values())

    def parts(self, fact: str, about: str = "", count: int | None = None) -> dict[str, str]:
        """The members of one fact, by their paths."""
        for field in self._answered(fact, about):
            if field.members and count in (None, len(field.members)):
                self._said.add(id(field))
                return dict(field.members)
        return {}

    def text(self, fact: str) -> str:
        """An answer as the paper prints it."""
        for field in self._answered(fact, ""):
            self._said.add(id(field))
            return field.value or ""
        return ""

    def _answered(self, fact: str, about: str) -> Iterator[Field]:
        for field in self._known:
            wanted = field.fact == fact and (not about or field.about == about)
            if wanted and field.value is not None and not _is_not_known(field):
                yield field

    def rest(self) -> list[str]:
        """Every answer that no element has taken, with its label, in the order of the rules; also what is not known."""
        return [
            f"{one.label}: {one.value}" for one in self._known if one.value is not None and id(one) not in self._said
        ]


def _is_not_known(field: Field) -> bool:
    return any(name.rpartition("/")[2] == "not_known" for name, _ in field.members)


def _transaction(imprint: Imprint, record: ReportRecord, item: Item) -> Xml:
    of_slip, of_item = _Answers(record.fields), _Answers(item.fields)
    date = record.occurred_at.partition("[")[0]
    if date:
        of_slip.of("slip.occurred")
    seller = _seller(of_slip)
    others = [_seller(of_slip, about) for about in _others(record.fields)]
    staff = of_slip.text("slip.staff")
    price = _amount(of_item.text("item.price") or item.offer)
    goods = _item(of_item, item)
    return element(
        "j:PawnPurchaseTransaction",
        element("nc:ActivityIdentification", element("nc:IdentificationID", f"{record.slip}/{item.line}")),
        element("nc:ActivityDate", element("nc:DateTime", date)),
        *(element("nc:ActivityDescriptionText", text) for text in (record.undone, *of_slip.rest())),
        seller,
        *others,
        element("nc:ItemPurchasePriceValue", element("nc:ItemValueAmount", *price)),
        goods,
        element(
            "j:PawnBroker",
            element("j:PawnBrokerLicenseIdentification", element("nc:IdentificationID", imprint.licence)),
            element("j:PawnBrokerName", imprint.shop),
        ),
        element("j:PawnReceiver", element("nc:PersonName", element("nc:PersonFullName", staff))),
        element("j:PawnTicketIdentification", element("nc:IdentificationID", str(record.slip))),
    )


def _others(fields: Sequence[Field]) -> Iterator[str]:
    """Whose answers these are beside the first seller's, each once: further sellers only."""
    yield from dict.fromkeys(field.about for field in fields if field.about.startswith("party/"))


def _seller(answers: _Answers, about: str = "seller") -> Xml:
    """Who brought the goods: a person, also where the person acts for a business or an estate."""
    return element("nc:ItemSeller", element("nc:EntityPerson", *_person(answers, about)))


def _person(answers: _Answers, about: str) -> Iterator[Xml]:
    def texts(name: str, fact: str) -> Iterator[Xml]:
        for text in answers.of(fact, about):
            yield element(name, text)

    documents = dict(_documents(answers, about))
    for day in answers.of("seller.birth_date", about):
        yield element("nc:PersonBirthDate", element("nc:Date", day))
    yield from texts("nc:PersonEyeColorText", "seller.eyes")
    yield from texts("nc:PersonHairColorText", "seller.hair")
    yield from texts("nc:PersonHeightDescriptionText", "seller.height")
    yield documents.get("nc:PersonLicenseIdentification", Xml())
    for name in answers.of("seller.name", about):
        yield element("nc:PersonName", element("nc:PersonFullName", name))
    yield documents.get("nc:PersonOtherIdentification", Xml())
    yield documents.get("nc:PersonPassportIdentification", Xml())
    for mark in answers.of("seller.marks", about):
        yield element("nc:PersonPhysicalFeature", element("nc:PhysicalFeatureDescriptionText", mark))
    yield from texts("nc:PersonRaceText", "seller.race")
    yield _address(answers.parts("seller.address", about))
    yield from texts("nc:PersonSexText", "seller.sex")
    yield from texts("nc:PersonWeightDescriptionText", "seller.weight")
    phones = answers.of("seller.phone", about)
    numbers = [
        element(
            "nc:ContactTelephoneNumber", element("nc:FullTelephoneNumber", element("nc:TelephoneNumberFullID", each))
        )
        for each in phones
    ]
    yield element("nc:PersonContactInformation", *numbers)


def _address(parts: Mapping[str, str]) -> Xml:
    return element(
        "nc:PersonResidenceAddress",
        element("nc:AddressFullText", parts.get("text", parts.get("", ""))),
        element("nc:AddressDeliveryPointText", parts.get("street", "")),
        element("nc:AddressCityName", parts.get("city", "")),
        element("nc:AddressState", element("nc:StateName", parts.get("state", ""))),
        element("nc:AddressCountry", element("nc:CountryName", parts.get("country", ""))),
        element("nc:AddressPostalCode", parts.get("postcode", "")),
    )


_DOCUMENTS = {
    "driver-licence": "nc:PersonLicenseIdentification",
    "passport": "nc:PersonPassportIdentification",
}
_OF_A_DOCUMENT = ("type", "expires", "issued", "issuer")


def _documents(answers: _Answers, about: str) -> Iterator[tuple[str, Xml]]:
    """The documents that proved who somebody is, by element; those of one kind stand together.

    Where an answer is missing for some of them nobody could tell whose the others are: then it stays a description.
    """
    numbers = answers.of("seller.document.number", about)
    known = {
        name: answers.of(f"seller.document.{name}", about=about, count=len(numbers)) or [""] * len(numbers)
        for name in _OF_A_DOCUMENT
    }
    made: dict[str, str] = {}
    for number, kind, expires, issued, issuer in zip(numbers, *known.values(), strict=True):
        name = _DOCUMENTS.get(kind, "nc:PersonOtherIdentification")
        made[name] = made.get(name, "") + element(
            name,
            element("nc:IdentificationID", number),
            element("nc:IdentificationCategoryDescriptionText", KINDS[kind].says if kind in KINDS else kind),
            element("nc:IdentificationExpirationDate", element("nc:Date", expires)),
            element("nc:IdentificationIssueDate", element("nc:Date", issued)),
            element("nc:IdentificationIssuerText", issuer),
        )
    for name, said in made.items():
        yield name, Xml(said)


def _item(answers: _Answers, item: Item) -> Xml:
    jewelry = item.goods == "jewelry"
    weights = _weights(answers, item)
    quantity = answers.of("item.pieces")
    ends = list(_jewelry(answers)) if jewelry else []
    described = answers.of("item.description") or [item.title]
    colours, makers = answers.of("item.metal_colour"), answers.of("item.maker")
    models, inscriptions = answers.of("item.model"), answers.of("item.inscriptions")
    serials, marks = _each_text(answers, "item.serials"), _each_text(answers, "item.marks")
    sizes = answers.text("item.sizes")
    if item.pictures:
        answers.of("item.pictures")
    return element(
        "nc:Item",
        *(element("nc:ItemColorDescriptionText", text) for text in colours),
        *(element("nc:ItemDescriptionText", text) for text in (*described, *answers.rest())),
        *(_image(picture) for picture in item.pictures),
        *(element("nc:ItemMakeName", text) for text in makers),
        *(element("nc:ItemModelName", text) for text in models),
        *(element("nc:ItemOwnerAppliedID", text) for text in inscriptions),
        *(element("nc:ItemQuantity", text) for text in quantity),
        *(element("nc:ItemSerialIdentification", element("nc:IdentificationID", text)) for text in serials),
        element("nc:ItemSizeDescriptionText", sizes),
        *(element("nc:ItemVisibleID", text) for text in marks),
        *(
            element(
                "nc:ItemWeightMeasure",
                element("nc:MeasureDecimalValue", weight),
                element("unece:MassUnitCode", "GRM"),
            )
            for weight in weights
        ),
        *ends,
        kind="j:JewelryType" if jewelry else "",
    )


def _weights(answers: _Answers, item: Item) -> list[str]:
    """The weight that was paid on, in grams."""
    figure, _, unit = answers.text("item.weight").partition(" ")
    if figure:
        return [grams(weigh(figure, unit).mg)]
    return [each.grams.removesuffix(" g") for each in item.weighings if each.paid_on]


def _each_text(answers: _Answers, fact: str) -> list[str]:
    """The texts of a list of which each is a text, or has one with where it stands."""
    parts = answers.parts(fact)
    return [text for name, text in parts.items() if name.rpartition("/")[2] not in ("where", "of")]


def _jewelry(answers: _Answers) -> Iterator[Xml]:
    yield from (element("j:JewelryCategoryText", text) for text in answers.of("item.article"))
    yield from (element("j:JewelryGenderText", text) for text in answers.of("item.wearer"))
    yield from (element("j:JewelryStoneMaterialText", text) for text in answers.of("item.metal"))
    stones: dict[str, dict[str, str]] = {}
    for path, text in answers.parts("item.stones").items():
        number, _, name = path.partition("/")
        stones.setdefault(number, {})[name] = text
    for stone in stones.values():
        rest = [f"{name}: {text}" for name, text in stone.items() if name not in ("colour", "cut", "count")]
        yield element(
            "j:JewelryStone",
            *(element("nc:ItemDescriptionText", text) for text in rest),
            element("j:JewelryStoneColorText", stone.get("colour", "")),
            element("j:JewelryStoneCutText", stone.get("cut", "")),
            element("j:JewelryStoneQuantity", stone.get("count", "")),
        )


def _image(picture: Picture) -> Xml:
    """A picture by the digest of its bytes; the picture itself goes with the report only where it is asked for."""
    return element(
        "nc:ItemImage",
        element(
            "nc:BinaryHash",
            element("nc:BinaryHashCode", picture.received),
            element("nc:BinaryHashFunctionCode", "SHA-256"),
        ),
        element("nc:BinaryDescriptionText", picture.shows),
    )
