"""Every request of an authority goes through a log: what came, what was decided, what was handed over, what is kept."""

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import extracting, holding, leaving, listing, replying, requested, requests, showing, telling
from ledger.acts.extracting import Wanted
from ledger.book import engine as engines
from ledger.book import reading, tables, words_index
from ledger.errors import InputError, LockedError
from ledger.handed import verify
from ledger.moments import local_text
from tests import paper_tools
from tests.check_book import check_book
from tests.shops import Shop

CAME: dict[str, Any] = {
    "kind": "subpoena",
    "received": "2026-11-24T09:15:00-06:00[America/Chicago]",
    "how": "in-person",
    "officer": {"name": "Canary Officer", "badge": "4417", "agency": "Canary Agency", "phone": "555 0199"},
    "call_back": {"done": True, "at": "2026-11-24T09:15:00-06:00[America/Chicago]", "result": "canary desk says yes"},
    "case": "CASE-CANARY-77",
    "power": "Canary Code 9 (invented), subpoena 12",
    "scope": "canary scope: the ring of slip 1 and who sold it",
    "items": ["1/1"],
}
GIVEN = {"state": "given", "by": "ada", "people": True, "fields": ["seller/name"], "seller": "not told: still open"}


def came(shop: Shop, **changes: Any) -> str:
    """The id of a request that was logged now."""
    told = {**CAME, "received": local_text(shop.local()), **changes}
    return requests.record(shop.book, requested.read({k: v for k, v in told.items() if v is not None}))[0]


def followed(shop: Shop, name: str, event: str, **more: Any) -> None:
    """Record that something followed now."""
    step = {"event": event, "at": local_text(shop.local()), "by": "ada", **more}
    requests.note(shop.book, name, requested.read_step(step))


def known(shop: Shop, name: str) -> requests.Process:
    with engines.reading(shop.book.engine) as connection:
        return requests.one(connection, shop.book, name)


class TestLog:
    """The entry names only the request's own random id; what follows later refers to the same id."""

    def test_a_request_is_an_entry_that_names_its_own_id_alone(self, shop: Shop) -> None:
        shop.record()
        name, entry = requests.record(shop.book, requested.read({**CAME, "received": local_text(shop.local())}))
        assert (entry.kind, entry.about, entry.public) == ("process/0", (f"process/{name}",), {})
        followed(shop, name, "decided", decision=GIVEN)
        followed(shop, name, "delivered", how="by hand", to="the desk", signature="on the paper")
        process = known(shop, name)
        assert (process.state, [step["event"] for step in process.steps]) == ("given", ["decided", "delivered"])
        followed(shop, name, "closed")
        assert known(shop, name).ended
        with pytest.raises(InputError, match="closed' was given; wanted is a request that has not ended"):
            followed(shop, name, "called-back", result="late")
        check_book(shop)

    def test_nothing_of_it_stands_in_clear_in_entry_or_table(self, shop: Shop) -> None:
        shop.record()
        came(shop, decision=GIVEN)
        with engines.reading(shop.book.engine) as connection:
            found = [entry.data for entry in reading.all_entries(connection, shop.book.origin)]
            found += [repr(connection.execute(sa.select(table)).all()).encode() for table in tables.PROJECTIONS]
            found.append(repr(words_index.rows(connection, shop.book.origin)).encode())
        assert not [text for text in found if b"canary" in text.lower()]

    def test_locked_nobody_reads_it(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop)
        sqlite_shop.book.keys = None
        sqlite_shop.book._data_keys.clear()
        with pytest.raises(LockedError):
            known(sqlite_shop, name)

    def test_what_was_decided_names_what_was_handed_over_with_its_digest(self, shop: Shop) -> None:
        shop.record()
        entry, _ = extracting.extract(shop.book, Wanted("Agency", "s. 1", ((1, 1),)), "a4", at=shop.local())
        name = came(shop, decision={**GIVEN, "entries": [entry.seq, 0], "hashes": ["a" * 64]})
        handed = (known(shop, name).decision or {})["entries"]
        assert handed[0] == {"entry": entry.seq, "leaf": entry.leaf.hex(), "manifest": entry.public["manifest"]}
        assert set(handed[1]) == {"entry", "leaf"}
        with pytest.raises(InputError, match="the number of an entry in this book"):
            followed(shop, name, "decided", decision={**GIVEN, "entries": [999]})

    def test_the_last_decision_counts(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, decision={"state": "refused", "by": "ada", "because": "no number"})
        assert known(sqlite_shop, name).state == "refused"
        followed(sqlite_shop, name, "decided", decision={"state": "narrowed", "by": "ada", "because": "one item"})
        assert known(sqlite_shop, name).state == "narrowed"

    def test_what_is_to_follow_stands_until_it_was_done(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        due = [{"what": what, "due": local_text(sqlite_shop.local() + timedelta(days=days))} for what, days in
               (("answer in writing", 9), ("confirm the call", 2))]  # fmt: skip
        name = came(sqlite_shop, follow_up=due)
        assert [what for what, _ in known(sqlite_shop, name).follow_ups] == ["confirm the call", "answer in writing"]
        followed(sqlite_shop, name, "followed-up", what="confirm the call")
        with pytest.raises(InputError, match="wanted is one of 'answer in writing'"):
            followed(sqlite_shop, name, "followed-up", what="confirm the call")
        followed(sqlite_shop, name, "followed-up", what="answer in writing")
        with pytest.raises(InputError, match="nothing: none is owed"):
            followed(sqlite_shop, name, "followed-up", what="dance")
        followed(sqlite_shop, name, "released", form="written")
        assert (known(sqlite_shop, name).state, known(sqlite_shop, name).follow_ups) == ("released", [])

    def test_moments_ahead_and_what_the_book_has_not_are_refused(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = check_book(sqlite_shop).entries
        with pytest.raises(InputError, match=r"^received: .* not after the machine's clock"):
            came(sqlite_shop, received=local_text(sqlite_shop.local() + timedelta(days=1)))
        with pytest.raises(InputError, match="SLIP/LINE of an item in this book"):
            came(sqlite_shop, items=["9/1"])
        for name, says in (
            ("slip/9", "the number of a slip"),
            ("item/1/9", "SLIP/LINE of an item"),
            ("slip/x", "names such as"),
            ("item/1", "names such as"),
        ):
            with pytest.raises(InputError, match=says):
                came(sqlite_shop, kind="preservation", preserve={"names": [name]})
        with pytest.raises(InputError, match="the id of a request in this book"):
            known(sqlite_shop, "0" * 16)
        check_book(sqlite_shop, entries=before)


class TestSecrecy:
    """Secret until a date: then nothing on screens, dossiers or papers betrays it before."""

    def test_until_its_day_it_is_on_no_screen(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, secret_until=local_text(shop.local() + timedelta(days=3)))
        plain = came(shop)

        def seen() -> list[str]:
            with engines.reading(shop.book.engine) as connection:
                return [one.id for one in requests.on_screen(connection, shop.book, at=shop.local())]

        assert seen() == [plain]
        shop.wait(days=4)
        assert seen() == [name, plain]

    def test_secrecy_is_lengthened_and_lifted(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, secret_until="lifted")
        assert known(sqlite_shop, name).secret_at(sqlite_shop.local() + timedelta(days=9_000))
        followed(sqlite_shop, name, "secrecy", until=local_text(sqlite_shop.local() + timedelta(days=1)))
        assert known(sqlite_shop, name).secret_at(sqlite_shop.local())
        assert not known(sqlite_shop, name).secret_at(sqlite_shop.local() + timedelta(days=2))
        followed(sqlite_shop, name, "secrecy")
        assert not known(sqlite_shop, name).secret_at(sqlite_shop.local())

    def test_no_paper_of_anybody_else_betrays_it(self, shop: Shop) -> None:
        shop.record()
        came(shop, secret_until="lifted", kind="preservation", preserve={"names": ["slip/1"]}, follow_up=[])
        at = shop.local()
        other = telling.Request("Another Agency", "s. 2", parties=True, reasons=True)
        drawn = [telling.tell(shop.book, 1, 1, other, "letter", at=at)[1]]
        made = showing.folder(shop.book, "letter", at=at, reasons=True)
        with engines.reading(shop.book.engine) as connection:
            drawn += [
                listing.hold_list_paper(connection, shop.book, "letter", at=at),
                listing.day_sheet_paper(connection, shop.book, at.date(), "letter", at=at),
            ]
        texts = [paper_tools.text_of(one) for one in [*drawn, made.files["inspection.pdf"]]]
        texts += [data.decode() for name, data in made.files.items() if name.endswith(".csv")]
        assert not [text for text in texts if "canary" in text.lower() or "preserv" in text.lower()]

    def test_no_extract_of_an_item_holds_it(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, secret_until="lifted")
        _, data = extracting.extract(sqlite_shop.book, Wanted("A", "s. 1", ((1, 1),)), "a4", at=sqlite_shop.local())
        assert name.encode() not in data
        assert b"process/" not in data

    def test_an_extract_of_its_own_entries_shows_them_to_whoever_made_it_alone(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, secret_until="lifted")
        asked = telling.Request("Canary Agency", "s. 1", process=name)
        look, _ = telling.tell(sqlite_shop.book, 1, 1, asked, "letter", at=sqlite_shop.local())
        entries = (known(sqlite_shop, name).seq, look.seq)

        def shown(process: str) -> int:
            wanted = Wanted("Another", "s. 2", entries=entries, parts=("*",), process=process)
            data = extracting.extract(sqlite_shop.book, wanted, "a4", at=sqlite_shop.local())[1]
            return verify.check(data).parts

        assert (shown(""), shown(name)) == (0, 2)
        followed(sqlite_shop, name, "secrecy")
        assert shown("") == 2


class TestPersons:
    """Persons need a second act: their data are shown on a request of which somebody decided that it reaches them."""

    def test_a_request_that_reaches_persons_carries_dossier_and_extract(self, shop: Shop) -> None:
        shop.record()
        name = came(shop, decision=GIVEN)
        asked = telling.Request("Canary Agency", "subpoena 12", parties=True, process=name)
        look, paper = telling.tell(shop.book, 1, 1, asked, "letter", at=shop.local())
        assert "Averill" in paper_tools.text_of(paper)
        wanted = extracting.read_wanted(
            {"recipient": "Canary Agency", "basis": "subpoena 12", "items": ["1/1"], "parties": True, "process": name}
        )
        handed, _ = extracting.extract(shop.book, wanted, "a4", at=shop.local())
        steps = known(shop, name).of("handed")
        assert [step["parties"] for step in steps] == [True] * len(steps)
        assert steps[0]["entry"] == look.seq
        assert (steps[-1]["entry"], steps[-1]["manifest"]) == (handed.seq, handed.public["manifest"])
        with engines.reading(shop.book.engine) as connection:
            said = [reading.open_entry(connection, shop.book, entry.seq).get("look") for entry in (look, handed)]
        assert [(one["parties_on"], one["process"]) for one in said] == [("process", name)] * 2
        check_book(shop)

    def test_a_basis_in_words_alone_works_and_is_told_apart(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        look, _ = telling.tell(
            sqlite_shop.book, 1, 1, telling.Request("A", "s. 1", parties=True), "letter", at=sqlite_shop.local()
        )
        with engines.reading(sqlite_shop.book.engine) as connection:
            said = reading.open_entry(connection, sqlite_shop.book, look.seq).get("look")
        assert said["parties_on"] == "basis"
        assert "process" not in said

    @pytest.mark.parametrize(
        ("changes", "steps"),
        [
            ({}, []),
            ({"decision": {**GIVEN, "people": False}}, []),
            ({"decision": GIVEN}, ["closed"]),
            ({"decision": GIVEN, "kind": "release"}, []),
            ({"decision": GIVEN, "kind": "preservation", "preserve": {"everything": True}}, []),
        ],
    )
    def test_what_does_not_reach_persons_carries_none(
        self, sqlite_shop: Shop, changes: dict[str, Any], steps: list[str]
    ) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, **changes)
        for step in steps:
            followed(sqlite_shop, name, step)
        before = check_book(sqlite_shop).entries
        asked = telling.Request("A", "s. 1", parties=True, process=name)
        with pytest.raises(InputError, match="somebody decided, in `process note`, that it reaches persons' data"):
            telling.tell(sqlite_shop.book, 1, 1, asked, "letter", at=sqlite_shop.local())
        wanted = Wanted("A", "s. 1", ((1, 1),), parties=True, process=name)
        with pytest.raises(InputError, match="^process: "):
            extracting.extract(sqlite_shop.book, wanted, "a4", at=sqlite_shop.local())
        check_book(sqlite_shop, entries=before)

    def test_another_item_than_it_names_is_not_reached(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, decision=GIVEN)
        asked = telling.Request("A", "s. 1", parties=True, process=name)
        with pytest.raises(
            InputError, match=f"^items: '1/3' was given; wanted is items that request {name} names: 1/1"
        ):
            telling.tell(sqlite_shop.book, 1, 3, asked, "letter", at=sqlite_shop.local())

    def test_without_persons_any_request_is_named_and_one_that_is_not_there_is_refused(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop)
        telling.tell(sqlite_shop.book, 1, 1, telling.Request("A", "s. 1", process=name), "a4", at=sqlite_shop.local())
        assert [step["parties"] for step in known(sqlite_shop, name).of("handed")] == [False]
        missing = telling.Request("A", "s. 1", process="0" * 16)
        with pytest.raises(InputError, match="the id of a request"):
            telling.tell(sqlite_shop.book, 1, 1, missing, "a4", at=sqlite_shop.local())

    def test_an_id_that_is_no_text_is_named(self) -> None:
        with pytest.raises(InputError, match="^process: 7 was given"):
            extracting.read_wanted({"recipient": "A", "basis": "b", "items": ["1/1"], "process": 7})


class TestPreservation:
    """Preservation letters, hold orders and open cases stop forgetting."""

    def kept(self, shop: Shop, name: str) -> list[str]:
        with engines.reading(shop.book.engine) as connection:
            return [one.by for one in requests.preserved(connection, shop.book, name, at=shop.local())]

    def test_a_preservation_keeps_what_it_names_until_it_ends(self, shop: Shop) -> None:
        shop.record()
        shop.record()
        until = shop.local() + timedelta(days=5)
        first = came(shop, kind="preservation", items=None, preserve={"names": ["slip/1"], "until": local_text(until)})
        came(shop, kind="preservation", items=None, preserve={"names": ["item/2/1", "report/weekly-1"]})
        assert self.kept(shop, "slip/1") == ["preservation"]
        # One key of the vault holds all of a slip, so what keeps an item keeps its slip, and the other way round.
        assert [self.kept(shop, name) for name in ("slip/2", "item/1/3", "report/weekly-1")] == [["preservation"]] * 3
        assert self.kept(shop, "report/weekly-2") == []
        with engines.reading(shop.book.engine) as connection:
            (one,) = requests.preserved(connection, shop.book, "slip/1", at=shop.local())
        assert (one.id, one.until) == (first, until)
        shop.wait(days=6)
        assert self.kept(shop, "slip/1") == []

    @pytest.mark.parametrize(
        ("event", "more"), [("preservation-ended", {}), ("released", {"form": "written"}), ("closed", {})]
    )
    def test_it_ends_when_it_is_said_to(self, sqlite_shop: Shop, event: str, more: dict[str, str]) -> None:
        sqlite_shop.record()
        name = came(sqlite_shop, kind="preservation", items=None, preserve={"everything": True})
        assert self.kept(sqlite_shop, "inquiry/0011") == ["preservation"]
        followed(sqlite_shop, name, event, **more)
        assert self.kept(sqlite_shop, "inquiry/0011") == []

    def test_an_open_request_and_a_standing_order_keep_their_items(self, shop: Shop) -> None:
        shop.record()
        shop.record()
        name = came(shop)
        order, _ = holding.order(
            shop.book,
            holding.read_order(
                {
                    **dict.fromkeys(("agency", "officer", "power"), "Canary"),
                    "items": ["2/1"],
                    "form": "written",
                    "from": local_text(shop.local()),
                }
            ),
        )
        assert (self.kept(shop, "slip/1"), self.kept(shop, "slip/2")) == (["request"], ["order"])
        followed(shop, name, "decided", decision={"state": "refused", "by": "ada", "because": "no power"})
        holding.lift(shop.book, order, at=shop.local(), by="Canary", form="written")
        assert (self.kept(shop, "slip/1"), self.kept(shop, "slip/2")) == ([], [])

    def test_a_release_keeps_nothing(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        came(sqlite_shop, kind="release")
        assert self.kept(sqlite_shop, "slip/1") == []

    def test_what_a_person_is_told_betrays_nothing(self) -> None:
        assert requests.KEPT_SAYS == "It must be kept: a preservation, an open request or an order names it."


class TestReading:
    """A request from a document: what is missing is named, what it says is not repeated."""

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"court": "x"}, "^court: 'court' was given; wanted is one of kind, received"),
            ({"kind": "canary"}, "^kind: something else was given; wanted is one of request, consent"),
            ({"how": ["canary"]}, "^how: something else was given; wanted is one of in-person"),
            ({"received": "canary"}, "^received: "),
            ({"power": " "}, "^power: nothing that could be read was given; wanted is text"),
            ({"scope": 7}, "^scope: "),
            ({"officer": "Canary"}, "^officer: no table was given; wanted is a table with name, badge, agency, phone"),
            ({"officer": {"name": "Canary"}}, "^officer.agency: "),
            ({"officer": {"rank": "Canary"}}, "^officer.rank: 'rank' was given"),
            ({"call_back": None}, "^call_back: no table"),
            ({"call_back": {"done": "Canary"}}, "^call_back.done: something else was given; wanted is true or false"),
            ({"call_back": {"done": True, "at": local_text, "result": "x"}}, "^at: "),
            ({"call_back": {"done": False}}, "^call_back.because: "),
            ({"items": "1/1"}, "^items: something else was given; wanted is a list of texts"),
            ({"items": ["1-1"]}, "^items: '1-1' was given; wanted is SLIP/LINE"),
            ({"secret_until": "for ever"}, "^secret_until: "),
            ({"kind": "preservation"}, "^preserve: 'nothing' was given"),
            ({"preserve": {"names": []}}, "^preserve.names: "),
            ({"preserve": {"names": ["canary of all"]}}, "^preserve.names: "),
            ({"preserve": {"names": ["slip/1"], "until": "x"}}, "^until: "),
            ({"follow_up": "x"}, "^follow_up: something else was given; wanted is a list of tables"),
            ({"follow_up": [{"what": "a", "by": "b"}]}, "^follow_up.by: "),
            ({"decision": {"state": "dropped", "by": "ada"}}, "^decision.state: "),
            ({"decision": {"state": "narrowed", "by": "ada"}}, "^decision.because: "),
            ({"decision": {**GIVEN, "entries": ["1"]}}, "^decision.entries: "),
            ({"decision": {**GIVEN, "hashes": ["A"]}}, "^decision.hashes: "),
            ({"decision": {**GIVEN, "state": "refused", "because": "x"}}, "^decision.people: True was given"),
        ],
    )
    def test_what_is_wrong_is_named(self, changes: dict[str, Any], message: str) -> None:
        with pytest.raises(InputError, match=message) as fault:
            requested.read({**CAME, **changes})
        assert "Canary" not in str(fault.value)

    def test_a_whole_request_is_read_and_written(self) -> None:
        at = CAME["received"]
        read = requested.read(
            {
                **CAME,
                "call_back": {"done": False, "because": "the desk did not answer"},
                "secret_until": at,
                "preserve": {"names": ["slip/2", "slip/1", "slip/1"], "until": at},
                "follow_up": [{"what": "answer", "due": at}],
                "true_owner": "Canary Owner",
                "decision": GIVEN,
            }
        )
        said = read.record()
        assert said["preserve"] == {"names": ["slip/1", "slip/2"], "everything": False, "until": at}
        assert (said["secret_until"], said["follow_up"]) == (at, [{"what": "answer", "due": at}])
        assert (said["items"], said["case"], said["form"]) == (["1/1"], "CASE-CANARY-77", "")
        assert said["decision"]["people"] is True
        assert requested.Requested(
            "request", read.received, "mail", {}, "p", "s", {}
        ).record()["items"] == []  # fmt: skip

    @pytest.mark.parametrize(
        ("step", "message"),
        [
            ({"event": "danced"}, "^event: "),
            ({"event": "closed", "what": "x"}, "^what: "),
            ({"event": "called-back"}, "^result: "),
            ({"event": "decided"}, "^decision: no table"),
            ({"event": "secrecy", "until": "soon"}, "^until: "),
            ({"event": "closed", "by": ""}, "^by: "),
        ],
    )
    def test_a_step_that_is_wrong_is_named(self, step: dict[str, Any], message: str) -> None:
        with pytest.raises(InputError, match=message):
            requested.read_step({"at": CAME["received"], "by": "ada", **step})

    def test_a_step_is_read_and_written(self) -> None:
        step = {"event": "claimed", "at": CAME["received"], "by": "ada", "said": "came in", "claimant": "C"}
        assert requested.read_step(step).record() == {**step, "claim": ""}
        bare = requested.Step("closed", requested.read_step(step).at, "ada")
        assert bare.record() == {"event": "closed", "at": CAME["received"], "by": "ada", "said": ""}
        until = {"event": "secrecy", "at": CAME["received"], "by": "ada", "until": CAME["received"]}
        assert requested.read_step(until).record()["until"] == CAME["received"]


class TestAnswer:
    """The answer on paper: scope asked and given, what is kept, and what is gone."""

    def test_it_says_what_was_given_and_what_is_gone(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local(), to="Bellweather Metals", because="")
        due = local_text(bare_shop.local() + timedelta(days=9))
        name = came(
            bare_shop,
            decision={"state": "narrowed", "by": "ada", "because": "the rest is beyond the power", "fields": ["marks"]},
            follow_up=[{"what": "answer in writing", "due": due}],
        )
        entry, _ = extracting.extract(
            bare_shop.book, Wanted("A", "s. 1", ((1, 1),), process=name), "a4", at=bare_shop.local()
        )
        said = paper_tools.text_of(replying.paper(bare_shop.book, name, "letter", at=bare_shop.local()))
        for words in (
            "Answer to a subpoena",
            "Canary Officer, 4417, Canary Agency, 555 0199",
            "canary desk says yes",
            "America/Chicago, in person",
            "Less is given than was asked for.",
            "Reason: the rest is beyond the power",
            "Given: marks",
            f"extract, its manifest {entry.seq} {entry.public['manifest'][:32]}",
            "is not in stock: sold on Tue 24 Nov 2026",
            "It went to Bellweather Metals.",
            "Of the same purchase there are still here: 1/3.",
            "answer in writing Thu 3 Dec 2026",
        ):
            assert words in said

    def test_a_preservation_is_confirmed(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        until = sqlite_shop.local() + timedelta(days=90)
        name = came(
            sqlite_shop,
            kind="preservation",
            items=None,
            case=None,
            preserve={"names": ["slip/1"], "until": local_text(until)},
            call_back={"done": False, "because": "after hours"},
            decision={"state": "given", "by": "ada", "hashes": ["b" * 64]},
        )
        extracting.extract(sqlite_shop.book, Wanted("A", "s. 1", ((1, 1),)), "a4", at=sqlite_shop.local())
        said = paper_tools.text_of(replying.paper(sqlite_shop.book, name, "a4", at=sqlite_shop.local()))
        assert "slip/1: kept until Mon 22 Feb 2027" in said
        assert ("not done: after hours" in said, "none named" in said) == (True, True)
        assert f"another paper or file none {'b' * 32}" in said
        followed(sqlite_shop, name, "called-back", result="the desk confirms")
        whole = came(sqlite_shop, kind="preservation", items=None, preserve={"everything": True})
        said = paper_tools.text_of(replying.paper(sqlite_shop.book, name, "a4", at=sqlite_shop.local()))
        assert "the desk confirms" in said
        said = paper_tools.text_of(replying.paper(sqlite_shop.book, whole, "a4", at=sqlite_shop.local()))
        assert "Everything in the book: kept until told otherwise." in said
        assert "Nothing has been decided yet." in said
