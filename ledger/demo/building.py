"""Builds the demonstration shop: six weeks in an invented town, its papers, its check, and a forgery that is caught.

Decides: the order of the whole, and the tour at its end. The story is in `visits` and `diary`.

    build(Path("demo-shop"), print)
"""

import textwrap
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from ledger import shipped
from ledger.acts import closing, opening, setting_up
from ledger.book import verifying
from ledger.book.pages import Book
from ledger.demo import counter, diary, meanwhile, routine, tampering, touring
from ledger.demo.papers import Papers
from ledger.demo.setting import (
    CLERKS,
    COMPARED_ON,
    OWNER,
    PASS_PHRASES,
    SEED,
    SHOP,
    StoryClock,
    counted_chance,
    local,
)
from ledger.demo.story import WIDTH, Say, Story
from ledger.demo.visits import VISITS
from ledger.errors import BookUnsound
from ledger.vault import keys_file

FORGED_VISIT, FORGED_DAY = "bag-of-broken-chain", "2026-10-01"
RULES = ("state.toml", "county.toml", "town.toml")


def build(folder: Path, say: Say) -> None:
    """The demonstration in a folder that is empty or does not exist yet. say: told every line of the output.

    Raises: BookUnsound if the finished book does not verify, or the forged copy is not caught; StorageError.
    """
    folder.mkdir(parents=True, exist_ok=True)
    touring.opening_words(say)
    clock = StoryClock(local("2026-10-02 08:30"))
    story = _opened(folder, clock, say)
    say("\nSix weeks in Pellwick")
    _act(story)
    _sound(story.book, say)
    _forgery(folder, story)
    touring.tour(folder, story)


def _opened(folder: Path, clock: StoryClock, say: Say) -> Story:
    """The empty book with its people and its adopted law."""
    say("The book")
    for staff, phrase in PASS_PHRASES.items():
        path = folder / _phrase_file(staff)
        path.touch(mode=0o600)
        path.write_text(f"{phrase}\n", encoding="utf-8")
    chance = counted_chance(SEED)
    book, paper_key = opening.create(
        folder / "book", owner=OWNER, pass_phrase=PASS_PHRASES[OWNER], facts=SHOP, clock=clock, chance=chance
    )
    papers = Papers(folder / "papers")
    papers.put("paper-key-of-the-demonstration.txt", f"{paper_key}\n")
    for staff, name in CLERKS.items():
        setting_up.add_person(book, staff, "clerk", name)
        keys_file.add_person(
            book.folder / "keys.json", book.opened(), staff=staff, role="clerk", pass_phrase=PASS_PHRASES[staff],
            chance=chance,
        )  # fmt: skip
    law = shipped.folder("sample_config") / "rules" / "demo"
    for name in RULES:
        compared = date.fromisoformat(COMPARED_ON)
        setting_up.adopt(book, (law / name).read_bytes(), name, compared_on=compared, by=OWNER)
    say(f"  opened, with {len(CLERKS)} clerks and {len(RULES)} rule files of an invented state, county and town")
    slips = folder / "slips"
    slips.mkdir()
    return Story(book, clock, papers, slips, say)


def _phrase_file(staff: str) -> str:
    return "demo-passphrase.txt" if staff == OWNER else f"demo-passphrase-{staff}.txt"


def _act(story: Story) -> None:
    day = date.fromisoformat(diary.FIRST_DAY)
    while day <= date.fromisoformat(diary.LAST_DAY):
        routine.morning(story, day)
        for act in _happening_on(story, day):
            act()
        if _open(day):
            routine.evening(story, day)
        day += timedelta(days=1)
    routine.morning(story, day)  # Sunday: the sheet of the day before
    end = story.go(local(diary.END) - timedelta(hours=1), OWNER)
    routine.morning(story, end.date())
    routine.hold_list(story, story.go(local(diary.END), OWNER).date())
    story.papers.put("newest-seal.txt", closing.seal(story.book))


def _happening_on(story: Story, day: date) -> list[Callable[[], None]]:
    visits = [(visit.at, lambda visit=visit: counter.act(story, visit)) for visit in VISITS]
    others = [(happening.at, lambda one=happening: meanwhile.act(story, one)) for happening in diary.HAPPENINGS]
    return [act for at, act in sorted([*visits, *others], key=lambda each: each[0]) if at.startswith(day.isoformat())]


def _open(day: date) -> bool:
    """Monday to Saturday, but for the week in which the shop was shut."""
    first, last = diary.SHUT
    return day.weekday() < 6 and not first <= day.isoformat() <= last


def _sound(book: Book, say: Say) -> None:
    say("\nThe check")
    found = verifying.audit(book)
    if not found.ok:
        raise BookUnsound(what=f"The demonstration's own book: {found.faults[0]}")
    say(f"  {found.entries} entries; levels {', '.join(found.levels)}: no fault")
    say(f"  root {found.root}")


def _forgery(folder: Path, story: Story) -> None:
    """Forge a copy, look at it with and without what a seller has taken home."""
    say, slip = story.say, story.numbers[FORGED_VISIT]
    story.book.engine.dispose()  # so that the file holds all of it
    forgery = tampering.forged_copy(folder / "book", folder / "tampered", story.book.opened(), slip, FORGED_DAY)
    say("\nA forgery")
    say(f"  In the folder tampered/, somebody with the shop's own key moved the purchase of slip {slip}")
    say(f"  from {forgery.was} to {forgery.now},")
    say(f"  made the hashes of {forgery.rewritten} entries anew and signed {forgery.signed_anew} seals again.")
    copy = opening.at(folder / "tampered", clock=story.clock, chance=counted_chance("nobody"))
    copy.keys, copy.by = story.book.keys, OWNER
    inside = verifying.audit(copy)
    note = story.first_seals[slip]
    name = story.papers.put(f"slip-{slip:02}-stub-seal.txt", note)
    outside = verifying.audit(copy, levels=("chain",), against=note)
    copy.engine.dispose()
    alone = "finds no fault" if inside.ok else f"finds {len(inside.faults)} faults, the first in {inside.faults[0]}"
    say(f"  The check of the copy by itself, at every level, {alone}.")
    if outside.ok:
        raise BookUnsound(what="The forged copy was not caught by the seal on the stub")
    story.book.engine.dispose()
    caught = outside.faults[0]
    say(f"  Held against papers/{name}, what the seller of slip {slip} took home on the stub:")
    say("  NOT SOUND:")
    for line in textwrap.wrap(f"entry {caught.seq}: {caught.what}.", WIDTH - 4):
        say(f"    {line}")
