"""The process that compiles: the quick picture first, then the stack, then the sheets, each told once it is known.

Enters: `CompileRequest`s through a pipe. Leaves: `Event`s through the same pipe, the last of each run marked so.
Holds: a request never ends the process, whatever the drawing holds; what is told is what `layercut compile` would
say, since both go through `pipeline.run`. A process that is in the way is ended from outside.
"""

import gc
import signal
import warnings
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path

from layercut.drawing import CurveCache, read_drawing
from layercut.errors import LayercutError, told_in
from layercut.job import Job, load_job
from layercut.job_tables import IslandsJob
from layercut.model import Cut, Drawing, Made, Planned, Stack
from layercut.pipeline import plan_stack, run
from layercut.watching.messages import (
    Broken,
    CompileRequest,
    Concluded,
    Event,
    IslandsKnown,
    News,
    QuickPicture,
    SheetsKnown,
    StackKnown,
    Stage,
)
from layercut.watching.quick_look import quick_look
from layercut.watching.view_model import (
    outcome_words,
    proof_words,
    view_findings,
    view_islands,
    view_picture,
    view_sheets,
)

Tell = Callable[[News], None]


def serve(pipe: Connection, example: Path) -> None:
    """Carry out requests until the other end of the pipe closes. `example` is read first, if nothing is to do yet."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process of the terminal; the server decides
    warnings.simplefilter("ignore")  # a library's warning tells a maker nothing
    gc.freeze()  # what is imported stays, so looking through it again and again would only cost time
    cache = CurveCache()  # a save changes few of a drawing's curves
    if not pipe.poll():
        with suppress(Exception):  # practice: the first reading loads what later ones find in memory
            quick_look(read_drawing(example, Job(), cache), Job())
    while True:
        try:
            request = pipe.recv()
            carry_out(request, pipe.send, cache)
        except (EOFError, BrokenPipeError, ConnectionResetError):
            return


def carry_out(request: CompileRequest, send: Callable[[Event], None], cache: CurveCache | None = None) -> None:
    """Compile one drawing and tell of it; a drawing that can't be read or made is told as `Broken`."""
    try:
        _compile(request, lambda news: send(Event(request.run, news)), cache)
    except (EOFError, BrokenPipeError, ConnectionResetError):
        raise
    except LayercutError as error:
        send(Event(request.run, Broken(error.sentence()), last=True))
    except BaseException as error:  # a library's compiled code may raise outside of Exception
        sentence = f"a fault of layercut's own, not of the drawing: {type(error).__name__}: {error}."
        send(Event(request.run, Broken(sentence), last=True))
    else:
        send(Event(request.run, Stage(""), last=True))


def _compile(request: CompileRequest, tell: Tell, cache: CurveCache | None) -> None:
    job = load_job(request.job, request.settings)
    with told_in(job.units):
        _follow(request, job, tell, cache)


def _follow(request: CompileRequest, job: Job, tell: Tell, cache: CurveCache | None) -> None:
    """Tell of each stage as soon as it is reached."""

    def progress(stage: str) -> None:
        tell(Stage(stage))

    build: Planned | None = None
    for reached in run(request.drawing, job, progress, cache):
        match reached:
            case Drawing():
                tell(QuickPicture(quick_look(reached, job), (reached.width_mm, reached.height_mm), job.units.name))
                continue
            case Made():
                tell(Concluded(view_findings(reached), outcome_words(reached), proof_words(reached.proof, job.units)))
            case Cut():
                progress("drawing the sheets")
                tell(SheetsKnown(view_picture(reached), view_findings(reached), view_sheets(reached)))
            case Planned():
                progress("drawing the picture")
                tell(_stack_known(reached))
        build = reached
    if build is not None and _unweighed(build):
        progress("weighing the other ways out")
        tell(IslandsKnown(view_islands(build, _weighed(build))))


def _stack_known(build: Planned) -> StackKnown:
    """What hangs loose and what was found need not wait for the sheets, and with them the engraving."""
    islands = view_islands(build, build.stack)
    return StackKnown(
        view_picture(build), view_findings(build), islands, build.job.islands.policy, outcome_words(build)
    )


def _unweighed(build: Planned) -> bool:
    """Whether the job has chosen for some piece itself, so that its other ways out weren't weighed."""
    return any(choice.own for layer in build.stack.layers for choice in layer.choices)


def _weighed(build: Planned) -> Stack:
    """The stack as if every piece were left to layercut, so that all ways out of each have their prices."""
    job = build.job.model_copy(update={"islands": _left_to_us(build.job.islands)})
    return plan_stack(build.drawing, job)


def _left_to_us(islands: IslandsJob) -> IslandsJob:
    return islands.model_copy(update={"policy": "auto", "layers": {}, "pieces": {}})
