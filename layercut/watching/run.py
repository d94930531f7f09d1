"""Running the watch: the socket, the server and the follower, from start to Ctrl-C.

Enters: what is watched. Leaves: nothing; it ends when it is interrupted. Holds: the socket is bound to the loopback
address alone, so no other machine can reach it.
"""

import asyncio
import secrets
import socket
from collections.abc import Callable
from contextlib import suppress

import uvicorn

from layercut.errors import LayercutError
from layercut.watching.follow import Follower, Watched
from layercut.watching.server import make_app

LOOPBACK = "127.0.0.1"
"""The one address that is listened to."""

LAST_WORDS_S = 1
"""How long open connections get when the watch ends, s."""


def watch(watched: Watched, port: int, ready: Callable[[str], None]) -> None:
    """Serve the page until interrupted; `ready` is told its address. A port of 0 is any free one.

    Raises LayercutError when the port can't be had.
    """
    bound = _bind(port)
    with bound, suppress(KeyboardInterrupt):
        asyncio.run(_serve(watched, bound, ready))


def _bind(port: int) -> socket.socket:
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((LOOPBACK, port))
        bound.listen()
    except OSError as error:
        bound.close()
        raise LayercutError(
            "usage", f"port {port} can't be had ({error.strerror}).", "Choose another, or none, with --port."
        ) from None
    return bound


async def _serve(watched: Watched, bound: socket.socket, ready: Callable[[str], None]) -> None:
    port = bound.getsockname()[1]
    hosts = (f"{LOOPBACK}:{port}", f"localhost:{port}")
    follower = Follower(watched)
    config = uvicorn.Config(
        make_app(follower, hosts, secrets.token_urlsafe(24)),
        log_config=None,
        access_log=False,
        server_header=False,
        ws="none",
        lifespan="off",
        timeout_graceful_shutdown=LAST_WORDS_S,
    )
    server = _Server(config, follower.live.close)
    following = asyncio.create_task(follower.run())
    following.add_done_callback(lambda _task: setattr(server, "should_exit", True))  # without it nothing is followed
    ready(f"http://{LOOPBACK}:{port}/")
    try:
        await server.serve(sockets=[bound])
    finally:
        following.cancel()
        follower.close()
        with suppress(asyncio.CancelledError):
            await following


class _Server(uvicorn.Server):
    """A server that lets its followers go before it waits for them."""

    def __init__(self, config: uvicorn.Config, let_go: Callable[[], None]) -> None:
        super().__init__(config)
        self._let_go = let_go

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._let_go()
        await super().shutdown(sockets=sockets)
