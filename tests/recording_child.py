"""A process that records one slip after another and says each number only after it was acknowledged.

`python -m tests.recording_child FOLDER COUNT`: the parent may kill it at any moment.
"""

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from ledger.acts import opening
from ledger.vault import keys_file
from tests.shops import OWNER, PASS_PHRASE, Shop


def main(folder: str, count: str) -> None:
    """Record count slips; print "ready" first, then each slip's number and entry."""
    shop = Shop.__new__(Shop)
    shop.now, shop.read = datetime.now(UTC), {}
    shop.book = opening.at(Path(folder), clock=lambda: datetime.now(UTC), chance=os.urandom)
    shop.book.keys, shop.book.by = keys_file.open_file(Path(folder) / "keys.json", PASS_PHRASE), OWNER
    print("ready", flush=True)
    for _ in range(int(count)):
        done = shop.record()
        assert done.purchase is not None
        print(done.slip, done.purchase.seq, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
