"""Who may talk to the server, asked of the guard itself; the whole server: test_server.py."""

from collections.abc import Mapping

import pytest
from own_loop import run_apart
from starlette.responses import PlainTextResponse
from starlette.types import Message, Scope

from layercut.watching.guard import HEADERS, TOKEN_HEADER, Guard

HOST, TOKEN = "127.0.0.1:8000", "secret"


def answer(headers: Mapping[str, str], method: str = "GET", kind: str = "http") -> tuple[int | None, dict[str, str]]:
    """The status of an answer, None for no answer at all, and its headers."""
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request"}

    async def send(message: Message) -> None:
        sent.append(message)

    raw = [(name.encode(), value.encode("latin-1")) for name, value in headers.items()]
    scope: Scope = {"type": kind, "method": method, "path": "/", "query_string": b"", "headers": raw}
    guard = Guard(PlainTextResponse("in"), [HOST, "localhost:8000"], TOKEN)

    async def run() -> None:
        await guard(scope, receive, send)

    run_apart(run())
    starts = [message for message in sent if message["type"] == "http.response.start"]
    if not starts:
        return None, {}
    return starts[0]["status"], {name.decode(): value.decode() for name, value in starts[0]["headers"]}


@pytest.mark.parametrize(
    "headers",
    [
        {"host": HOST},
        {"host": "LOCALHOST:8000"},
        {"host": HOST, "origin": f"http://{HOST}"},
        {"host": HOST, "sec-fetch-site": "same-origin"},
        {"host": HOST, "sec-fetch-site": "none"},
    ],
)
def test_the_own_page_is_let_in(headers: dict[str, str]) -> None:
    assert answer(headers)[0] == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"host": "127.0.0.1"},
        {"host": "harbour.example:8000"},
        {"host": HOST, "origin": "null"},
        {"host": HOST, "origin": f"https://{HOST}"},
        {"host": HOST, "origin": "http://localhost:8000"},
        {"host": HOST, "sec-fetch-site": "same-site"},
        {"host": HOST, "sec-fetch-site": "cross-site"},
    ],
)
def test_another_page_is_refused_even_with_the_token(headers: dict[str, str]) -> None:
    for method in ("GET", "POST"):
        assert answer({**headers, TOKEN_HEADER: TOKEN}, method)[0] == 403


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
@pytest.mark.parametrize("token", [None, "", "secre", "secret ", "Secret", "\xff"])
def test_whatever_could_change_something_needs_the_token(method: str, token: str | None) -> None:
    headers = {"host": HOST} | ({} if token is None else {TOKEN_HEADER: token})
    assert answer(headers, method)[0] == 403
    assert answer({"host": HOST, TOKEN_HEADER: TOKEN}, method)[0] == 200


def test_every_answer_has_the_headers_also_a_refusal() -> None:
    for headers in ({"host": HOST}, {"host": "elsewhere"}):
        assert HEADERS.items() <= answer(headers)[1].items()


def test_nothing_but_http_is_answered() -> None:
    assert answer({"host": HOST}, kind="websocket") == (None, {})
