"""Starts the counter: address, certificate, hosts, log, and a stop that finishes what is being written.

Decides: that it listens on this machine alone unless there is TLS, and under which names it answers. Leaves requests
to `guard`. Heavy libraries are imported when a page needs them: the first page is there within a second.
"""

import ipaddress
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ledger import shipped
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.errors import InputError
from ledger.shop.settings import CounterSettings, Settings
from ledger.web import signing_in
from ledger.web.counter import Counter
from ledger.web.guard import Guard
from ledger.web.paths import Route, Routing

GRACE_SECONDS: Final = 10
_AFTER_SECONDS: Final = 0.7
"""after this the other pages are loaded, while the first one is looked at"""


@dataclass(frozen=True)
class Where:
    """Where the counter listens, and how."""

    address: str
    port: int
    names: tuple[str, ...]
    """host names and addresses under which browsers may ask for it, without port"""
    certificate: Path | None = None
    key: Path | None = None

    @property
    def secure(self) -> bool:
        """Whether it speaks TLS."""
        return self.certificate is not None

    @property
    def hosts(self) -> frozenset[str]:
        """Host headers that are answered: a browser leaves the usual port away."""
        usual = 443 if self.secure else 80
        plain = [f"[{name}]" if ":" in name else name.lower() for name in self.names]
        return frozenset(f"{name}:{self.port}" for name in plain) | (
            frozenset(plain) if self.port == usual else frozenset()
        )

    @property
    def url(self) -> str:
        """What a person types into a browser."""
        name = f"[{self.names[0]}]" if ":" in self.names[0] else self.names[0]
        return f"{'https' if self.secure else 'http'}://{name}:{self.port}/"


def where(folder: Path, told: CounterSettings) -> Where:
    """Where to listen, by the settings.

    Raises: InputError for an address that is none, and for one that others on the network reach without a certificate.
    """
    certificate, key = Path(told.certificate), Path(told.certificate_key)
    if bool(told.certificate) != bool(told.certificate_key):
        wanted = "both a certificate and its key, or neither"
        raise InputError(field="counter.certificate", given=told.certificate, wanted=wanted)
    try:
        local = told.address == "localhost" or ipaddress.ip_address(told.address).is_loopback
    except ValueError as fault:
        wanted = "an address of this machine, such as 127.0.0.1 or 192.168.1.20"
        raise InputError(field="counter.address", given=told.address, wanted=wanted) from fault
    if told.certificate:
        return Where(told.address, told.port, _named(told, certificate), certificate, key)
    if local:
        return Where(told.address, told.port, ("127.0.0.1", "localhost", "::1", *told.names))
    from ledger.web import certificates

    own = certificates.made_in(folder)
    if own is None:
        wanted = "127.0.0.1, or a certificate first: run `counterfoil serve --make-certificate` with this address"
        raise InputError(field="counter.address", given=told.address, wanted=wanted)
    return Where(told.address, told.port, _named(told, own[0]), *own)


def _named(told: CounterSettings, certificate: Path) -> tuple[str, ...]:
    from ledger.web import certificates  # without TLS nobody waits for what reads certificates

    names = (*certificates.names_in(certificate), *told.names)
    first = (told.address,) if told.address in names else ()
    return tuple(dict.fromkeys((*first, *names)))


def counter_of(
    book: Book, settings: Settings, hosts: frozenset[str], *, secure: bool = False, port: int = 8470
) -> Counter:
    """The counter over a book, its vault closed."""
    return Counter(
        book=Book(book.folder, book.engine, book.origin, book.clock, book.chance, book.program),
        settings=settings,
        routing=Routing(signing_in.ROUTES, _every_route),
        hosts=hosts,
        secure=secure,
        cookie=f"__Host-counter-{port}",
    )


def _every_route() -> tuple[Route, ...]:
    from ledger.web import routes  # with what the pages need this takes longer than all the rest together

    return routes.ROUTES


def bring_up_to_date(book: Book) -> None:
    """The newest layout of the database; looked up by the names of the migrations, for alembic takes long to load."""
    newest = max(path.name.partition("_")[0] for path in (shipped.folder("migrations") / "versions").glob("[0-9]*.py"))
    if engines.layout(book.engine) != newest:
        engines.migrate(book.engine)


def serve(counter: Counter, place: Where, *, started: Callable[[], None] = lambda: None) -> None:
    """Serve until the process is told to stop; then finish what is under way."""
    import uvicorn

    class Server(uvicorn.Server):
        """Says when it listens."""

        async def startup(self, sockets: Any = None) -> None:
            await super().startup(sockets)
            if self.started:
                started()
                loading = threading.Timer(_AFTER_SECONDS, lambda: counter.routing.routes)
                loading.daemon = True
                loading.start()

    config = uvicorn.Config(
        Guard(counter),
        host=place.address,
        port=place.port,
        loop="asyncio",
        http="h11",
        ws="none",
        lifespan="off",
        log_config=log_config(),
        access_log=False,
        proxy_headers=False,  # else whoever says X-Forwarded-For would choose the address that is counted
        server_header=False,
        limit_concurrency=100,
        backlog=128,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=GRACE_SECONDS,
        h11_max_incomplete_event_size=32 * 1024,
        ssl_certfile=place.certificate,
        ssl_keyfile=place.key,
    )
    try:
        Server(config).run()
    finally:
        counter.close()


def log_config() -> dict[str, Any]:
    """Our own lines, and of the server only what goes wrong with it."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"plain": {"format": "%(asctime)s %(message)s"}},
        "handlers": {"plain": {"class": "logging.StreamHandler", "formatter": "plain", "stream": "ext://sys.stderr"}},
        "loggers": {
            "counterfoil.counter": {"handlers": ["plain"], "level": "INFO", "propagate": False},
            "uvicorn.error": {"handlers": ["plain"], "level": "ERROR", "propagate": False},
        },
    }
