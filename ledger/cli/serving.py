"""The command `serve`: the counter in a browser.

Decides: what is printed, and that options go before settings. Leaves the rest to `ledger.web`, which is imported when
the command runs.
"""

from dataclasses import replace

import click

from ledger.acts.opening import settings_of
from ledger.cli import opened
from ledger.cli.options import Asked, for_a_book


@click.command()
@click.option("--address", metavar="ADDRESS", help="Where to listen; else settings.toml, else this machine alone.")
@click.option("--port", type=click.IntRange(1, 65_535), help="Port; else settings.toml, else 8470.")
@click.option("--name", "names", multiple=True, metavar="NAME", help="A further host name of the counter.")
@click.option(
    "--make-certificate",
    is_flag=True,
    help="Make a certificate for --address and --name, say how devices come to trust it, and end.",
)
@for_a_book
@click.pass_obj
def serve(asked: Asked, address: str | None, port: int | None, names: tuple[str, ...], make_certificate: bool) -> None:
    """Open the counter in a browser.

    The vault is opened by the first sign-in of the day. Other machines reach it only with TLS: a certificate of your
    own in settings.toml, or one that --make-certificate makes.
    """
    from ledger.web import serving

    book = opened.a_book(asked)
    settings = settings_of(book.folder)
    told = settings.counter
    told = replace(
        told, address=address or told.address, port=port or told.port, names=tuple(dict.fromkeys((*names, *told.names)))
    )
    if make_certificate:
        from ledger.web import certificates

        wanted = (told.address, *told.names)
        made = certificates.make(book.folder, wanted, opened.clock())
        place = serving.where(book.folder, told)
        text = certificates.INSTRUCTIONS.format(
            authority=made,
            until=(opened.clock() + certificates.LIFE).date(),
            file=made.name,
            names=", ".join(certificates.names_in(made.with_name("counter.pem"))),
            address=told.address,
            url=place.url,
        )
        click.echo(text, nl=False)
        return
    place = serving.where(book.folder, told)
    serving.bring_up_to_date(book)
    counter = serving.counter_of(book, settings, place.hosts, secure=place.secure, port=place.port)
    if book.keys is not None and asked.unlock_with:
        counter.admit(book.keys)
    serving.serve(counter, place, started=lambda: click.echo(f"The counter is open: {place.url} (Ctrl+C ends it)"))
