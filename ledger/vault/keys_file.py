"""The keys file of a book: who can open it, and what an owner does to it.

Decides: what each act changes in `keys.json`, and that the file on the disk is whole at every moment. Leaves to
others: the layout (`slots`; KEYS.md tells it to a stranger), the primitives (`locks`), what the opened keys do
(`opened`), the rows that hold wrapped data keys (book), who is asked for a pass-phrase and how (faces).

A session, with an owner who lets a clerk in:

>>> import os, tempfile
>>> path = Path(tempfile.mkdtemp()) / "keys.json"
>>> quick = Cost(64, 1, 1)
>>> book = "counterfoil/" + "0" * 32
>>> keys, paper = create(path, book=book, owner="ada", pass_phrase="long words", chance=os.urandom, cost=quick)
>>> add_person(path, keys, staff="ben", role="clerk", pass_phrase="other words", chance=os.urandom, cost=quick)
>>> people(path)
[('ada', 'owner'), ('ben', 'clerk')]
>>> open_file(path, "other words").owner
False
>>> open_with_paper(path, paper).owner
True

When the pass-phrase of the last owner and the paper key both are lost, everything personal is lost: no other
way in exists, and none can be made.
"""

import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from ledger.errors import InputError, LockedError, StorageError
from ledger.vault import durable_files, paper_key, slots
from ledger.vault.locks import KEY_BYTES, USUAL, Chance, Cost, take
from ledger.vault.opened import CLASSES, OpenKeys, Role, Secrets, WrappedKey, opened
from ledger.vault.slots import PAPER, Held, KeysFile, Slot

__all__ = [
    "CLASSES",
    "PAPER",
    "USUAL",
    "Chance",
    "Cost",
    "OpenKeys",
    "Role",
    "WrappedKey",
    "add_person",
    "book_of",
    "change_pass_phrase",
    "check_current",
    "create",
    "drop_old_epochs",
    "known_to_former_owners",
    "new_epoch",
    "new_paper_key",
    "open_file",
    "open_with_paper",
    "people",
    "public_key",
    "remove_person",
    "reset_pass_phrase",
]

_SHORTEST = 8
_EPOCH_BYTES = 8


def create(
    path: Path, *, book: str, owner: str, pass_phrase: str, chance: Chance, cost: Cost = USUAL
) -> tuple[OpenKeys, str]:
    """A new keys file with one owner, its opened keys, and the paper key to be written down.

    path: of the new file; book: origin, `counterfoil/` and 32 hex; cost: of one guess at a pass-phrase.
    Raises: InputError for a staff id or pass-phrase that will not do; StorageError when a file already is
    there or the disk fails. Then no file was made.
    """
    _check_person(owner, pass_phrase)
    held = Held(counter=take(chance, KEY_BYTES), owner=take(chance, KEY_BYTES))
    seed, index, wrapping = (take(chance, KEY_BYTES) for _ in range(3))
    epoch = take(chance, _EPOCH_BYTES).hex()
    slot_key = take(chance, KEY_BYTES)
    keys = opened(owner, "owner", book, epoch, Secrets(slot_key, index, seed, {epoch: wrapping}, held.owner))
    paper, paper_slot, _ = _fresh_paper_slot(book, 1, held, chance)
    file = KeysFile(
        book=book,
        public=keys.public,
        owners=1,
        epoch=epoch,
        epochs={epoch: slots.lock_book_key(book, epoch, wrapping, held.counter, chance)},
        index=slots.lock_book_key(book, "index", index, held.counter, chance),
        signing=slots.lock_book_key(book, "signing", seed, held.counter, chance),
        slots=(_person_slot(book, owner, "owner", slot_key, pass_phrase, cost, 1, held, chance), paper_slot),
    )
    with durable_files.held(path.parent):
        if path.exists():
            raise StorageError(path=path, why="a keys file is there already; name another folder")
        try:
            _keep(path, file, held.owner)
        except StorageError:
            # A file whose paper key nobody has seen must not stay.
            with suppress(OSError):
                path.unlink(missing_ok=True)
            raise
    return keys, paper


def open_file(path: Path, pass_phrase: str, *, staff: str | None = None) -> OpenKeys:
    """The keys that a pass-phrase opens. staff: whose slot to try; None tries each in turn.

    Raises: LockedError when it opens none; StorageError when the file cannot be read.
    """
    file = _read(path)
    for slot in file.slots:
        if slot.typed.cost is not None and staff in (None, slot.staff):
            try:
                slot_key = slots.open_typed(file.book, slot, pass_phrase)
            except LockedError:
                continue
            return _opened(file, slot, slot_key)
    raise LockedError(
        what="The book",
        why="this pass-phrase opens no slot of its keys file; type it again, or ask an owner for a new one",
    )


def open_with_paper(path: Path, paper_key_text: str) -> OpenKeys:
    """The keys that the paper key opens, as an owner's; `staff` is "paper".

    Raises: InputError when the letters do not check; LockedError when it is another paper; StorageError.
    """
    file = _read(path)
    slot = file.slot(PAPER)
    if slot is None:
        raise LockedError(what="The book", why="its keys file has no slot for a paper key; put back a backup")
    try:
        slot_key = slots.open_typed(file.book, slot, paper_key_text)
    except LockedError:
        raise LockedError(
            what="The book",
            why="this paper key was made for another book, or a newer paper has replaced it; find the newest",
        ) from None
    return _opened(file, slot, slot_key)


def people(path: Path) -> list[tuple[str, Role]]:
    """Staff id and role of everyone with a slot, in the order they came; needs no key."""
    return [(slot.staff, slot.role) for slot in _read(path).slots if slot.staff != PAPER]


def public_key(path: Path) -> bytes:
    """The Ed25519 key that checks the book's seals, 32 bytes; needs no key."""
    return _read(path).public


def book_of(path: Path) -> str:
    """The origin of the book that this file opens; needs no key."""
    return _read(path).book


def known_to_former_owners(path: Path) -> list[str]:
    """Whose slot keys were known to an owner who has left: each needs `reset_pass_phrase`; needs no key."""
    file = _read(path)
    return [slot.staff for slot in file.slots if slot.known_since < file.owners]


def check_current(path: Path, keys: OpenKeys) -> None:
    """Nothing, when these keys still are what the file gives their person. Call it before writing.

    Raises: LockedError when the person lost the slot, or a newer epoch wraps data keys: a key wrapped under
    the old one would be lost with it.
    """
    file = _read(path)
    slot = file.slot(keys.staff)
    with suppress(LockedError):
        if slot is not None and file.epoch == keys.epoch and file.book == keys.book:
            slots.open_counter(file.book, slot, keys.secrets.slot)
            return
    raise LockedError(
        what="The book",
        why="its keys were renewed after these were opened; run `counterfoil lock` and `counterfoil unlock`",
    )


def add_person(
    path: Path, owner: OpenKeys, *, staff: str, role: Role, pass_phrase: str, chance: Chance, cost: Cost = USUAL
) -> None:
    """One more person can open the book.

    Raises: InputError for a person who has a slot already, or a pass-phrase that will not do; LockedError
    without an owner's keys; StorageError.
    """
    _check_person(staff, pass_phrase)
    with _changing(path, owner) as (file, held):
        if file.slot(staff) is not None:
            raise InputError(field="staff", given=staff, wanted="someone who has no slot yet")
        key = take(chance, KEY_BYTES)
        slot = _person_slot(file.book, staff, role, key, pass_phrase, cost, file.owners, held, chance)
        _keep(path, file.with_slot(slot), held.owner)


def remove_person(path: Path, owner: OpenKeys, staff: str, chance: Chance) -> tuple[OpenKeys, str | None]:
    """The person's slot is gone and the counter secret is another; nobody else is asked.

    Result: the owner's keys as they are now; and a new paper key to write down when an owner was removed, for
    then the owner secret is another too. Such a person knew all slot keys: `known_to_former_owners` lists whose
    pass-phrases to reset. What the person could open before stays open to copies made before: `new_epoch`
    keeps what comes after from them.
    Raises: InputError for someone without a slot or for oneself; LockedError; StorageError.
    """
    with _changing(path, owner) as (file, held):
        leaving = file.slot(staff)
        if leaving is None or staff in (PAPER, owner.staff):
            raise InputError(field="staff", given=staff, wanted="someone else who has a slot")
        file = replace(file, slots=tuple(slot for slot in file.slots if slot is not leaving))
        now = replace(held, counter=take(chance, KEY_BYTES))
        if leaving.role == "owner":
            now = replace(now, owner=take(chance, KEY_BYTES))
            file = replace(file, owners=file.owners + 1)
        file = _renewed(file, held, now, chance)
        paper, own_key = None, owner.secrets.slot
        if leaving.role == "owner":
            paper, slot, paper_slot_key = _fresh_paper_slot(file.book, file.owners, now, chance)
            file = file.with_slot(slot)
            own_key = paper_slot_key if owner.staff == PAPER else own_key
        file = _keep(path, file, now.owner)
    return _opened(file, _own_slot(file, owner), own_key), paper


def change_pass_phrase(path: Path, opened: OpenKeys, new: str, chance: Chance, cost: Cost = USUAL) -> None:
    """The person who opened the book has another pass-phrase; nothing else changes and no owner is needed.

    Raises: InputError for a pass-phrase that will not do, or for keys that came from the paper;
    LockedError when the slot is gone; StorageError.
    """
    _check_person(opened.staff, new)
    with durable_files.held(path.parent):
        file = _read(path)
        slot = _own_slot(file, opened)
        key = opened.secrets.slot
        slots.open_counter(file.book, slot, key)  # else a reset slot would be spoiled
        typed = slots.typed_under(file.book, slot.staff, slot.role, key, new, cost, chance)
        durable_files.put(path, slots.to_bytes(file.with_slot(replace(slot, typed=typed))))


def reset_pass_phrase(
    path: Path, owner: OpenKeys, *, staff: str, pass_phrase: str, chance: Chance, cost: Cost = USUAL
) -> OpenKeys:
    """A person who forgot the pass-phrase has another, with a new slot key; the counter secret is another too.

    Result: the owner's keys as they are now (an owner may reset the own slot).
    Raises: InputError for someone without a slot or a pass-phrase that will not do; LockedError; StorageError.
    """
    _check_person(staff, pass_phrase)
    with _changing(path, owner) as (file, held):
        slot = file.slot(staff)
        if slot is None:
            raise InputError(field="staff", given=staff, wanted="someone who has a slot")
        now = replace(held, counter=take(chance, KEY_BYTES))
        key = take(chance, KEY_BYTES)
        fresh = _person_slot(file.book, staff, slot.role, key, pass_phrase, cost, file.owners, now, chance)
        file = _keep(path, _renewed(file, held, now, chance).with_slot(fresh), held.owner)
    return _opened(file, _own_slot(file, owner), key if staff == owner.staff else owner.secrets.slot)


def new_paper_key(path: Path, owner: OpenKeys, chance: Chance) -> str:
    """A new paper key to write down; the old paper opens nothing any more.

    Raises: LockedError without an owner's keys; StorageError.
    """
    with _changing(path, owner) as (file, held):
        paper, slot, _ = _fresh_paper_slot(file.book, file.owners, held, chance)
        _keep(path, file.with_slot(slot), held.owner)
    return paper


def new_epoch(
    path: Path, owner: OpenKeys, chance: Chance, rewrap: Iterable[WrappedKey]
) -> tuple[OpenKeys, list[WrappedKey]]:
    """A new random wrapping key, and the given data keys under it, in their order.

    The old wrapping key stays in the file until `drop_old_epochs`, so that a crash between the two loses
    nothing: wrapped keys of either epoch open, and `OpenKeys.rewrap` carries on. Forgetting is: delete the wrapped
    keys to forget, `new_epoch`, write the rewrapped ones, `drop_old_epochs`.
    Raises: LockedError without an owner's keys, or for a data key that does not open; then nothing was changed.
    """
    with _changing(path, owner) as (file, held):
        epoch = take(chance, _EPOCH_BYTES).hex()
        wrapped = slots.lock_book_key(file.book, epoch, take(chance, KEY_BYTES), held.counter, chance)
        file = replace(file, epoch=epoch, epochs={**file.epochs, epoch: wrapped})
        file = replace(file, code=slots.list_code(file, held.owner))
        keys = _opened(file, _own_slot(file, owner), owner.secrets.slot)
        rewrapped = [keys.rewrap(old, chance) for old in rewrap]
        _keep(path, file, held.owner)
    return keys, rewrapped


def drop_old_epochs(path: Path, owner: OpenKeys) -> OpenKeys:
    """The owner's keys with the current epoch alone; wrapping keys of older ones are destroyed.

    What is still wrapped under those is lost for ever. Raises: LockedError without an owner's keys; StorageError.
    """
    with _changing(path, owner) as (file, held):
        file = _keep(path, replace(file, epochs={file.epoch: file.epochs[file.epoch]}), held.owner)
    return _opened(file, _own_slot(file, owner), owner.secrets.slot)


# What the acts above are made of.


def _read(path: Path) -> KeysFile:
    missing = "there is no keys file here; name the book's folder, or put back the newest keys backup"
    return slots.from_bytes(durable_files.get(path, missing), path)


def _keep(path: Path, file: KeysFile, owner_secret: bytes) -> KeysFile:
    """The file with the owner's code over its list, on the disk."""
    file = replace(file, code=slots.list_code(file, owner_secret))
    durable_files.put(path, slots.to_bytes(file))
    return file


@contextmanager
def _changing(path: Path, owner: OpenKeys) -> Iterator[tuple[KeysFile, Held]]:
    """The file and its two secrets, with nobody else changing it. Raises: LockedError without an owner's keys."""
    if owner.secrets.owner is None:
        raise LockedError(what="The list of people", why="only an owner's keys change it; ask an owner")
    with durable_files.held(path.parent):
        file = _read(path)
        _check_code(file, owner.secrets.owner)
        counter = slots.open_counter(file.book, _own_slot(file, owner), owner.secrets.slot)
        yield file, Held(counter, owner.secrets.owner)


def _check_code(file: KeysFile, owner_secret: bytes) -> None:
    if not slots.same_code(file, owner_secret):
        raise LockedError(
            what="The list of people",
            why="it was changed by someone without an owner's keys, or these keys were opened before an owner "
            "left; open the book again, and if that fails put back the newest keys backup",
        )


def _opened(file: KeysFile, slot: Slot, slot_key: bytes) -> OpenKeys:
    """What a slot gives. Raises: LockedError when the file does not hang together."""
    counter = slots.open_counter(file.book, slot, slot_key)
    owner = slots.open_owner(file.book, slot, slot_key)
    if owner is not None:
        _check_code(file, owner)
    wrapping = {
        epoch: slots.open_book_key(file.book, epoch, wrapped, counter) for epoch, wrapped in file.epochs.items()
    }
    secrets = Secrets(
        slot=slot_key,
        index=slots.open_book_key(file.book, "index", file.index, counter),
        signing=slots.open_book_key(file.book, "signing", file.signing, counter),
        wrapping=wrapping,
        owner=owner,
    )
    keys = opened(slot.staff, slot.role, file.book, file.epoch, secrets)
    if keys.public != file.public or file.epoch not in wrapping:
        raise LockedError(
            what="The book",
            why="its keys file names a signing key or an epoch that is not its own; put back the newest keys backup",
        )
    return keys


def _renewed(file: KeysFile, before: Held, now: Held, chance: Chance) -> KeysFile:
    """The file under other secrets: the book's keys and every slot wrapped anew, no person asked."""

    def again(use: str, wrapped: bytes) -> bytes:
        key = slots.open_book_key(file.book, use, wrapped, before.counter)
        return slots.lock_book_key(file.book, use, key, now.counter, chance)

    return replace(
        file,
        epochs={epoch: again(epoch, wrapped) for epoch, wrapped in file.epochs.items()},
        index=again("index", file.index),
        signing=again("signing", file.signing),
        slots=tuple(slots.refilled(file.book, slot, before, now, chance) for slot in file.slots),
    )


def _person_slot(
    book: str,
    staff: str,
    role: Role,
    slot_key: bytes,
    pass_phrase: str,
    cost: Cost,
    known_since: int,
    held: Held,
    chance: Chance,
) -> Slot:
    typed = slots.typed_under(book, staff, role, slot_key, pass_phrase, cost, chance)
    return slots.filled(book, staff, role, typed, slot_key, known_since, held, chance)


def _fresh_paper_slot(book: str, known_since: int, held: Held, chance: Chance) -> tuple[str, Slot, bytes]:
    """What to write down, the slot it opens, and the slot key."""
    text = paper_key.written(take(chance, paper_key.BITS // 8))
    slot_key = take(chance, KEY_BYTES)
    typed = slots.typed_under(book, PAPER, "owner", slot_key, text, None, chance)
    return text, slots.filled(book, PAPER, "owner", typed, slot_key, known_since, held, chance), slot_key


def _own_slot(file: KeysFile, keys: OpenKeys) -> Slot:
    slot = file.slot(keys.staff)
    if slot is None:
        raise LockedError(what="The book", why=f"{keys.staff} has no slot in its keys file any more; ask an owner")
    return slot


def _check_person(staff: str, pass_phrase: str) -> None:
    plain = staff.isprintable() and staff == staff.strip() and unicodedata.is_normalized("NFC", staff)
    if not (plain and 1 <= len(staff) <= 64) or staff == PAPER:
        raise InputError(field="staff", given=staff, wanted="1 to 64 printable characters, and not 'paper'")
    if len(pass_phrase) < _SHORTEST or not pass_phrase.isprintable():
        raise InputError(
            field="pass-phrase",
            given="a text that is too short or holds a control character",
            wanted=f"one line of at least {_SHORTEST} characters; several words are best",
        )
