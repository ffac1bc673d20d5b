"""How long the margin of a draft takes: three layers, twenty items with their evidence, whole and half written.

No floor: the goal of the counter is 100 ms for 95 of a hundred answers, so that the margin keeps up with typing.
Run: `python -m tests.bench.bench_margin`; figures stand in DEVELOPERS.md.
"""

import os
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from ledger.acts import drafts
from ledger.slip import fields
from tests import shops, slip_samples
from tests.bench.bench_search import told

ROUNDS = 60
ITEMS = 20


def main() -> None:
    """Times both drafts, each answer worked out anew."""
    with tempfile.TemporaryDirectory() as folder:
        shop = shops.open_shop(Path(folder) / "book", moment=datetime.now(UTC), chance=os.urandom)
        ring = slip_samples.document()["items"][0]
        items = [{**ring, "style": f"plain band {number}"} for number in range(ITEMS)]
        usual = (("occurred_at", shop.slip().occurred_text), ("staff", shops.OWNER), ("tray.articles", ITEMS))
        whole = fields.fields_of(slip_samples.changed(*usual, ("items", items)))
        half = {name: text for name, text in whole.items() if not name.endswith((".pieces", ".conclusion.agrees"))}
        for tray, name, typed in (("1", "whole", whole), ("2", "without pieces and conclusions", half)):
            kept = drafts.begin(shop.book, tray=tray, fields=typed)
            seconds = []
            for number in range(ROUNDS):
                changed = replace(kept, fields={**typed, "items.0.style": f"band {number}"})
                started = time.perf_counter()
                beside = drafts.margin(shop.book, changed)
                seconds.append(time.perf_counter() - started)
                assert beside.examined is not None
            print(told(f"margin of {ITEMS} items, {name}", seconds))
        shop.book.engine.dispose()


if __name__ == "__main__":
    main()
