"""What the owner enters about the shop: rule files adopted, facts of the shop, people.

Adopting a rule file keeps its exact bytes in the book for ever, with who compared it with the law and when.
"""

from datetime import date

from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError, LockedError
from ledger.law import files
from ledger.shop import adopted
from ledger.shop.facts import ShopFacts


def adopt(book: Book, data: bytes, path: str, *, compared_on: date, by: str) -> Entry:
    """The entry that puts a rule file into force.

    compared_on: the day on which it was last compared with the law; not ahead. by: who did.
    Raises: RuleFileWrong, InputError, LockedError unless an owner does it, StorageError.
    """
    file = files.read(data, path)
    _must_be_owner(book)
    with book.writing() as page:
        _must_have_come(page, compared_on)
        adopted.must_be_staff(page.connection, book.origin, by, compared_on.isoformat(), "compared by")
        in_force = list(adopted.in_force(page.connection, book.origin))
        if any(known.digest == file.digest for known in in_force):
            raise InputError(field="rule file", given=path, wanted="a file that is not in force already")
        others = [known for known in in_force if known.jurisdiction != file.jurisdiction]
        _must_agree(files.check_together([*others, file]), path)
        page.put_rule_file(file.digest, data)
        entry = page.append(
            "rules-adopted/0",
            about=[f"rules/{file.digest}"],
            public={
                "digest": file.digest,
                "jurisdiction": file.jurisdiction,
                "compared_on": compared_on.isoformat(),
            },
            by=by,
        )
    # From here on slips are examined under this file.
    return entry


def _must_have_come(page: Page, day: date) -> None:
    today = adopted.local_day(page.connection, page.book.origin, page.now)
    if day > today:
        raise InputError(field="compared on", given=day.isoformat(), wanted=f"a day not after today, {today}")


def _must_be_owner(book: Book) -> None:
    """What holds for the whole shop is for an owner to say."""
    keys = book.opened()
    if not keys.owner:
        why = f"{keys.staff} is a clerk; an owner must do this with a pass-phrase of her own"
        raise LockedError(what="What holds for the whole shop", why=why)


def _must_agree(faults: tuple[str, ...], path: str) -> None:
    if faults:
        raise InputError(
            field="rule files", given=path, wanted=f"files that fit together: {' '.join(faults).rstrip('.')}"
        )


def set_facts(book: Book, facts: ShopFacts) -> Entry:
    """The entry that says what holds about the shop from a day on. Raises: LockedError unless an owner says it."""
    _must_be_owner(book)
    with book.writing() as page:
        return page.append("shop/0", about=["book"], public={"facts": facts.record(), "from": facts.from_day})


def add_person(book: Book, staff: str, role: str, name: str) -> Entry:
    """The entry that a person works here. Her slot in the keys file is made by the face that asks her pass-phrase."""
    held = [book.hold("staff", {"name": name}, f"staff-{staff}")]
    with book.writing() as page:
        return page.append("staff/0", about=[f"staff/{staff}"], public={"staff": staff, "role": role}, held=held)


def person_left(book: Book, staff: str, until: date) -> Entry:
    """The entry that a person works here no longer after a day. Raises: InputError for a stranger."""
    with book.writing() as page:
        known = {row.staff: row.role for row in adopted.people(page.connection, book.origin)}
        if staff not in known:
            raise InputError(field="staff", given=staff, wanted="one of " + ", ".join(sorted(known)))
        public = {"staff": staff, "role": known[staff], "until": until.isoformat()}
        return page.append("staff/0", about=[f"staff/{staff}"], public=public)
