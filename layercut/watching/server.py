"""The server behind the page: the page itself, the news of saves, the pictures, and the choices.

Enters: requests that the guard let through. Leaves: answers. Holds: a request changes nothing but the job file, and
that only through `choices`.
"""

import json
from collections.abc import AsyncIterator
from html import escape
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from layercut.errors import LayercutError
from layercut.job_text import unseen
from layercut.views.pages.traveller import COLOURS
from layercut.watching.choices import choose_island, choose_length
from layercut.watching.follow import Follower
from layercut.watching.guard import Guard

LONGEST_CHOICE = 4096
"""A choice that is longer than this, in bytes, is none."""

OWN_COLOURS = {"good": "#2f5d3a", "field": "#fffdf7", "edge": "#8a7656", "ring": "#d55e00", "hatch": "#0072b2"}
"""The colours that the page has beside the traveller's."""

PAGE_COLOURS = {**COLOURS, **OWN_COLOURS}
"""The page's colours by their use."""

TEXT_PAIRS = (
    ("ink", "paper"),
    ("ink", "card"),
    ("ink", "field"),
    ("soft", "paper"),
    ("soft", "card"),
    ("accent", "paper"),
    ("accent", "card"),
    ("good", "paper"),
    ("stop", "paper"),
    ("stop", "card"),
    ("ink", "stop_paper"),
    ("stop", "stop_paper"),
    ("paper", "accent"),
)
"""Every colour of text with every ground that it stands on."""

SHAPE_PAIRS = (("edge", "field"), ("edge", "card"), ("edge", "paper"), ("accent", "paper"), ("accent", "card"))
"""The edges of fields and the ring around what has the focus, with what they stand on."""


def make_app(follower: Follower, hosts: tuple[str, ...], token: str) -> ASGIApp:
    """The server as an ASGI application that answers to `hosts` only."""
    live = follower.live
    page = _page(follower.watched.drawing.name, token)

    async def show_page(_request: Request) -> Response:
        return Response(page, media_type="text/html")

    async def show_news(_request: Request) -> Response:
        return StreamingResponse(_events(live.follow()), media_type="text/event-stream")

    async def show_picture(request: Request) -> Response:
        svg = live.picture(request.url.path)
        if svg is None:
            return PlainTextResponse("this picture is not kept any more.\n", status_code=404)
        return Response(svg.encode("utf-8", "replace"), media_type="image/svg+xml")

    async def take_choice(request: Request) -> Response:
        try:
            choice = await _read_choice(request)
            _choose(follower, choice)
        except LayercutError as error:
            return JSONResponse({"sentence": error.words()}, status_code=422)
        follower.compile_now()  # at once, not only when the save is seen
        return JSONResponse({"sentence": f"Written to {follower.watched.job.name}."})

    routes = [
        Route("/", show_page),
        Route("/news", show_news),
        Route("/page.css", _asset("page.css", "text/css", _colours())),
        Route("/page.js", _asset("page.js", "text/javascript")),
        Route("/picture/{name}", show_picture),
        Route("/choice", take_choice, methods=["POST"]),
    ]
    return Guard(Starlette(routes=routes), hosts, token)


async def _events(texts: AsyncIterator[str]) -> AsyncIterator[str]:
    """Server-sent events (WHATWG HTML, section 9.2). JSON has no line ends of its own here."""
    yield "retry: 1000\n\n"
    async for text in texts:
        yield f"data: {text}\n\n"


async def _read_choice(request: Request) -> dict[str, Any]:
    """The choice as plain values. Raises LayercutError for anything that the page wouldn't send."""
    wrong = LayercutError("usage", "that is not a choice.")
    if request.headers.get("content-type", "") != "application/json":
        raise wrong
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > LONGEST_CHOICE:
            raise wrong
    try:
        choice = json.loads(body)
    except (ValueError, RecursionError):
        raise wrong from None
    if not isinstance(choice, dict) or not all(isinstance(value, str) for value in choice.values()):
        raise wrong
    if any(unseen(word) for word in (*choice, *choice.values())):
        raise wrong
    return choice


def _choose(follower: Follower, choice: dict[str, Any]) -> None:
    match choice:
        case {"key": key, "value": value}:
            choose_length(follower.job_file, key, value)
        case {"island": island, "policy": policy}:
            choose_island(follower.job_file, island, policy, follower.names_of(island))
            follower.note_choice(island, policy)
        case _:
            raise LayercutError("usage", "that is not a choice.")


def _asset(name: str, media_type: str, before: str = "") -> Any:
    text = before + (files("layercut.watching") / name).read_text(encoding="utf-8")

    async def show(_request: Request) -> Response:
        return Response(text, media_type=media_type)

    return show


def _page(drawing: str, token: str) -> str:
    text = (files("layercut.watching") / "page.html").read_text(encoding="utf-8")
    name = "".join(char if char.isprintable() else "?" for char in drawing)
    return text.replace("{{drawing}}", escape(name)).replace("{{token}}", escape(token))


def _colours() -> str:
    rules = "".join(f"--{name.replace('_', '-')}: {colour};" for name, colour in PAGE_COLOURS.items())
    return f":root{{{rules}}}\n"
