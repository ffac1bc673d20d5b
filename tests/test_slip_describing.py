"""Descriptions that say nothing, and what is missing in one, in the order of asking."""

from typing import Any, ClassVar

import pytest

from ledger.measures import weigh
from ledger.slip.describing import in_words, missing, one_line, says_none, says_nothing
from ledger.slip.document import Inscription, Item, Mark, NotKnown, Picture, Serial, Size, Stone, Weighing

WEIGHED = (Weighing("gross", weigh("4.20", "g"), paid_on=True),)


def item(**members: Any) -> Item:
    """A single piece of jewelry, weighed, with these members."""
    told: dict[str, Any] = {"kind": "single", "goods": "jewelry", "article": "ring", "pieces": 1, "weighings": WEIGHED}
    told |= members
    return Item(**told)


class TestWordsThatSayNothing:
    """Words that name no kind of article are refused as a description.

    The words are those that police and inspectors complain of in reports: a reported list said "man's ring, gold"
    (a Tennessee police officer in a newspaper); the rest is common practice, no published source.
    """

    @pytest.mark.parametrize(
        "words",
        ["misc", "Misc.", "assorted", "lot", "scrap", "Scrap gold", "jewelry", "JEWELLERY", "same as above", "gold",
         "2 items", "misc gold jewelry", "1", "old gold", "men's jewelry"],
    )  # fmt: skip
    def test_no_kind_of_article_is_named(self, words: str) -> None:
        assert says_nothing(words)
        assert missing(item(article=words, style="plain", metal_colour="yellow", marks=(), stones=(), damage="dent"))[
            0
        ] == ("kind of article")

    @pytest.mark.parametrize("words", ["ring", "cuff links", "gold ring", "broken chain", "кольцо", "anillo", "戒指"])
    def test_a_kind_of_article_is_named(self, words: str) -> None:
        assert not says_nothing(words)

    @pytest.mark.parametrize("words", ["gold ring", "man's ring", "ring"])
    def test_the_kind_of_article_alone_is_not_enough(self, words: str) -> None:
        assert missing(Item(kind="single", goods="jewelry", article=words, pieces=1)) == (
            "style",
            "metal colour",
            "marks",
            "weight",
            "size",
            "stones",
        )


class TestWhatIsMissing:
    """What was looked for and not found is an answer; silence is not. Two details tell one article from its like."""

    def test_a_plain_band_without_any_mark_can_be_described(self) -> None:
        sizes = (Size("ring", "7", system="us"),)
        assert missing(item(style="plain band", metal_colour="yellow", marks=(), stones=(), sizes=sizes)) == ()

    def test_looked_and_none_is_an_answer_and_silence_is_not(self) -> None:
        told = {"style": "plain band", "metal_colour": "yellow", "damage": "bent"}
        assert missing(item(**told, marks=(), stones=())) == ()
        assert missing(item(**told, marks=())) == ("stones",)
        assert missing(item(**told, stones=())) == ("marks",)
        assert missing(item(**told, marks=NotKnown("worn"), stones=NotKnown("cannot tell"))) == ()

    def test_one_detail_is_too_few(self) -> None:
        assert missing(item(style="plain band", metal_colour="yellow", marks=(), stones=())) == ("size",)

    def test_what_is_not_known_or_none_tells_nothing(self) -> None:
        told = {"metal_colour": "yellow", "marks": (), "stones": (), "maker": NotKnown("no mark"), "damage": "none"}
        assert missing(item(**told)) == ("style", "size")

    @pytest.mark.parametrize(
        "detail",
        [
            {"marks": (Mark("14K"),)},
            {"inscriptions": (Inscription("J.T.M."),)},
            {"serials": (Serial("447120", "case"),)},
            {"stones": (Stone(3, "red"),)},
            {"maker": "Wren & Daughters"},
            {"model": "No. 3"},
            {"damage": "clasp missing"},
            {"alteration": "resized"},
            {"contents": "a photograph"},
        ],
    )
    def test_any_detail_of_the_lists_counts(self, detail: dict[str, Any]) -> None:
        """Marks and words engraved, stones and visible damage: 38 RCNY chapter 21. Maker, numbers and condition: Los
        Angeles County sheriff's manual 4-01/040. Model and serial number: Fla. Stat. 538.04(1)."""
        told = {"style": "signet", "metal_colour": "yellow", "marks": (), "stones": ()} | detail
        assert missing(item(**told)) == ()

    @pytest.mark.parametrize(
        ("goods", "members"),
        [
            ("coin", {"marks": (Mark("1906 D"),), "style": "five dollars"}),
            ("bullion", {"marks": (Mark("999.9"),), "serials": (Serial("C417", "maker"),)}),
            ("gem", {"stones": (Stone(1, "blue", "oval"),), "style": "loose"}),
            ("tableware", {"metal_colour": "white", "marks": (), "style": "fiddle", "maker": "Wren"}),
            ("watch", {"metal_colour": "white", "marks": (), "stones": (), "maker": "W", "model": "3"}),
        ],
    )
    def test_each_kind_of_goods_is_asked_what_it_has(self, goods: str, members: dict[str, Any]) -> None:
        assert missing(item(goods=goods, article="old piece", **members)) != ()
        assert missing(item(goods=goods, article="article of trade: " + goods, **members)) == ()
        assert "weight" in missing(item(goods=goods, article="named", weighings=(), **members))


class TestScrapLots:
    """A scrap lot needs its count, its picture and one detail; the word "scrap" alone says nothing."""

    LOT: ClassVar[dict[str, Any]] = {"kind": "lot", "pieces": 23, "metal_colour": "mixed"}
    SHOWN = (Picture("chain.jpg", "count"),)

    def test_scrap_alone_is_refused_with_what_is_missing(self) -> None:
        assert missing(item(**self.LOT, article="scrap")) == ("kind of article", "style", "contents", "picture")

    def test_scrap_with_what_it_is_made_of_and_a_picture_is_enough(self) -> None:
        assert missing(item(**self.LOT, article="scrap", contents="broken chain", pictures=self.SHOWN)) == ()
        assert missing(item(**self.LOT, article="broken chain", style="curb links", pictures=self.SHOWN)) == ()

    def test_without_a_picture_it_is_not(self) -> None:
        assert missing(item(**self.LOT, article="broken chain", style="curb links")) == ("picture",)


class TestInWords:
    """One line in the order of asking: no seller, no price."""

    def test_everything_that_was_said_stands_in_it_once(self) -> None:
        told = item(
            style="plain band",
            wearer="man",
            metal_colour="yellow",
            marks=(Mark("14K"), Mark("JW")),
            sizes=(Size("ring", "9.5", system="us"), Size("width", "4", unit="mm")),
            stones=(Stone(1, "red", "round", size="2 mm"), Stone(NotKnown("set close"), "clear")),
            maker="Wren",
            model="3",
            inscriptions=(Inscription("R fr A"),),
            serials=(Serial("447", "case"), Serial(NotKnown("filed off"), "works", "removed")),
            damage="bent",
            alteration="resized",
            melted_on_arrival=True,
            contents="hair",
        )
        assert in_words(told) == (
            "ring, plain band, for man, yellow metal, marked 14K, marked JW, 4.20 g, ring 9.5 us, width 4 mm,"
            " 1 2 mm red round stone, clear stones, by Wren, 3, inscribed 'R fr A', case number 447, bent,"
            " altered: resized, melted on arrival, holds hair"
        )

    def test_what_is_not_known_or_none_is_left_out(self) -> None:
        told = item(metal_colour=NotKnown("too dirty"), damage="None.", contents="nothing", marks=NotKnown("worn"))
        assert in_words(told) == "ring, 4.20 g"

    def test_a_set_says_how_many(self) -> None:
        assert in_words(item(kind="set", pieces=6, weighings=())) == "ring, set of 6"
        assert one_line(item(kind="set", pieces=6, marks=(Mark("916"),))) == "ring, 6 pieces, marked 916"

    @pytest.mark.parametrize(
        ("words", "none"), [("none", True), ("None.", True), ("no damage", True), ("none left", False)]
    )
    def test_words_that_say_that_there_is_none(self, words: str, none: bool) -> None:
        assert says_none(words) is none
