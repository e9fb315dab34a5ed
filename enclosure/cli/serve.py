"""``enclosure serve``: the same program as a page in the browser, on this computer only."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.errors import BriefError, OutputError

if TYPE_CHECKING:
    import socket

HERE = "127.0.0.1"
FIRST_PORT = 8765
PORTS_TRIED = 20
BACKLOG = 128


@click.command(short_help="Design it in a page of your browser.")
@click.argument("brief", type=str, required=False)
@click.option(
    "-p", "--port", type=click.IntRange(0, 65535), metavar="PORT", help="Left out, the first free one from 8765."
)
@click.option(
    "--host",
    metavar="ADDRESS",
    default=HERE,
    show_default=True,
    help="Address to listen on; others see all but this one.",
)
@click.option("--open/--no-open", "opens", default=True, help="Open the page in the browser.")
def serve(brief: str | None, port: int | None, host: str, opens: bool) -> int:
    """Serve a page on which BRIEF is edited, drawn, checked and printed.

    Without BRIEF the page begins with a choice. The page is seen from this computer only, at an address with
    a random word in it; nothing leaves the machine. Ctrl-C stops it.

    \b
    Examples:
      enclosure serve
      enclosure serve my-fern.toml
    """
    import secrets

    try:
        from enclosure.workbench.run import run_page
    except ModuleNotFoundError as error:
        raise OutputError(
            f"the page needs {error.name}, which is not installed",
            "install it: pip install jinja2 starlette uvicorn",
        ) from None
    path = _brief_file(brief)
    listening = _listen(host, port)
    number = listening.getsockname()[1]
    token = secrets.token_urlsafe(18)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{number}/{token}/"
    click.echo(f"the page: {address}")
    if host not in (HERE, "::1", "localhost"):
        click.echo(f"take care: everybody who can reach {host} and knows this address can use the page", err=True)
    click.echo("stop it with Ctrl-C")
    if opens:
        click.launch(address)
    run_page(listening, token, host, path)
    return 0


def _brief_file(said: str | None) -> Path | None:
    if said is None:
        return None
    path = brief_path(said)
    if not path.is_file():
        raise BriefError(f"there is no file {path}", "make one with: enclosure new")
    return path.absolute()


def _listen(host: str, port: int | None) -> socket.socket:
    """Return a socket that listens, on the port asked for or on the first free one."""
    import socket

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    tried = [port] if port is not None else [*range(FIRST_PORT, FIRST_PORT + PORTS_TRIED), 0]
    for number in tried:
        listening = socket.socket(family, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, number))
            # at once, so that a second page cannot take the same port before the server runs
            listening.listen(BACKLOG)
            return listening
        except OSError as error:
            listening.close()
            reason = (error.strerror or "unknown reason").lower()
    raise OutputError(f"port {tried[-1]} on {host} cannot be used: {reason}", "choose another with --port")
