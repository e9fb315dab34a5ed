"""How is the page served until the person stops it?"""

from __future__ import annotations

import socket
from pathlib import Path

from enclosure.workbench.app import Settings, create_app

MOST_CONNECTIONS = 400


def hosts_of(host: str, port: int) -> tuple[str, ...]:
    """Return the host headers that are answered for an address listened on."""
    names = {host, "127.0.0.1", "localhost", "[::1]"} if host in ("127.0.0.1", "::1", "localhost") else {host}
    shown = {f"[{name}]" if ":" in name and not name.startswith("[") else name for name in names}
    bare = shown if port == 80 else set()
    return tuple(sorted({f"{name}:{port}" for name in shown} | bare))


def run_page(listening: socket.socket, token: str, host: str, brief: Path | None) -> None:
    """Serve until stopped.

    Args:
        listening: A bound socket.
        token: Random word that begins every path.
        host: Address listened on.
        brief: Brief to open at once.
    """
    import uvicorn

    port = int(listening.getsockname()[1])
    app = create_app(Settings(token, hosts_of(host, port), brief))
    config = uvicorn.Config(
        app, log_level="error", access_log=False, server_header=False, date_header=False, lifespan="on",
        limit_concurrency=MOST_CONNECTIONS, timeout_graceful_shutdown=3, ws="none",
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[listening])
