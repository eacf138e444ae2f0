"""Serves the page on the loopback address until the process is told to end."""

import secrets
import socket
import webbrowser
from collections.abc import Callable
from contextlib import closing
from functools import partial
from typing import Final

import uvicorn

from recommender.faults import InputError
from recommender.page.app import Setting, application
from recommender.page.workers import Workers
from recommender.results.answer import PriceList

LOOPBACK: Final = "127.0.0.1"
_MOST_AT_ONCE: Final = 48


def serve(
    setting: Setting,
    *,
    port: int,
    seconds: float | None,
    told: Callable[[str], None],
    browser: bool = False,
    prices: PriceList | None = None,
) -> None:
    """Serve the page, and tell its address once it can be opened.

    Parameters
    ----------
    setting : Setting
    port : int
        0 for one that is free.
    seconds : float, optional
        Longest time for a proof.
    told : callable
        Is given the address with its secret.
    browser : bool
        Whether to open it in the browser.
    prices : PriceList, optional
        What was laid over the catalogue.

    Raises
    ------
    InputError
        If the port is not to be had.
    """
    with closing(_bound(port)) as listening:
        port = listening.getsockname()[1]
        token = secrets.token_urlsafe(24)
        hosts = [f"{name}:{port}" for name in (LOOPBACK, "localhost")]
        app = application(
            setting, partial(Workers, setting.catalogue, seconds, prices), token, hosts
        )
        address = f"http://{LOOPBACK}:{port}/{token}/"
        told(address)
        if browser:
            webbrowser.open(address)
        config = uvicorn.Config(
            app,
            log_level="error",
            access_log=False,
            lifespan="on",
            loop="asyncio",
            http="h11",
            ws="none",
            proxy_headers=False,
            server_header=False,
            limit_concurrency=_MOST_AT_ONCE,
            timeout_keep_alive=30,
        )
        uvicorn.Server(config).run(sockets=[listening])


def _bound(port: int) -> socket.socket:
    """A socket that listens, so that nobody takes the port before the address is told."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.bind((LOOPBACK, port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise InputError(
            f"--port {port}: cannot be had ({error.strerror}); name another, or leave it out for"
            " one that is free"
        ) from None
    return listening
