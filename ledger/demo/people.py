"""The people of the demonstration. All of them are invented, and so are their papers.

Decides: who comes into the shop of the story. Scripts and accents are many, as at a real counter.
"""

from ledger.demo.bench import Members


def person(
    family: str,
    given: str,
    born: str,
    street: str,
    number: str,
    looks: str,
    *,
    as_written: str = "",
    city: str = "Pellwick",
    document: str = "driver-licence",
    issuer: str = "Norrowa",
    phone: str = "",
    no_print: str = "",
    **more: object,
) -> Members:
    """A seller with one document. looks: sex, height, hair, eyes, divided by commas."""
    name = {"family": family, "given": given} | ({"as_written": as_written} if as_written else {})
    sex, height, hair, eyes = looks.split(", ")
    thumb = {"not_taken": no_print} if no_print else {"file": "right-thumb.png"}
    return {
        "role": "seller",
        "kind": "person",
        "name": name,
        "birth_date": born,
        "address": {"lines": [street], "city": city, "region": "Norrowa", "postcode": "00441", "country": "US"},
        "phones": [{"number": phone, "of": "mobile"}] if phone else {"not_known": "has none"},
        "documents": [
            {
                "type": document,
                "issuer": issuer,
                "number": number,
                "issued": "2023-05-02",
                "expires": "2031-05-01",
                "how_read": "typed",
            }
        ],
        "description": {"sex": sex, "height": height, "hair": hair, "eyes": eyes},
        "captures": [
            {"what": "photo", "file": "seller.jpg"},
            {"what": "print", "finger": "right thumb", **thumb},
            {"what": "document-front", "file": "document.jpg", "document": 1},
        ],
        **more,
    }


BOZENA = person(
    "Świerczek", "Bożena", "1968-03-22", "14 Tannery Street", "V-4471-0093", "female, 5 ft 5 in, grey, blue",
    phone="555 0114",
)  # fmt: skip
DELL = person("Farrant", "Dell", "2009-01-30", "2 Weir Lane", "V-9920-7715", "male, 5 ft 9 in, fair, green") | {
    "captures": []  # too young: nothing of him is kept
}
CORWIN = person(
    "Haldane", "Corwin", "1951-11-02", "The Old Tollhouse, Ferry Road", "V-1187-2206", "male, 6 ft 1 in, white, brown",
    phone="555 0178", workplace="retired ferryman",
)  # fmt: skip
HONG_DAO = person(
    "Nguyễn", "Hồng Đào", "1983-07-19", "31 Millrace Court", "C-0083-4410", "female, 5 ft 2 in, black, brown",
    as_written="Nguyễn Thị Hồng Đào", document="identity-card", phone="555 0120",
)  # fmt: skip
AMOS = person(
    "Tredwell", "Amos", "1947-08-08", "5 Chapel Rise", "V-0719-3358", "male, 5 ft 8 in, none, grey",
    no_print="right thumb lost in a sawmill, a scar stands in its place", phone="555 0133",
)  # fmt: skip
QIUYUE = person(
    "Lin", "Qiuyue", "1990-12-04", "8 Lantern Yard", "R 20-448173", "female, 5 ft 4 in, black, brown",
    as_written="林秋月", document="residence-permit", issuer="United States", phone="555 0199",
)  # fmt: skip
PETRA = person("Ostrand", "Petra", "1975-02-17", "77 Quarry Hill", "V-3302-8841", "female, 5 ft 10 in, brown, hazel")
LAYLA = person(
    "Al-Sabbagh", "Layla", "1979-06-25", "19 Orchard Bank", "P 7741902", "female, 5 ft 6 in, black, brown",
    as_written="ليلى الصباغ", document="passport", issuer="United States", phone="555 0151",
)  # fmt: skip
RUFUS = person(
    "Pennock", "Rufus", "1963-04-11", "3 Gasworks Row", "V-5518-0642", "male, 5 ft 11 in, red, blue",
    phone="555 0162", workplace="Pellwick Boatyard", vehicle={"plate": "NRW 218", "colour": "blue"},
)  # fmt: skip
ILSE = person(
    "Marchbank", "Ilse", "1958-10-30", "Heron House, Upper Pellwick", "V-2210-9907", "female, 5 ft 7 in, fair, blue",
    phone="555 0107",
)  # fmt: skip
HESTER = person(
    "Vane-Lowry", "Hester", "1944-01-09", "1 Almshouse Close", "V-0093-1158", "female, 5 ft 1 in, white, grey"
)
GIDEON = person(
    "Ashcombe", "Gideon", "1971-09-14", "40 Saltmarket", "V-6034-2271", "male, 6 ft, dark, brown",
    kind="estate", phone="555 0184",
    estate={"of": "Minta Ashcombe", "capacity": "executor", "authority": "Letters 26-PR-0311, Tamsett probate court"},
)  # fmt: skip
WENDELINE = person(
    "Korbach", "Wendeline", "1966-05-28", "Unit 4, Foundry Lane", "V-8812-4067", "female, 5 ft 6 in, grey, green",
    city="Ardle", kind="dealer", phone="555 0140",
    dealer={
        "business": "Korbach Bench and Findings",
        "licence": "Licence 25-031, Town of Ardle",
        "issuer": "Town of Ardle",
        "declaration": "I deal in precious metal under the licence named, and I bought these goods in my business.",
    },
)  # fmt: skip
OSRIC = person("Whitlow", "Osric", "1985-03-03", "12 Kiln Steps", "V-7790-5521", "male, 5 ft 7 in, brown, brown")
LORNE = person(
    "Cattermole", "Lorne", "1994-11-21", "Flat 6, 50 Bridge Street", "V-9456-1103", "male, 5 ft 10 in, black, brown"
)
MAUD = person("Ellingsworth", "Maud", "1953-07-07", "23 Canon Walk", "V-1420-6698", "female, 5 ft 3 in, white, blue")
ANSEL = person(
    "Rook", "Ansel", "1988-08-19", "Lock Cottage, Canal End", "V-3847-7012", "male, 5 ft 9 in, brown, grey",
    city="Ardle", phone="555 0129",
) | {
    "description": {"not_known": "the goods came by carrier"},
    "captures": [
        {"what": "photo", "not_taken": "the goods came by carrier"},
        {"what": "print", "finger": "right thumb", "not_taken": "the goods came by carrier"},
        {"what": "document-front", "file": "document.jpg", "document": 1},
    ],
}  # fmt: skip
ZELJKA = person(
    "Perkušić", "Željka", "1981-02-26", "66 Tannery Street", "V-6621-3390", "female, 5 ft 8 in, brown, green",
    phone="555 0173",
)  # fmt: skip
DOROTHEA = person(
    "Finch-Umber", "Dorothea", "1969-12-12", "10 Rope Walk", "V-2875-4416", "female, 5 ft 4 in, red, hazel",
    phone="555 0136",
)  # fmt: skip
CYRIL = person("Wray", "Cyril", "1977-06-01", "28 Weir Lane", "V-5103-8890", "male, 5 ft 8 in, fair, blue")
INES = person("Wray", "Inês", "1979-04-18", "28 Weir Lane", "V-5103-8891", "female, 5 ft 5 in, dark, brown") | {
    "role": "co-seller",
    "captures": [
        {"what": "photo", "file": "co-seller.jpg"},
        {"what": "print", "finger": "right thumb", "file": "co-seller-thumb.png"},
    ],
}
TAMSIN = person("Oakhollow", "Tamsin", "1998-10-10", "4 Dyers' Green", "V-9004-2217", "female, 5 ft 6 in, brown, blue")
ELENI = person(
    "Mavridou", "Eleni", "1962-03-15", "17 Harbour Terrace", "V-4009-6624", "female, 5 ft 3 in, dark, brown",
    as_written="Ελένη Μαυρίδου", phone="555 0166",
)  # fmt: skip
OKSANA = person(
    "Berezhna", "Oksana", "1987-05-05", "9 Lantern Yard", "P 5520418", "female, 5 ft 9 in, fair, grey",
    as_written="Оксана Бережна", document="passport", issuer="United States", phone="555 0188",
)  # fmt: skip
SAEROM = person(
    "Park", "Saerom", "1992-09-09", "35 Millrace Court", "R 21-300956", "female, 5 ft 4 in, black, brown",
    as_written="박새롬", document="residence-permit", issuer="United States", phone="555 0155",
)  # fmt: skip
