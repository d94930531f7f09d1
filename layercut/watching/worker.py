"""The process that compiles: the quick picture first, then the stack, then the sheets, each told once it is known.

Enters: `Order`s through a pipe. Leaves: `Told`s through the same pipe, the last of each order marked so. Holds: an
order never ends the process, whatever the drawing holds. A process that is in the way is ended from outside.
"""

import gc
import signal
import warnings
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Literal

from layercut.drawing import read_drawing
from layercut.errors import LayercutError
from layercut.job import IslandsJob, Job, load_job
from layercut.model import Build, Drawing, Stack
from layercut.pipeline import cut_build, judge_build, plan_build, plan_stack
from layercut.views.composite import compose_svg
from layercut.watching.quick_look import quick_svg
from layercut.watching.showing import picture_box, show_islands, show_sheets, show_stack
from layercut.workshop.own_paints import OwnPaints
from layercut.workshop.work import find_own

Kind = Literal["busy", "picture", "stack", "islands", "sheets", "proof", "broken"]


@dataclass(frozen=True, slots=True)
class Order:
    """What to compile: the run's number, the drawing, its job file if there is one, and settings that win over it."""

    run: int
    drawing: Path
    job: Path | None
    settings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """Something that became known in a run. `content` is plain JSON values; `last` says that no more will come."""

    run: int
    kind: Kind
    content: dict[str, Any]
    last: bool = False


Tell = Callable[[Kind, dict[str, Any]], None]


def serve(pipe: Connection, example: Path) -> None:
    """Carry out orders until the other end of the pipe closes. `example` is read first, if nothing is to do yet."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process of the terminal; the server decides
    warnings.simplefilter("ignore")  # a library's warning tells a maker nothing
    gc.freeze()  # what is imported stays, so looking through it again and again would only cost time
    if not pipe.poll():
        with suppress(Exception):  # practice: the first reading loads what later ones find in memory
            quick_svg(read_drawing(example, Job()), Job())
    while True:
        try:
            order = pipe.recv()
            carry_out(order, pipe.send)
        except (EOFError, BrokenPipeError, ConnectionResetError):
            return


def carry_out(order: Order, send: Callable[[Told], None]) -> None:
    """Compile one drawing and tell of it; a drawing that can't be read or made is told as `broken`."""

    def tell(kind: Kind, content: dict[str, Any]) -> None:
        send(Told(order.run, kind, content))

    try:
        _compile(order, tell)
    except (EOFError, BrokenPipeError, ConnectionResetError):
        raise
    except LayercutError as error:
        send(Told(order.run, "broken", {"sentence": error.sentence()}, last=True))
    except BaseException as error:  # a library's compiled code may raise outside of Exception
        sentence = f"a fault of layercut's own, not of the drawing: {type(error).__name__}: {error}."
        send(Told(order.run, "broken", {"sentence": sentence}, last=True))
    else:
        send(Told(order.run, "busy", {"stage": ""}, last=True))


def _compile(order: Order, tell: Tell) -> None:
    job = load_job(order.job, order.settings)
    drawing = read_drawing(order.drawing, job)
    quick = quick_svg(drawing, job)
    tell("picture", {"svg": quick, "box": picture_box(quick), "panel": [drawing.width_mm, drawing.height_mm]})

    def progress(stage: str) -> None:
        tell("busy", {"stage": stage})

    own = find_own(order.drawing.parent, job)
    build = plan_build(drawing, job, progress)
    progress("drawing the picture")
    # Its sheets, and with them the engraving, follow; what was found and what hangs loose need not wait for them.
    tell("stack", show_stack(build, compose_svg(build)))
    if build.makeable:
        build = _cut(build, own, tell, progress)
    if _unweighed(build):
        progress("weighing the other ways out")
        tell("islands", {"islands": show_islands(build, _weighed(drawing, job))})


def _cut(build: Build, own: OwnPaints | None, tell: Tell, progress: Callable[[str], None]) -> Build:
    """The sheets and their proof. What a proof finds is shown, not refused: nothing is written here."""
    build = cut_build(build, own, progress)
    progress("drawing the sheets")
    tell("sheets", show_sheets(build, compose_svg(build)))
    progress("proving the sheets")
    verdict = judge_build(build)
    problems = [f"{problem.file}: {problem.message}" for problem in verdict.problems]
    tell("proof", {"proof": {"holds": not problems, "problems": problems}})
    return replace(build, proof=verdict.proof)


def _unweighed(build: Build) -> bool:
    """Whether the job has chosen for some piece itself, so that its other ways out weren't weighed."""
    return any(choice.own for layer in build.stack.layers for choice in layer.choices)


def _weighed(drawing: Drawing, job: Job) -> Stack:
    """The stack as if every piece were left to layercut, so that all ways out of each have their prices."""
    return plan_stack(drawing, job.model_copy(update={"islands": _left_to_us(job.islands)}))


def _left_to_us(islands: IslandsJob) -> IslandsJob:
    return islands.model_copy(update={"policy": "auto", "layers": {}, "pieces": {}})
