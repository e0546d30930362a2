"""A process that does one task after the other: limited in memory, ended and started anew.

Decoding pictures and choosing beads happen here, never in the process that answers the page. A
worker that is asked to stop does so at its next sign of progress; one that does not, or that dies,
is replaced.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from img2plate.base.errors import Img2PlateError
from img2plate.ui.worktable.work.voice import Stopped, Voice

MEMORY_GB = 6
"""Address space of a worker, where the system can limit it."""
PATIENCE_SECONDS = 2.0
"""How long a worker may take to stop when asked to."""
DIED = "its process was ended from outside, perhaps for lack of memory"


class Worker:
    """A process of its own, started when first needed. Used by one thread; `stop` by any."""

    def __init__(self, cores: int = 1) -> None:
        self._cores = cores
        self._context = get_context("spawn")  # a fork of a process with threads may hang
        self._asked = self._context.Event()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._lock = threading.Lock()

    def run(
        self,
        task: str,
        arguments: tuple[Any, ...],
        tell: Callable[[str, float], None],
        see: Callable[[bytes], None] | None = None,
    ) -> Any:
        """Do a task; `see` is shown pictures of a plate so far.

        Raises Img2PlateError for what a user can mend, Stopped when stopped.
        """
        pipe = self._ready()
        try:
            pipe.send((task, arguments))
            while True:
                word, *rest = pipe.recv()
                if word == "progress":
                    tell(*rest)
                elif word == "so far":
                    if see:
                        see(*rest)
                elif word == "done":
                    return rest[0]
                else:
                    raise rest[0]
        except (EOFError, OSError):
            stopped = self._asked.is_set()
            self.end()
            if stopped:
                raise Stopped from None
            raise Img2PlateError(DIED) from None
        finally:
            self._asked.clear()  # a worker that has nothing to do is not to be ended for it

    def stop(self) -> None:
        """Ask the running task to stop; end the process if it does not listen."""
        self._asked.set()
        process = self._process

        def insist() -> None:
            if self._asked.is_set() and process is not None and process is self._process:
                process.kill()

        timer = threading.Timer(PATIENCE_SECONDS, insist)
        timer.daemon = True
        timer.start()

    def end(self) -> None:
        """End the process; the next task starts another one."""
        with self._lock:
            process, self._process = self._process, None
            pipe, self._pipe = self._pipe, None
        if process is not None:
            process.kill()
            process.join()
        if pipe is not None:
            pipe.close()  # last: who waits at it sees its end

    def _ready(self) -> Connection:
        """The pipe to a living process."""
        self._asked.clear()
        with self._lock:
            if self._pipe is not None and self._process is not None and self._process.is_alive():
                return self._pipe
            ours, theirs = self._context.Pipe()
            process = self._context.Process(
                target=_serve, args=(theirs, self._asked, self._cores), daemon=True
            )
            process.start()
            theirs.close()
            self._process, self._pipe = process, ours
            return ours


def _serve(pipe: Connection, asked: Any, cores: int) -> None:
    """Do tasks until the other side closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends it
    os.environ["NUMBA_NUM_THREADS"] = str(cores)  # before numba is imported
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _limit_memory()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    from img2plate.ui.worktable.work.tasks import TASKS

    voice = Voice(pipe, asked)
    while True:
        try:
            task, arguments = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer = ("done", TASKS[task](*arguments, voice))
        except (Img2PlateError, Stopped) as error:
            answer = ("failed", error)
        except MemoryError:
            answer = ("failed", Img2PlateError("not enough memory for this; make it smaller"))
        except Exception as error:
            traceback.print_exc(file=sys.stderr)
            kind = type(error).__name__
            answer = (
                "failed",
                Img2PlateError(f"this went wrong inside ({kind}); please report it"),
            )
        try:
            pipe.send(answer)
        except OSError:
            return


def _end_with_parent() -> None:
    """End at once when the server is killed, in the midst of a search, too."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _limit_memory() -> None:
    """Refuse more address space than a plate needs, where the system can."""
    try:
        import resource
    except ImportError:  # no such limits on Windows
        return
    wanted = MEMORY_GB << 30
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    if most == resource.RLIM_INFINITY or most > wanted:
        resource.setrlimit(resource.RLIMIT_AS, (wanted, most))
