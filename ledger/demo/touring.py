"""What the demonstration says at its start and its end: that nothing of it is real, every file, and what to try.

Decides: words only.
"""

import textwrap
from pathlib import Path

from ledger.demo.diary import CLASS_RING, NEVER_CONFIRMED, WATCH
from ledger.demo.story import WIDTH, Say, Story


def opening_words(say: Say) -> None:
    """Before anything is built."""
    say("The town of Pellwick, its law, its people and their goods are invented for this demonstration.")
    say("ITS KEYS ARE PUBLIC AND WORTHLESS: they come from a counter that is printed in the program. Never keep a")
    say("real purchase in this book; make one of your own with `counterfoil init`.\n")


def tour(folder: Path, story: Story) -> None:
    """Every file by name, and commands to try next."""
    _files(folder, story.say)
    _to_read(story)
    _to_try(folder, story)


def _files(folder: Path, say: Say) -> None:
    say(f"\nFiles in {folder}")
    for path in sorted(folder.iterdir()):
        if path.is_file():
            say(f"  {path.name}")
    for name in ("papers", "slips", "book", "tampered"):
        for inside in sorted({file.parent for file in (folder / name).rglob("*") if file.is_file()}):
            if "pictures" in inside.parts[len(folder.parts) :]:
                continue
            files = sorted(file.name for file in inside.iterdir() if file.is_file())
            say(f"  {inside.relative_to(folder)}/")
            for line in textwrap.wrap(", ".join(files), WIDTH - 4, break_on_hyphens=False):
                say(f"    {line}")
        pictures = sum(1 for file in (folder / name / "pictures").rglob("*") if file.is_file())
        if pictures:
            say(f"    and {pictures} locked pictures under pictures/, each named by its digest")


def _to_read(story: Story) -> None:
    number, say = story.numbers, story.say
    first, goblet = number["solid-ring-and-gold-filled-locket"], number["gilt-silver-goblet"]
    bangle, week = number["hollow-bangle-weighed-again"], "2026-10-19-to-2026-10-25"
    say("\nPapers to look at first")
    for name, why in (
        (f"slip-{first:02}-stub.pdf", "what a seller takes home, with the seal"),
        (f"report-of-slip-{goblet:02}-to-the-sheriff.pdf", "the surface reads as gold, the filed spot does not"),
        (f"report-of-slip-{bangle:02}-to-the-sheriff.pdf", "a density that water spoiled, settled by weighing again"),
        (f"dossier-item-{number[CLASS_RING]}-1.pdf", "one ring's whole history, for the officer who asked"),
        (f"dossier-item-{number[WATCH]}-1.pdf", "a corrected number, the old one struck through"),
        (f"weekly-report-to-the-police-{week}-nothing-bought.pdf", "a week without a purchase"),
        ("hold-list-2026-11-16.pdf", f"slip {number[NEVER_CONFIRMED]} still waits for the sheriff's receipt"),
    ):
        say(f"  papers/{name}: {why}")


def _to_try(folder: Path, story: Story) -> None:
    number, say = story.numbers, story.say
    key = f"--unlock-with {folder / 'demo-passphrase.txt'}"
    forged = f"counterfoil book verify --book {folder / 'tampered'}"
    seal = next(name for name in story.papers.names if name.endswith("-stub-seal.txt"))
    minor = folder / "slips" / "seller-too-young" / "slip.json"
    say("\nTo try next")
    say(f"  export COUNTERFOIL_BOOK={folder / 'book'}")
    for command, why in (
        (f"counterfoil book verify {key}", "every level of the check"),
        (f"{forged} {key}", "the forged copy by itself"),
        (f"{forged} --against {folder / 'papers' / seal}", "and held against a seller's stub: exit 3"),
        (f"counterfoil slip show {number['gilt-silver-goblet']} {key}", "one slip with its entries"),
        (f"counterfoil hold list {key}", "what may not leave yet, and why"),
        (f"counterfoil item out {number[CLASS_RING]}/1 sold {key}", "refused, an order holds it: exit 7"),
        (f"counterfoil slip check {minor} {key}", "refused by law: exit 7"),
        (f"counterfoil inquiry search 'class ring J.T.M.' {key}", "a stolen-goods question"),
        (
            "counterfoil report due",
            "the story ends on 16 November 2026: by your clock, reports of later weeks are owed",
        ),
    ):
        say(f"  {command}")
        say(f"      {why}")
