"""The one thread that writes: what several people do at once is written one after the other, in the order it came.

Decides: the order, and that whoever asked waits for the answer. Leaves to the acts what is written, to the database
that it lasts.

>>> writer = Writer()
>>> writer.run(lambda: 6 * 7)
42
>>> writer.run(lambda: writer.run(lambda: "an act may ask for another"))
'an act may ask for another'
>>> writer.close()
"""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


class Writer:
    """First come, first written."""

    def __init__(self) -> None:
        self._thread: int | None = None
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="writer", initializer=self._begin)

    def _begin(self) -> None:
        self._thread = threading.get_ident()

    def run(self, act: Callable[[], T]) -> T:
        """What the act answers. Raises: whatever it raises."""
        if threading.get_ident() == self._thread:
            return act()  # it would wait for itself
        return self._pool.submit(act).result()

    def close(self) -> None:
        """Finish what waits; nothing more is taken."""
        self._pool.shutdown(wait=True)
