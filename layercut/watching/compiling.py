"""Warm processes that compile, and the rule that the newest save wins.

Enters: `CompileRequest`s. Leaves: what their processes tell, for the newest request only. Holds: one process works,
one waits with everything imported. A new request while one is worked on ends that process, since nothing within it
can be interrupted, and goes to the one that waits.
"""

import multiprocessing
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess
from pathlib import Path

from layercut.watching.messages import Broken, CompileRequest, Event
from layercut.watching.worker import serve

Listen = Callable[[Event], None]


class Compiler:
    """Compiles orders in processes of its own and hands what they tell to `listen`, from a thread of its own.

    `example` is a drawing that each process reads once while it waits, for practice.
    """

    def __init__(self, listen: Listen, example: Path) -> None:
        self._listen = listen
        self._example = example
        self._lock = threading.Lock()
        self._context = _context()
        self._running = self._hire()
        self._waiting: WorkerProcess | None = None
        self._request: CompileRequest | None = None

    def start(self, request: CompileRequest) -> None:
        """Compile this now; whatever is still at work on an older request is dropped."""
        with self._lock:
            self._request = request
            if not self._running.give(request):
                self._running.end()
                self._running, self._waiting = self._waiting or self._hire(), None
                if not self._running.give(request):  # it died while it waited
                    self._running = self._hire()
                    self._running.give(request)

    def close(self) -> None:
        """End every process."""
        with self._lock:
            self._request = None
            self._running.end()
            if self._waiting is not None:
                self._waiting.end()

    def _hire(self) -> "WorkerProcess":
        return WorkerProcess(self._context, self._tell, self._example)

    def _tell(self, event: Event) -> None:
        with self._lock:
            if self._request is None or event.run != self._request.run:
                return
        self._listen(event)
        with self._lock:
            # Not before the first picture is out: a new process takes its share of the processor.
            if self._request is not None and self._waiting is None:
                self._waiting = self._hire()


class WorkerProcess:
    """One process and the thread that listens to it."""

    def __init__(self, context: ForkServerContext | SpawnContext, tell: Listen, example: Path) -> None:
        self._pipe, theirs = context.Pipe()
        self._tell = tell
        self._ended = False
        self._busy_with: int | None = None
        self._process: BaseProcess = context.Process(target=serve, args=(theirs, example), daemon=True)
        self._process.start()
        theirs.close()
        threading.Thread(target=self._hear, args=(self._pipe,), daemon=True).start()

    def give(self, request: CompileRequest) -> bool:
        """Hand over an request; False where the process is at work or gone."""
        if self._busy_with is not None or not self._process.is_alive():
            return False
        try:
            self._busy_with = request.run
            self._pipe.send(request)
        except OSError:
            return False
        return True

    def end(self) -> None:
        self._ended = True
        self._process.kill()  # it holds nothing that must be put away
        self._process.join()

    def _hear(self, pipe: Connection) -> None:
        try:
            while True:
                event = pipe.recv()
                if event.last:
                    self._busy_with = None
                self._tell(event)
        except (EOFError, OSError):
            if self._busy_with is not None and not self._ended:
                sentence = "the compiler stopped without a word; there may be too little memory for this drawing."
                self._tell(Event(self._busy_with, Broken(sentence), last=True))
        finally:
            pipe.close()


def _context() -> ForkServerContext | SpawnContext:
    """Processes that begin with everything imported, where the system can do that; else ones that import it first."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["layercut.watching.worker"])
        return context
    return multiprocessing.get_context("spawn")
