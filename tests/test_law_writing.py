"""What to write where a text is not TOML, and what of such a text is read all the same."""

import tomllib

import pytest

from ledger.law.mending import Broken, fault, unclosed
from ledger.law.piecing import Pieces
from ledger.law.worded import terms, worded

WRITTEN = {
    "a = state": (1, 5, 'text stands in quotes, a number in figures; write "state".'),
    "a = 08": (1, 6, "a number does not begin with 0; write 8."),
    "a = 00": (1, 6, "a number does not begin with 0; write 0."),
    "a = 2026-1-1": (1, 9, "a day has four figures, two and two; write it like 2026-07-01."),
    "a = 2026-02-30": (1, 5, "there is no such day or hour; write it like 2026-07-01."),
    'a = "x': (1, 5, 'the text that opens in `a = "x` is not closed; write a second " at its end.'),
    'a = """x': (1, 5, 'the text that opens in `a = """x` is not closed; write a second """ at its end.'),
    "a = [1,\nb = 2": (1, 5, "the list that opens in `a = [1,` is not closed; write ] at its end."),
    "a = [1 2]": (1, 8, "values of a list are parted by commas; write one here, or ] at its end."),
    "a = { b = 1,\n c = 2 }": (1, 13, "a table in braces stands on one line; write it without a line break."),
    "a = { b = 1, }": (1, 14, "a comma stands before the closing brace; remove it."),
    "a = { b = 1": (1, 5, "the table in braces that opens in `a = { b = 1` is not closed; write } at its end."),
    "a = { b = 1 c = 2 }": (1, 13, "keys of a table in braces are parted by commas; write one here, or } at its end."),
    "a = {[}": (1, 6, "a key is a short name of letters, figures and hyphens; write such a name here."),
    "a = [{ b = 1 ]\nc = 1": (
        1,
        14,
        "keys of a table in braces are parted by commas; write one here, or } at its end.",
    ),
    "a b = 1": (1, 3, "the sign = is missing behind the key; write a short name without blanks, then = and the value."),
    "a: 1": (1, 2, "a key and its value are joined by =; write = instead of :."),
    "a == 1": (1, 4, "two signs = stand here; keep one."),
    "a =": (1, 4, "nothing stands after the sign =; write a value."),
    "a = # none": (1, 5, "nothing stands after the sign =; write a value."),
    "a = [,]": (1, 6, "a value is missing here; write one, or remove the comma."),
    "a = True": (1, 5, "write true, in small letters and without quotes."),
    "a = no": (1, 5, "write false, in small letters and without quotes."),
    "a = $5": (1, 5, 'an amount stands in quotes and without the sign; write "5".'),
    "a = “x”": (1, 5, 'these are not straight quotes; write " before and behind the text.'),
    "a = 12:00": (1, 7, 'a clock time stands in quotes; write "12:00".'),
    "a = 50%": (1, 7, 'a number stands alone, and anything else in quotes; write "50%", or the number by itself.'),
    "a = 1,": (1, 6, "a comma stands at the end; remove it."),
    "a = 'x'y": (1, 8, "something stands behind the end of the value; remove it, or begin a new line."),
    "a = 'x\\'y": (1, 9, "something stands behind the end of the value; remove it, or begin a new line."),
    'a = "x\\q"': (
        1,
        9,
        "a backslash has a meaning of its own in double quotes; write \\\\, or put the text in single quotes.",
    ),
    "= 1": (1, 1, "a line begins with a key or a table's name; write `key = value` or a name in brackets."),
    "[x": (1, 3, "the name of a table stands in brackets that close on the line; write such as [[hold]]."),
    "a = 1\na = 2": (2, 1, "`a = 2` stands twice, as a key or a table; keep one of the two."),
    "a = {b = 1, b = 2}": (1, 1, "`a = {b = 1, b = 2}` stands twice, as a key or a table; keep one of the two."),
    'a = "b\x01"': (1, 7, "illegal character '\\x01'; write one key on a line, and text in quotes."),
    "a = ]": (1, 5, "a value is missing here; write one, or remove the comma."),
}


class TestMending:
    """Where the reader stops, the sentence says what to write, at the place of the mistake."""

    @pytest.mark.parametrize("text", WRITTEN)
    def test_what_to_write_is_said(self, text: str) -> None:
        with pytest.raises(tomllib.TOMLDecodeError) as stopped:
            tomllib.loads(text)
        line, column, says = WRITTEN[text]
        found = fault(stopped.value, text)
        assert (found.line, found.column) == (line, column), found
        assert found.says.endswith(says), found.says

    def test_what_is_closed_is_closed(self) -> None:
        assert unclosed('a = ["]", \'}\', """[""" ] # [') is None

    def test_a_bracket_too_many_is_no_open_one(self) -> None:
        assert unclosed("a = 1 ]") is None
        assert unclosed("a = { b = 1 ]") == (4, "{")

    def test_a_fault_without_a_place_is_at_the_end(self) -> None:
        assert fault(ValueError("too much"), "a = 1\n").says.endswith(
            "too much; write one key on a line, and text in quotes."
        )

    def test_a_long_line_is_cut_and_signs_that_cannot_be_shown_are_marked(self) -> None:
        text = "a = \x07" + "x" * 80
        with pytest.raises(tomllib.TOMLDecodeError) as stopped:
            tomllib.loads(text)
        assert fault(stopped.value, text).says.startswith(f"`a = ?{'x' * 52}...`")


class TestPieces:
    """One table with a mistake does not hide the others; what it may declare is not missed."""

    TEXT = (
        'currency = "USD"\n[[hold]]\nid = "a"\nlength = \n[[hold]]\nid = "b"\n'
        '[calendar]\nx = "\n[[recipient]]\nid = "p"\n[[hold]]\nid = "c"\n'
    )

    def test_what_can_be_read_is_read_with_its_places(self) -> None:
        found = Pieces(self.TEXT)
        assert found.document == {"currency": "USD", "hold": [{"id": "b"}, {"id": "c"}], "recipient": [{"id": "p"}]}
        assert found.place(("hold", 1, "id")) == (12, 1)
        assert found.place(("hold", 0, "id")) == (6, 1)
        assert found.place(("recipient", 0, "id")) == (10, 1)
        assert found.place(("nothing",)) == (1, 1)
        assert (found.ids(), found.tables()) == (frozenset({"a"}), frozenset({"hold", "calendar"}))
        assert found.currency() == ""
        assert [type(one) for one in found.broken] == [Broken, Broken]

    def test_a_header_inside_a_long_text_cuts_nothing(self) -> None:
        whole = Pieces('a = """\n[[hold]]\n"""\n[x]\nb = 1\n[x]\n')
        assert (whole.document["a"], whole.broken) == ("[[hold]]\n", [])

    def test_brackets_too_deep_are_lost_without_a_fault_of_their_own(self) -> None:
        found = Pieces("a = " + "[" * 3_000 + "\n[[hold]]\nid = 'b'\n")
        assert (found.document, found.broken, len(found.lost)) == ({"hold": [{"id": "b"}]}, [], 1)

    def test_the_currency_of_a_head_that_cannot_be_read(self) -> None:
        assert Pieces('currency = "USD"\nname = \n').currency() == "USD"


class TestWording:
    """Whatever stands in a rule's table reads as words."""

    @pytest.mark.parametrize(
        ("value", "says"),
        [
            ({"not": {"fact": "item.marked", "is": True}}, "not item.marked is yes"),
            (
                {"any": [{"fact": "a.b", "below": 3}, {"all": [{"fact": "c.d", "in": ["x", "y"]}]}]},
                "(a.b below 3 or (c.d in x, y))",
            ),
            ({"length": 1, "unit": "days", "counts": "before"}, "until number 1 of the days begins"),
            ({"length": 2, "unit": "working-days", "calendar": "shop"}, "2 working days, days off of the shop"),
            ({"earlier_of": ["purchase", "receipt"]}, "the earlier of purchase, receipt"),
            ({"quarterly": ["01-31"], "by": "close"}, "by the close on the next of 01-31"),
            ({"at_once": True, "start": "receipt"}, "at once from receipt"),
            (
                {"reason": "It may roll.", "roll": "next-working-day"},
                "It may roll, a last day off moved to the next working day",
            ),
            ({"within": 1, "unit": "days", "readings": [{"reason": "Why."}]}, "within 1 day, readings Why"),
        ],
    )
    def test_a_value_in_words(self, value: object, says: str) -> None:
        assert worded(value) == says

    def test_a_length_of_time_is_one_thing(self) -> None:
        table = {"length": 9, "unit": "days", "first_day_counts": True, "start": "receipt", "keep_in": "premises"}
        assert terms(table) == {"length": "9 days, the first day counted", "start": "receipt", "keep in": "premises"}
