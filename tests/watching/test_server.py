"""Who is let in, what a choice does, and the running command."""

import errno
import json
import re
import socket
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from layercut.watching import server

ROOT = Path(__file__).parents[2]
Start = Callable[..., Any]


@pytest.fixture
def running(watching: Start, drawing: Path, job_text: str) -> Any:
    drawing.with_suffix(".toml").write_text(job_text)
    return watching(drawing)


def token_of(address: str) -> str:
    found = re.search(r'name="layercut-token" content="([^"]+)"', httpx.get(address).text)
    assert found is not None
    return found[1]


def states(address: str) -> Iterator[dict[str, Any]]:
    """Every state that the server tells of."""
    with httpx.stream("GET", f"{address}news", timeout=30) as response:
        assert response.headers["content-type"].startswith("text/event-stream")
        for line in response.iter_lines():
            if line.startswith("data: "):
                yield json.loads(line.removeprefix("data: "))


def wait_for(address: str, holds: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    return next(state for state in states(address) if holds(state))


def done(run: int) -> Callable[[dict[str, Any]], bool]:
    return lambda state: state["run"] == run and not state["busy"] and state["known_run"] == run


def test_strangers_are_refused_and_choose_nothing(shared: Any) -> None:
    address, port = shared.address, shared.port
    token = token_of(address)
    choice = {"key": "material.kerf", "value": "0.3mm"}
    own = {"x-layercut-token": token}
    before = shared.job.read_bytes()
    strangers: list[dict[str, str]] = [
        {"host": "rebound.example"},
        {"host": f"rebound.example:{port}"},
        {"host": "127.0.0.1"},
        {"host": f"127.0.0.1:{port + 1}"},
        {"host": f"0.0.0.0:{port}"},
        {"origin": "http://rebound.example"},
        {"origin": "null"},
        {"origin": f"https://127.0.0.1:{port}"},
        {"origin": f"http://127.0.0.1:{port + 1}"},
        {"origin": f"http://localhost:{port}"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ]
    for headers in strangers:
        for path in ("", "news", "page.js", "picture/1.svg"):
            answer = httpx.get(address + path, headers=headers)
            assert answer.status_code == 403, (headers, path)
            assert token not in answer.text
        assert httpx.post(f"{address}choice", json=choice, headers={**own, **headers}).status_code == 403
    for headers in ({}, {"x-layercut-token": ""}, {"x-layercut-token": token[:-1]}, {"x-layercut-token": "\xff"}):
        raw = {name.encode(): value.encode("latin-1") for name, value in headers.items()}
        assert httpx.post(f"{address}choice", json=choice, headers=raw).status_code == 403
    assert shared.job.read_bytes() == before


def test_every_answer_forbids_what_the_page_does_not_need(shared: Any) -> None:
    for path in ("", "page.css", "page.js", "picture/none.svg", "no-such-page"):
        headers = httpx.get(shared.address + path).headers
        assert "default-src 'none'" in headers["content-security-policy"], path
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in headers


def test_only_the_loopback_address_is_listened_to(shared: Any) -> None:
    with socket.socket() as stranger, socket.socket() as own:
        # The whole of 127.0.0.0/8 leads to this machine; a server bound to every address would answer here too.
        assert stranger.connect_ex(("127.0.0.2", shared.port)) == errno.ECONNREFUSED
        assert own.connect_ex(("127.0.0.1", shared.port)) == 0


def test_a_choice_lands_in_the_job_file_and_is_compiled(running: Any, drawing: Path, job_text: str) -> None:
    address, own = running.address, {"x-layercut-token": token_of(running.address)}
    first = wait_for(address, done(1))
    assert [island["id"] for island in first["islands"]] == ["buoy"]
    assert first["sheets"] == []
    folder = sorted(path.name for path in drawing.parent.iterdir())
    answer = httpx.post(f"{address}choice", json={"island": "buoy", "policy": "loose"}, headers=own)
    assert (answer.status_code, answer.json()) == (200, {"sentence": "Written to harbour.toml."})
    text = drawing.with_suffix(".toml").read_text()
    assert text.startswith(job_text)
    assert tomllib.loads(text)["islands"]["pieces"] == {"buoy": "loose"}
    second = wait_for(address, done(2))
    assert [(island["id"], island["policy"]) for island in second["islands"]] == [("buoy", "loose")]
    assert [sheet["name"] for sheet in second["sheets"]][:2] == ["sky", "quay"]
    assert "make the drawing" in second["proof"]
    assert second["outcome"] == "It can be made: 2 sheets."
    assert httpx.get(address[:-1] + second["sheets"][1]["svg"]).headers["content-type"].startswith("image/svg+xml")
    tie = httpx.post(f"{address}choice", json={"island": "buoy", "policy": "tie"}, headers=own)
    assert tie.status_code == 200
    third = wait_for(address, done(3))
    assert [(island["id"], island["policy"]) for island in third["islands"]] == [("buoy", "tie")]
    assert sorted(path.name for path in drawing.parent.iterdir()) == folder


UNSEEN = (
    rb'{"key": "material.kerf", "value": "\ud800"}',
    rb'{"key": "\udfff", "value": "1mm"}',
    rb'{"island": "quay#\ud800", "policy": "tie"}',
    rb'{"island": "quay\u0007", "policy": "tie"}',
)
"""Lone surrogates and control characters."""


def test_what_is_no_choice_is_told_and_nothing_is_written(shared: Any) -> None:
    own = {"x-layercut-token": token_of(shared.address)}
    before = shared.job.read_bytes()

    def post(**what: Any) -> httpx.Response:
        return httpx.post(f"{shared.address}choice", headers={**own, **what.pop("headers", {})}, **what)

    answer = post(json={"key": "material.kerf", "value": "thin"})
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("'material.kerf' needs a number and a unit")
    wrongs: tuple[object, ...] = (
        [],
        {"key": "material.kerf"},
        {"key": 1, "value": 2},
        {"island": "buoy", "policy": "eat"},
    )
    for wrong in wrongs:
        assert post(json=wrong).status_code == 422, wrong
    for content in (b"{", b"[" * 4000, b'{"key": "%s"}' % (b"x" * 5000), b"\xff", *UNSEEN):
        assert post(content=content, headers={"content-type": "application/json"}).status_code == 422
    assert post(data={"key": "material.kerf", "value": "1mm"}).status_code == 422
    assert httpx.get(f"{shared.address}choice").status_code == 405
    assert shared.job.read_bytes() == before


def test_a_broken_save_keeps_the_picture_and_tells_why(running: Any, drawing: Path) -> None:
    good = wait_for(running.address, done(1))
    whole = drawing.read_text()
    drawing.write_text(whole[: len(whole) // 2])
    broken = wait_for(running.address, lambda state: state["trouble"] is not None)
    assert broken["trouble"]["sentence"].startswith("harbour.svg: is not an SVG drawing")
    assert broken["picture"] == good["picture"]
    assert httpx.get(running.address[:-1] + broken["picture"]["url"]).status_code == 200
    drawing.with_suffix(".toml").write_text("[material]\nkref = '1mm'\n")
    drawing.write_text(whole.replace("#88aacc", "#aaccee"))
    job = wait_for(running.address, lambda state: (state["trouble"] or {"run": 0})["run"] > broken["run"])
    assert "there is no setting 'material.kref'" in job["trouble"]["sentence"]
    drawing.with_suffix(".toml").unlink()
    healed = wait_for(running.address, lambda state: not state["busy"] and state["trouble"] is None)
    assert "#aaccee" in httpx.get(running.address[:-1] + healed["picture"]["url"]).text


def test_several_tabs_hear_the_same(running: Any, drawing: Path) -> None:
    wait_for(running.address, done(1))
    tabs = [states(running.address) for _ in range(3)]
    for tab in tabs:
        next(tab)
    drawing.write_text(drawing.read_text().replace("#cc3333", "#33cc33"))
    for tab in tabs:
        assert next(state for state in tab if state["picture"]["run"] >= 2)["picture"]["url"]


def test_ctrl_c_ends_it_at_once_even_with_a_tab_open(running: Any) -> None:
    with httpx.stream("GET", f"{running.address}news", timeout=10) as response:
        next(response.iter_lines())
        assert running.interrupt() == 0
    assert "Traceback" not in running.process.stderr.read()


def test_a_port_that_is_taken_is_told(shared: Any) -> None:
    command = [
        sys.executable,
        "-m",
        "layercut",
        "watch",
        "--no-open",
        "--port",
        str(shared.port),
        str(shared.drawing),
    ]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=30, check=False)
    assert ended.returncode == 2
    assert f"port {shared.port} can't be had" in ended.stderr


def test_settings_of_the_command_line_win_and_say_so(watching: Start, drawing: Path) -> None:
    running = watching(drawing, "--set", "material.kerf=0.2mm", "--islands", "tie")
    state = wait_for(running.address, done(1))
    fixed = {length["key"]: length["fixed"] for length in state["lengths"]}
    assert fixed == {"panel.frame": False, "limits.setback": False, "material.kerf": True}
    assert state["islands_fixed"]
    assert state["sheets"][1]["ties"] > 0


@pytest.mark.parametrize("words", [["no-such.svg"], ["harbour.svg", "--set", "material.kerf=thin"]])
def test_what_can_never_be_shown_ends_at_once(drawing: Path, words: list[str]) -> None:
    command = [sys.executable, "-m", "layercut", "watch", "--no-open", *words]
    environment = {"PYTHONPATH": str(ROOT), "PATH": ""}
    ended = subprocess.run(
        command, cwd=drawing.parent, capture_output=True, text=True, timeout=30, check=False, env=environment
    )
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert ended.stderr.count("\n") == 1


# --- the page's own files


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definitions)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_formula_gives_its_published_extremes() -> None:
    assert _contrast("#ffffff", "#000000") == pytest.approx(21)
    assert _contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("pair", server.TEXT_PAIRS)
def test_text_stands_out_from_its_ground(pair: tuple[str, str]) -> None:
    assert _contrast(*(server.PAGE_COLOURS[name] for name in pair)) >= 4.5  # WCAG 2.2, 1.4.3


@pytest.mark.parametrize("pair", server.SHAPE_PAIRS)
def test_edges_of_fields_stand_out_from_their_ground(pair: tuple[str, str]) -> None:
    assert _contrast(*(server.PAGE_COLOURS[name] for name in pair)) >= 3  # WCAG 2.2, 1.4.11


def test_the_page_uses_only_colours_that_there_are_and_asks_nobody_else() -> None:
    folder = Path(server.__file__).parent
    css = (folder / "page.css").read_text()
    names = {name.replace("_", "-") for name in server.PAGE_COLOURS}
    assert set(re.findall(r"var\(--([a-z-]+)\)", css)) <= names
    assert not re.findall(r"#[0-9a-f]{3,6}\b", css)
    for file in folder.glob("page.*"):
        addresses = re.findall(r"https?://[^\s\"')]+", file.read_text())
        assert set(addresses) <= {"http://www.w3.org/2000/svg"}, file
