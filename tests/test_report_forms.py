"""Reports in the forms that programs read, through a real book: golden files, schemas, what is shown and what is not.

XML is read by lxml and held against a schema that is written for these tests, since NIEM's own cannot be had here
whole; CSV by the csv module; JSON against a JSON Schema. Clock changes are those of 15 U.S.C. 260a.
"""

import csv
import hashlib
import io
import itertools
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from lxml import etree

from ledger.acts import correcting, gathering, reporting
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError
from reports.niem import NAMESPACES
from tests import report_samples as samples
from tests import shops
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.paper_tools import text_of
from tests.report_samples import GOLDEN, PLAIN, files
from tests.shops import Shop
from tests.till import Till

SCHEMAS = Path(__file__).parent / "schemas"
WITHIN = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"\n'


def asking(shop: Shop, *facts: str, need: str = "must") -> None:
    """Adopt a rule file that asks for these facts alone, in this order, and reports each purchase to a desk."""
    groups = [list(group) for _, group in itertools.groupby(facts, lambda fact: fact.partition(".")[0])]
    asks = [
        rule("ask", f"record-{number}", f"fields = [{', '.join(_field(fact, need) for fact in group)}]")
        for number, group in enumerate(groups)
    ]
    named = ", ".join(f'"record-{number}"' for number in range(len(groups)))
    shops.adopt(shop, recipient("desk"), *asks, rule("report", "each", f"{WITHIN}asks = [{named}]"))


def _field(fact: str, need: str) -> str:
    return f'{{ fact = "{fact}", label = "The {fact.replace(".", " ")}", need = "{need}" }}'


def xml_of(data: bytes) -> etree._Element:
    """The document, after the schema has accepted it."""
    etree.XMLSchema(etree.parse(SCHEMAS / "cf.xsd")).assertValid(etree.fromstring(data))
    return etree.fromstring(data)


def elements(tree: etree._Element, path: str) -> list[etree._Element]:
    found = tree.xpath(path, namespaces=dict(NAMESPACES))
    assert isinstance(found, list)
    return [each for each in found if isinstance(each, etree._Element)]


def texts(tree: etree._Element, path: str) -> list[str]:
    return [str(each.text) for each in elements(tree, path)]


def json_of(data: bytes) -> dict[str, Any]:
    """The document, after its schema has accepted it."""
    document: dict[str, Any] = json.loads(data)
    schema = json.loads((SCHEMAS / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    return document


def rows_of(data: bytes) -> list[dict[str, str]]:
    """The lines of a CSV by their headings, apostrophes taken off as its form says."""
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))
    return [dict(zip(rows[0], [cell.removeprefix("'") for cell in row], strict=True)) for row in rows[1:]]


class TestGolden:
    """One report of each kind, byte for byte, over a year's end and a change of the clocks."""

    @pytest.mark.parametrize("case", samples.CASES)
    def test_the_files_are_those_that_were_looked_at(self, sqlite_shop: Shop, case: str) -> None:
        # Made anew with `python -m tests.make_report_golden` after a look at them.
        made = samples.made(sqlite_shop, case)
        assert sorted(made) == ["-cover.csv", ".csv", ".json", ".pdf", ".xml"]
        for ending in sorted(made.keys() - {reporting.PAPER}):
            assert made[ending] == (GOLDEN / f"{case}{ending}").read_bytes(), ending
        check_book(sqlite_shop)

    def test_every_golden_file_belongs_to_a_case(self) -> None:
        endings = ("-cover.csv", ".csv", ".json", ".xml")
        assert sorted(file.name for file in GOLDEN.iterdir()) == sorted(
            f"{c}{e}" for c in samples.CASES for e in endings
        )

    @pytest.mark.parametrize("case", samples.CASES)
    def test_schemas_accept_them_and_all_forms_count_the_same(self, case: str) -> None:
        document = json_of((GOLDEN / f"{case}.json").read_bytes())
        tree = xml_of((GOLDEN / f"{case}.xml").read_bytes())
        rows = rows_of((GOLDEN / f"{case}.csv").read_bytes())
        items = [f"{each['slip']}/{item['line']}" for each in document["purchases"] for item in each["items"]]
        assert [row["Item"] for row in rows] == items
        assert texts(tree, "//j:PawnPurchaseTransaction/nc:ActivityIdentification/nc:IdentificationID") == items
        assert texts(tree, "cf:ItemQuantity") == [str(len(items))]
        assert document["cover"]["items"] == len(items)
        assert texts(tree, "cf:PurchaseQuantity") == [str(len(document["purchases"]))]
        cover = list(csv.reader(io.StringIO((GOLDEN / f"{case}-cover.csv").read_text(encoding="utf-8-sig"))))
        assert ["Items", str(len(items))] in cover
        assert document["nil"] is (case == "nil")

    def test_a_week_over_a_year_end_and_a_day_on_which_clocks_change_keep_their_moments(self) -> None:
        week = xml_of((GOLDEN / "week-over-a-year-end.xml").read_bytes())
        day = xml_of((GOLDEN / "change-of-the-clocks.xml").read_bytes())
        dates = [texts(tree, "//nc:ActivityDate/nc:DateTime") for tree in (week, day)]
        assert [date[:10] for date in dates[0]] == ["2026-12-28", "2026-12-31", "2027-01-01"]
        assert [date[-6:] for date in dates[1]] == ["-06:00", "-05:00"]
        assert [date[11:16] for date in dates[1]] == ["01:59", "03:01"]

    def test_totals_are_the_sum_of_what_was_paid(self) -> None:
        # 218.50 for the whole sample, 180.00 for its ring alone.
        assert texts(xml_of((GOLDEN / "day.xml").read_bytes()), "cf:TotalPaidAmount/nc:Amount") == ["398.50"]
        assert texts(xml_of((GOLDEN / "nil.xml").read_bytes()), "cf:TotalPaidAmount/nc:Amount") == []


# What the sample slip says, each with the element that NIEM 6.0 has for it.
MAPPED = {
    "nc:ActivityDate/nc:DateTime": "2026-11-24T09:15:04-06:00",
    "nc:ItemSeller/nc:EntityPerson/nc:PersonName/nc:PersonFullName": "Jonah Averill",
    "nc:ItemSeller/nc:EntityPerson/nc:PersonBirthDate/nc:Date": "1984-02-29",
    "nc:ItemSeller/nc:EntityPerson/nc:PersonLicenseIdentification/nc:IdentificationID": "A417-2290-11",
    "nc:ItemSeller/nc:EntityPerson/nc:PersonLicenseIdentification/nc:IdentificationIssuerText": "Tamarack",
    "nc:ItemSeller//nc:AddressDeliveryPointText": "12 Quarry Lane",
    "nc:ItemSeller//nc:AddressCityName": "Harrow Falls",
    "nc:ItemSeller//nc:AddressState/nc:StateName": "Tamarack",
    "nc:ItemSeller//nc:AddressCountry/nc:CountryName": "US",
    "nc:ItemSeller//nc:AddressPostalCode": "00417",
    "nc:ItemSeller//nc:TelephoneNumberFullID": "555 0142",
    "nc:ItemPurchasePriceValue/nc:ItemValueAmount/nc:Amount": "180.00",
    "nc:ItemPurchasePriceValue/nc:ItemValueAmount/iso_4217:CurrencyCode": "USD",
    "nc:Item/nc:ItemColorDescriptionText": "yellow",
    "nc:Item/nc:ItemOwnerAppliedID": "R fr A 6.12.58",
    "nc:Item/nc:ItemVisibleID": "14K",
    "nc:Item/nc:ItemWeightMeasure/nc:MeasureDecimalValue": "4.20",
    "nc:Item/nc:ItemWeightMeasure/unece:MassUnitCode": "GRM",
    "j:PawnBroker/j:PawnBrokerName": "The Test Counter",
    "j:PawnReceiver/nc:PersonName/nc:PersonFullName": "ada",
    "j:PawnTicketIdentification/nc:IdentificationID": "1",
}


class TestNiem:
    """NIEM output read by an independent XML library, every mapped field found; nothing lost, nothing invented."""

    @pytest.mark.parametrize("path", MAPPED)
    def test_every_mapped_field_is_found_back(self, path: str) -> None:
        tree = xml_of((GOLDEN / "purchase.xml").read_bytes())
        assert texts(tree, f"j:PawnPurchaseTransaction[1]/{path}") == [MAPPED[path]]

    @pytest.mark.parametrize("case", samples.CASES)
    def test_every_answer_of_the_paper_stands_in_an_element_or_in_a_description(self, case: str) -> None:
        document = json_of((GOLDEN / f"{case}.json").read_bytes())
        tree = xml_of((GOLDEN / f"{case}.xml").read_bytes())
        transactions = iter(elements(tree, "//j:PawnPurchaseTransaction"))
        for purchase in document["purchases"]:
            for item in purchase["items"]:
                said = {str(text) for text in next(transactions).itertext()}
                for field in (*purchase["fields"], *item["fields"]):
                    value = field.get("reads", field["value"])
                    singles = {each["value"] for each in field.get("known", ())}
                    whole = f"{field['label']}: {value}"
                    typed = {"slip.occurred", "item.price", "item.weight", "item.pictures", "seller.document.type"}
                    mapped = field["fact"] in typed or (singles and singles <= said)
                    assert value is None or whole in said or mapped, whole

    def test_a_field_that_nobody_filled_has_no_element(self, bare_shop: Shop) -> None:
        asking(bare_shop, "seller.name", "seller.race", "seller.email", "item.serials", need="if-known")
        bare_shop.record(*PLAIN)
        made = files(bare_shop, "purchase-1.desk")
        tree = xml_of(made[".xml"])
        assert texts(tree, "//nc:PersonRaceText") + texts(tree, "//nc:ItemSerialIdentification") == []
        assert [text for text in texts(tree, "//nc:ActivityDescriptionText") if "not known" in text] != []
        assert b"A417-2290-11" not in made[".xml"], "the number of the document was not asked"
        (row,) = rows_of(made[".csv"])
        assert (row["The seller race"], row["The seller email"]) == ("", "not known: has none")

    def test_who_brings_the_goods_for_a_business_is_a_person(self, bare_shop: Shop) -> None:
        asking(bare_shop, "seller.name")
        dealer = (("parties.0.kind", "dealer"), ("parties.0.dealer", {"business": "Averill & Sons"}))
        bare_shop.record(*PLAIN, *dealer)
        tree = xml_of(files(bare_shop, "purchase-1.desk")[".xml"])
        assert texts(tree, "//nc:ItemSeller/nc:EntityPerson/nc:PersonName/nc:PersonFullName") == ["Jonah Averill"]
        assert "Averill & Sons" not in "".join(map(str, tree.itertext())), "it was not asked"

    def test_pennyweights_become_grams(self, bare_shop: Shop) -> None:
        # 4.05 dwt of 1.55517384 g (NIST Handbook 44, Appendix C): 6.298 g.
        asking(bare_shop, "item.weight")
        weighing = {"what": "gross", "value": "4.05", "unit": "dwt", "scale": "scale-1", "paid_on": True}
        bare_shop.record(*PLAIN, ("items.0.weighings", [weighing]), answers={"shop/test-owed": "weighed only"})
        tree = xml_of(files(bare_shop, "purchase-1.desk")[".xml"])
        assert texts(tree, "//nc:ItemWeightMeasure/nc:MeasureDecimalValue") == ["6.298"]


class TestShown:
    """Every form has the values of the paper, without what its recipient must not be shown."""

    def test_what_must_not_be_shown_to_the_recipient_is_in_no_form(self, sqlite_shop: Shop) -> None:
        # Pellwick Town Code 7-3(c) (invented): the print is shown to nobody but the town's police.
        sqlite_shop.record(("parties.0.captures.1", {"what": "print", "file": "thumb.jpg", "finger": "right thumb"}))
        with engines.reading(sqlite_shop.book.engine) as connection:
            parts = gathering.whole(connection, sqlite_shop.book, 1).parts
        digest = parts["seller/print/1"]["received"].encode()
        to_sheriff = files(sqlite_shop, "purchase-1.county-sheriff")
        sqlite_shop.wait(days=6)
        to_police = files(sqlite_shop, "week-2026-11-23.town-police")
        for ending in (".csv", "-cover.csv", ".json", ".xml"):
            assert digest not in to_sheriff[ending]
            assert b"Print of the" not in to_sheriff[ending]
        assert all(b"thumb" in to_police[ending] for ending in (".csv", ".json", ".xml"))

    def test_what_a_copy_omits_is_in_no_correction_and_no_declaration_of_it(self, bare_shop: Shop) -> None:
        asks = rule("ask", "record", f"fields = [{_field('seller.name', 'must')}]")
        omits = 'omits = ["seller.document.number", "slip.declaration", "item.marks"]'
        form = rule("form", "copies", f'title = "Copies"\ncopies = [{{ for = "desk", {omits} }}]')
        shops.adopt(bare_shop, recipient("desk"), asks, form, rule("report", "each", WITHIN + 'asks = ["record"]'))
        bare_shop.record(*PLAIN)
        correcting.correct(bare_shop.book, 1, "seller/document/1", {"number": "A417-2290-99"}, "misread")
        correcting.correct(bare_shop.book, 1, "item/1/description", {"damage": "a dent in the mark"}, "seen")
        correcting.correct(bare_shop.book, 1, "seller/name", {"given": "Jonas"}, "misheard")
        made = files(bare_shop, "purchase-1.desk")
        words = text_of(made.pop(".pdf"))
        for said in (words, *(data.decode() for data in made.values())):
            for hidden in ("A417-2290", "a dent in the mark", "and nobody else has a claim"):
                assert hidden not in said
        assert "not shown to this recipient" in words
        assert "Jonas" in words

    def test_columns_stand_in_the_order_of_the_rule_file(self, bare_shop: Shop) -> None:
        names = ["item.price", "seller.birth_date", "item.article", "slip.total", "seller.name"]
        asking(bare_shop, *names)
        bare_shop.record(*PLAIN)
        made = files(bare_shop, "purchase-1.desk")
        document = json_of(made[".json"])
        (purchase,) = document["purchases"]
        of_slip, of_item = ([f["fact"] for f in each["fields"]] for each in (purchase, purchase["items"][0]))
        assert of_slip == ["seller.birth_date", "slip.total", "seller.name"]
        assert of_item == ["item.price", "item.article"]
        labels = [f["label"] for f in (*purchase["fields"], *purchase["items"][0]["fields"])]
        assert list(rows_of(made[".csv"])[0])[5:10] == labels

    def test_characters_of_other_scripts_are_the_same_in_every_form(self, bare_shop: Shop) -> None:
        asking(bare_shop, "seller.name", "item.inscriptions")
        given, inscription = "Đặng مريم", "永遠 & <愛>"
        bare_shop.record(
            *PLAIN,
            ("parties.0.name.given", given),
            ("items.0.inscriptions", [{"text": inscription, "where": "inside"}]),
        )
        made = files(bare_shop, "purchase-1.desk")
        (row,) = rows_of(made[".csv"])
        assert given in " ".join(row.values())
        assert inscription in " ".join(row.values())
        assert given in made[".json"].decode()
        assert inscription in made[".json"].decode()
        tree = xml_of(made[".xml"])
        assert texts(tree, "//nc:PersonFullName")[0].startswith(given)
        assert texts(tree, "//nc:ItemOwnerAppliedID") == [inscription]

    def test_a_cell_that_would_be_a_formula_is_defused_and_reads_back(self, bare_shop: Shop) -> None:
        asking(bare_shop, "item.inscriptions")
        bad = '=HYPERLINK("x"),1'
        bare_shop.record(*PLAIN, ("items.0.inscriptions", [{"text": bad, "where": "inside"}]))
        data = files(bare_shop, "purchase-1.desk")[".csv"]
        cells = next(csv.reader(io.StringIO(data.decode("utf-8-sig").split("\r\n")[1])))
        assert [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))] == []
        assert bad in rows_of(data)[0].values()


class TestCorrected:
    """A report that is made again shows what changed, in every form."""

    def test_the_new_value_stands_in_its_place_and_the_old_one_beside_it(self) -> None:
        document = json_of((GOLDEN / "corrected.json").read_bytes())
        colour = next(f for f in document["purchases"][0]["items"][0]["fields"] if f["fact"] == "item.metal_colour")
        assert (colour["value"], colour["reads"]) == ("yellow", "white")
        first, _, undone = rows_of((GOLDEN / "corrected.csv").read_bytes())
        assert first["Colour of the metal"] == "white"
        assert "Colour of the metal: entered as yellow" in first["Changed since it was entered"]
        assert undone["Changed since it was entered"] == "Undone by entry 13: the goods went back."
        tree = xml_of((GOLDEN / "corrected.xml").read_bytes())
        assert texts(tree, "//nc:ItemColorDescriptionText") == ["white", "mixed", "yellow"]
        assert texts(tree, "cf:Correction/cf:OldText") == ["yellow", "bought"]
        assert texts(tree, "cf:Correction/cf:CorrectedText") == ["slip 1: item/1/description", "slip 2: the purchase"]
        assert texts(tree, "cf:ReportTitleText") == ["Corrected: Daily sheet of purchases (invented)"]

    def test_a_corrected_weight_is_the_one_that_is_reported(self, bare_shop: Shop) -> None:
        asking(bare_shop, "item.weight")
        bare_shop.record(*PLAIN)
        with engines.reading(bare_shop.book.engine) as connection:
            whole = gathering.whole(connection, bare_shop.book, 1)
        (weighing,) = whole.parts["item/1/description"]["weighings"]
        again = {**weighing, "value": "4.30", "weight_mg": 4300}
        correcting.correct(bare_shop.book, 1, "item/1/description", {"weighings": [again]}, "weighed again")
        tree = xml_of(files(bare_shop, "purchase-1.desk")[".xml"])
        assert texts(tree, "//nc:ItemWeightMeasure/nc:MeasureDecimalValue") == ["4.30"]


class TestMade:
    """The entry holds the digest of every file that was made; where a report stands can be seen without a key."""

    def test_the_entry_holds_the_digest_of_every_file(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        entry, made = reporting.make_in(
            sqlite_shop.book, "purchase-1.county-sheriff", "letter", ["niem", "csv"], at=sqlite_shop.local()
        )
        with engines.reading(sqlite_shop.book.engine) as connection:
            told = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("report")
        digests = {ending: hashlib.sha256(data).hexdigest() for ending, data in made.items()}
        assert digests == {".pdf": told["paper"], **told["files"]}
        check_book(sqlite_shop)

    def test_a_form_that_nobody_knows_is_refused_and_nothing_is_entered(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        report = "purchase-1.county-sheriff"
        with pytest.raises(InputError, match="one of csv, json, niem"):
            reporting.make_in(sqlite_shop.book, report, "letter", ["fax"], at=sqlite_shop.local())
        assert reporting.history(sqlite_shop.book, report, at=sqlite_shop.local())[1] == []

    def test_every_step_is_shown_without_a_key(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        report = "purchase-1.county-sheriff"
        files(sqlite_shop, report)
        at = sqlite_shop.wait(hours=1)
        reporting.sent(sqlite_shop.book, report, at=at, how="by hand")
        sqlite_shop.book.keys = None
        one, steps = reporting.history(sqlite_shop.book, report, at=sqlite_shop.local())
        assert one.state == "sent"
        assert [(step.step, step.by) for step in steps] == [("made", "ada"), ("sent", "ada")]
        assert steps[1].record()["at"] == f"{at.isoformat(timespec='seconds')}[America/Chicago]"


class TestCommands:
    """`report make --form` and `report show`."""

    def test_forms_lie_beside_the_paper_and_the_steps_are_shown(self, till: Till) -> None:
        till.record()
        name = "purchase-1.police"
        paper, *others = till.answer("report", "make", name, "--form", "json", "--form", "csv")["papers"]
        assert paper.endswith(f"report-{name}.pdf")
        assert [Path(other).name for other in others] == [f"report-{name}{e}" for e in (".json", ".csv", "-cover.csv")]
        assert json_of(Path(others[0]).read_bytes())["cover"]["report"] == name
        said = till.run("report", "make", name, "--form", "niem").stdout
        assert f"\nFile: {Path(others[0]).parent / f'report-{name}.xml'}\n" in said
        shown = till.answer("report", "show", name, unlocked=False)
        assert [step["step"] for step in shown["steps"]] == ["made", "made"]
        words = till.run("report", "show", name, unlocked=False).stdout
        assert "Slips: 1" in words
        assert "made" in words

    def test_a_report_that_nothing_was_done_with(self, till: Till) -> None:
        till.record()
        till.now += timedelta(days=30)
        said = till.run("report", "show", "purchase-1.police", unlocked=False).stdout
        assert "late: not " in said
        assert said.endswith("Nothing was done with it yet.\n")
