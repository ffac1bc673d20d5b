"""How long a cold `serve` takes to its first page, beside a bare Starlette page served by the same uvicorn.

Both are processes of their own, started with compiled bytecode, and asked until they answer.
Run: `python -m tests.bench.bench_first_page`, with nothing else running; figures stand in DEVELOPERS.md.
"""

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from urllib.error import URLError

from tests import shops
from tests.bench.pairs import compare, table

BARE = """
import sys
import uvicorn
from starlette.applications import Starlette
from starlette.responses import HTMLResponse
from starlette.routing import Route
app = Starlette(routes=[Route("/sign-in", lambda request: HTMLResponse("<!doctype html><title>page</title>"))])
uvicorn.run(app, port=int(sys.argv[1]), log_level="critical")
"""


def first_page(command: Callable[[int], Sequence[str]]) -> Callable[[], float]:
    """Seconds from the start of a server's process until its first page has come whole."""

    def once() -> float:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        started = time.perf_counter()
        process = subprocess.Popen(command(port), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            while True:
                with suppress(URLError, ConnectionError):
                    urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in", timeout=10).read()
                    return time.perf_counter() - started
                time.sleep(0.005)
        finally:
            process.kill()
            process.wait()

    return once


def main() -> None:
    """Prints the comparison."""
    with tempfile.TemporaryDirectory() as folder:
        shop = shops.open_shop(Path(folder) / "book", moment=datetime.now(UTC), chance=os.urandom)
        shop.book.engine.dispose()
        program = str(Path(sys.executable).parent / "counterfoil")
        book = str(shop.book.folder)
        table(
            compare(
                "first page of a cold serve (floor: bare)",
                first_page(lambda port: [sys.executable, "-c", BARE, str(port)]),
                first_page(lambda port: [program, "--book", book, "serve", "--port", str(port)]),
            )
        )


if __name__ == "__main__":
    main()
