"""The command line: every command, run, and what its end means.

Enters: the words of a command line. Leaves: an exit code (`cli/exits.py`).
"""

import gc
import json
import os
import sys
import warnings
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import typer
import typer.main

from layercut.cli import bundle, check, compile, coupon, preview, rectify, start, verify, watch
from layercut.cli.app import app
from layercut.cli.exits import DONE, INTERRUPTED, PIPE_CLOSED
from layercut.cli.printing import PipeClosedError, guarded_output, say, utf8, write_result
from layercut.errors import InternalError, LayercutError, OutputError

COMMANDS = (compile, check, preview, verify, bundle, watch, start, rectify, coupon)
"""Each holds one command, which joins the application when it is imported."""

ERROR_FORMAT = 1
"""Version of the JSON document that tells of an error, which has one key, `error`, beside it."""

GARBAGE_AFTER = 20_000
"""New objects after which Python looks for circles among them. A run makes hundreds of thousands of objects, nearly
none in a circle: looking as often as it does by itself takes 4 % of the time, and saves 1 % of the memory."""

_UsageError: Any = typer.BadParameter.__base__
"""What typer raises for a wrong command line. Newer versions carry click inside them, where it has no public name."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command line (without the program's name; by default the process's own) and return its exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    gc.set_threshold(GARBAGE_AFTER)
    try:
        return _run(words)
    except PipeClosedError:
        return PIPE_CLOSED
    except KeyboardInterrupt:
        return INTERRUPTED


def _run(words: list[str]) -> int:
    try:
        with warnings.catch_warnings(), guarded_output():
            warnings.simplefilter("ignore")  # a library's warning tells a maker nothing
            # Not app(words): that replaces the interpreter's exception hook.
            code = typer.main.get_command(app).main(args=words, prog_name="layercut", standalone_mode=False)
    except typer.Abort:
        return INTERRUPTED
    except (PipeClosedError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a library's compiled code may raise outside of Exception
        return _report(error, as_json="--json" in words)
    return code if isinstance(code, int) else DONE


def _report(error: BaseException, *, as_json: bool) -> int:
    """Tell what went wrong in one sentence, and as JSON where that was asked for; returns the exit code."""
    told = _as_layercut_error(error)
    if isinstance(told, InternalError):
        if os.environ.get("LAYERCUT_TRACEBACK"):
            import traceback

            say("".join(traceback.format_exception(error)).rstrip(), lines=True)
        say(
            f"layercut: a fault of its own, not of the drawing: {told.sentence()} "
            "With LAYERCUT_TRACEBACK=1 in the environment it shows where."
        )
    else:
        say(f"layercut: {told.sentence()}")
    if as_json:
        with suppress(OutputError):  # the exit code already tells
            write_result(utf8(_error_text(told)))
    return told.exit_code


def _as_layercut_error(error: BaseException) -> LayercutError:
    if isinstance(error, LayercutError):
        return error
    if isinstance(error, _UsageError):
        context = error.ctx
        command = context.command_path if context is not None else "layercut"
        message = " ".join(error.format_message().replace("Value error, ", "").split()).rstrip(".")
        return LayercutError("usage", f"{message}.", f"'{command} --help' tells how to use it.")
    return InternalError("fault", f"{type(error).__name__}: {error}.", "Please report it.")


def _error_text(error: LayercutError) -> str:
    fields = ("code", "message", "hint", "file", "layer", "element")
    document = {"format": ERROR_FORMAT, "error": {field: getattr(error, field) or None for field in fields}}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"
