"""The search index over item words: fed alike, found alike, on SQLite and on PostgreSQL."""

from collections.abc import Iterable, Iterator
from random import Random

import pytest
import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import words_index
from ledger.slip import searching
from tests.long import long_count

BOOK, OTHER = "counterfoil/" + "0" * 32, "counterfoil/" + "1" * 32


@pytest.fixture
def connection(database: str) -> Iterator[sa.Connection]:
    """A writing connection to a migrated database of either kind."""
    engine = engines.open_engine(database)
    with engines.writing(engine, BOOK) as opened:
        yield opened
    engine.dispose()


@pytest.fixture
def sqlite_connection(sqlite_url: str) -> Iterator[sa.Connection]:
    """The same on SQLite."""
    engine = engines.open_engine(sqlite_url)
    with engines.writing(engine, BOOK) as opened:
        yield opened
    engine.dispose()


def index(connection: sa.Connection, *items: Iterable[str]) -> None:
    """Items as lines of slips 1, 2, 3 ..."""
    for slip, words in enumerate(items, 1):
        words_index.put(connection, BOOK, slip, 1, words)


def found(connection: sa.Connection, *words: str) -> list[int]:
    """The slips whose item bears all the words, newest first."""
    return [slip for slip, _ in words_index.find(connection, BOOK, words, most=1_000)]


class TestFound:
    """An item is found by each of its words, by all of them together, and by no part of one."""

    WORDS = ("1/20", "14k", "6.12.58", "d19580612", "jtm", "750", "18in", "muller", "字", "о", "a_b", "0.5ct", "x")

    def test_each_word_is_kept_whole(self, connection: sa.Connection) -> None:
        index(connection, self.WORDS, ("ring",))
        assert found(connection, *self.WORDS) == [1]
        for word in self.WORDS:
            assert found(connection, word) == [1], word

    def test_no_part_of_a_word_finds_it(self, connection: sa.Connection) -> None:
        index(connection, self.WORDS)
        parts = ("1", "20", "14", "k", "6", "12", "58", "jt", "75", "18", "in", "mull", "ller", "a", "b", "5ct", "_")
        for part in parts:
            assert found(connection, part) == [], part

    def test_words_are_joined_by_and(self, connection: sa.Connection) -> None:
        index(connection, ("ring", "14k"), ("ring", "18k"), ("chain", "14k"))
        assert found(connection, "ring") == [2, 1]
        assert found(connection, "ring", "14k") == [1]
        assert found(connection, "ring", "14k", "18k") == []

    def test_the_newest_come_first_and_no_more_than_asked_for(self, connection: sa.Connection) -> None:
        for slip in (3, 1, 12, 2):
            for line in (2, 1, 10):
                words_index.put(connection, BOOK, slip, line, ["ring"])
        newest = [(12, 10), (12, 2), (12, 1), (3, 10)]
        assert words_index.find(connection, BOOK, ["ring"], most=4) == newest
        assert len(words_index.find(connection, BOOK, ["ring"], most=99)) == 12

    def test_nothing_asked_finds_nothing(self, connection: sa.Connection) -> None:
        index(connection, (), ("", "ring"))
        assert found(connection) == found(connection, "") == []
        assert found(connection, "", "ring") == [2]

    def test_capitals_are_other_letters_on_both(self, connection: sa.Connection) -> None:
        """Folding is done before, by the rules that make words of a question and of an item alike."""
        index(connection, ("jtm",), ("JTM",))
        assert found(connection, "jtm") == [1]
        assert found(connection, "JTM") == [2]

    @pytest.mark.parametrize("letter", ["a", "字", "é", "_"])
    def test_a_word_of_any_length_is_found_whole(self, connection: sa.Connection, letter: str) -> None:
        """PostgreSQL asks for no word of more than 2,046 bytes; an inscription may be one word of that length."""
        index(connection, (letter * 5_000,), (letter * 4_999 + "z",), (letter * 2_046,))
        assert found(connection, letter * 5_000) == [1]
        assert found(connection, letter * 4_999 + "z") == [2]
        assert found(connection, letter * 5_001) == []

    def test_a_question_of_very_many_words_is_answered(self, connection: sa.Connection) -> None:
        many = [f"w{number}" for number in range(1_500)]
        index(connection, many, many[:-1])
        assert found(connection, *many) == [1]


class TestInjection:
    """Nothing that is typed is read as a statement, an operator or a pattern."""

    TYPED = (
        'ring" OR "x', "ring' OR '1'='1", "ring AND chain", "ring OR chain", "ring NOT chain", "NEAR(ring chain)",
        "ring*", "ri%", "r_ng", "^ring", "words:ring", "-ring", "+ring", "(ring)", "ring:*", "ring | chain", "!ring",
        "ring <-> chain", "ring & chain", "'ring'", '"ring"', "ring\\", "ring\x00", "ring;", "ring--", "$1", "%s", "?",
        ":a", "\ud800", "ring\u0301", "ＲＩＮＧ", "\u202egnir",
    )  # fmt: skip

    def test_what_looks_like_an_operator_is_a_word(self, connection: sa.Connection) -> None:
        index(connection, ("ring",), ("chain",), ("ring", "chain"))
        for typed in self.TYPED:
            assert found(connection, typed) == [], typed

    def test_and_is_found_as_the_word_it_is(self, connection: sa.Connection) -> None:
        for slip, typed in enumerate(self.TYPED, 1):
            words_index.put(connection, BOOK, slip, 1, [typed])
        for slip, typed in enumerate(self.TYPED, 1):
            assert found(connection, typed) == [slip], typed


class TestFed:
    """A question is folded by the rules by which the words of an item are; so both say the same words."""

    @pytest.mark.parametrize(
        ("engraved", "asked"),
        [
            ("6.12.58", "12/6/1958"),
            ("J.T.M.", "J. T. M"),
            ("MÜLLER", "Muller"),
            ("Ľuboš Ørsted", "lubos orsted"),
            ('18"', "18 in"),
            ("14 Kt.", "14K"),
            ("ＦＩＬＩＧＲＥＥ", "filigree"),
            ("1/20", "1⁄20"),
        ],
    )
    def test_what_is_engraved_is_found_as_somebody_else_writes_it(
        self, connection: sa.Connection, engraved: str, asked: str
    ) -> None:
        index(connection, searching.query_tokens(engraved), searching.query_tokens("something else"))
        assert found(connection, *searching.query_tokens(asked)) == [1]


class TestTaken:
    """One item's words, or a whole book's, are taken out of the index and of nothing else."""

    def test_one_item_is_taken_out_and_put_in_again(self, connection: sa.Connection) -> None:
        index(connection, ("ring",), ("ring",))
        words_index.remove(connection, BOOK, 1, 1)
        assert found(connection, "ring") == [2]
        words_index.put(connection, BOOK, 1, 1, ["chain"])
        assert found(connection, "chain") == [1]

    @pytest.mark.parametrize("database", ["postgresql"], indirect=True)
    def test_another_book_in_the_same_database_is_left_alone(self, connection: sa.Connection) -> None:
        index(connection, ("ring",))
        words_index.put(connection, OTHER, 1, 1, ["ring"])
        words_index.remove(connection, BOOK)
        assert found(connection, "ring") == []
        assert words_index.find(connection, OTHER, ["ring"], most=9) == [(1, 1)]
        words_index.remove(connection, BOOK, 1, 1)
        assert words_index.rows(connection, OTHER) == {("ring", 1, 1)}

    def test_a_whole_book_is_taken_out(self, connection: sa.Connection) -> None:
        index(connection, ("ring",), ("chain",))
        words_index.remove(connection, BOOK)
        assert words_index.rows(connection, BOOK) == set()


class TestRows:
    """All that the index holds, the same on both databases, for comparing with a rebuild."""

    def test_the_rows_are_the_same_whatever_the_order_of_words(self, connection: sa.Connection) -> None:
        index(connection, ("ring", "14k", "1/20", "ring"), ("14k", "1/20", "ring"), ())
        words = "14k 1_2f_20 ring"
        assert words_index.rows(connection, BOOK) == {(words, 1, 1), (words, 2, 1), ("", 3, 1)}
        assert words_index.rows(connection, BOOK) == words_index.rows(connection, BOOK)

    @pytest.mark.parametrize(
        "damage",
        [
            "UPDATE item_words_content SET c0 = 'chain' WHERE id = 1001",
            "UPDATE item_words_content SET c2 = 7 WHERE id = 1001",
            "UPDATE item_words_content SET c2 = 'text' WHERE id = 1001",
            "UPDATE item_words_content SET c0 = NULL WHERE id = 1001",
            "DELETE FROM item_words_content WHERE id = 1001",
            # the index finds an item that is not there
            "INSERT INTO item_words (rowid, words) VALUES (9, 'ring'); DELETE FROM item_words_content WHERE id = 9",
            # the index is made anew over another text, and the text put back: it reads right and is not found
            "UPDATE item_words_content SET c0 = 'chain' WHERE id = 1001; INSERT INTO item_words(item_words)"
            " VALUES ('rebuild'); UPDATE item_words_content SET c0 = 'ring' WHERE id = 1001",
        ],
    )
    def test_an_item_hidden_from_the_search_shows(self, sqlite_connection: sa.Connection, damage: str) -> None:
        index(sqlite_connection, ("ring",), ("ring",))
        before = words_index.rows(sqlite_connection, BOOK)
        for statement in damage.split(";"):
            sqlite_connection.exec_driver_sql(statement)
        assert words_index.rows(sqlite_connection, BOOK) != before


@long_count("escaped words", count=300_000)
def different_words_stay_different(random: Random, count: int) -> None:
    """Escaped, a word has small letters, digits and underscores only, and no two words become one."""
    letters = "ab_2eK./\"'é字 \x00\U0001f48d"
    made: dict[str, str] = {}
    for _ in range(count):
        word = "".join(random.choices(letters, k=random.randrange(1, 9))) * random.choice((1, 1, 1, 200))
        escaped = words_index.escape(word)
        assert set(escaped) <= set("abcdefghijklmnopqrstuvwxyz0123456789_"), word
        assert len(escaped) < 600, word
        assert made.setdefault(escaped, word) == word
