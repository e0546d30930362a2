"""What waits for a worker, in which order, and how far each piece of work is.

Two lanes, each a thread with a worker of its own: `quick` answers while somebody waits, `long` is
for searches. In a lane, the lower `order` goes first.
"""

from __future__ import annotations

import itertools
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from img2plate.base.errors import Img2PlateError
from img2plate.ui.worktable.wishes.settings import error_words
from img2plate.ui.worktable.work.voice import AskFirstError, Stopped
from img2plate.ui.worktable.work.workers import Worker

LANES = ("quick", "long")
OPEN = ("waiting", "working")
Done = Callable[[Any], None]


@dataclass
class Job:
    """One piece of work for a project."""

    project: str
    key: str
    task: str
    arguments: tuple[Any, ...]
    lane: str = "quick"
    order: int = 0
    then: Done | None = None
    """Told the result in the lane's thread, before anybody else hears of it."""
    state: str = "waiting"
    """waiting, working, done, failed or stopped."""
    stage: str = ""
    share: float = 0.0
    so_far: bytes = b""
    """PNG of the plate so far, while it is searched for."""
    seen: int = 0
    """Pictures of it until now."""
    result: Any = None
    error: dict[str, str] = field(default_factory=dict)
    finished: threading.Event = field(default_factory=threading.Event)

    @property
    def makes_plate(self) -> bool:
        """Whether it makes a plate; else it reads a picture, writes a pack."""
        return self.task.startswith("make_plate")

    def as_json(self) -> dict[str, Any]:
        """Plain types, for the page."""
        found = {"key": self.key, "state": self.state}
        if self.state == "working":
            far = {"stage": self.stage, "share": round(self.share, 3)}
            return found | far | ({"seen": self.seen} if self.seen else {})
        return found | ({"error": self.error} if self.state == "failed" else {})


class Jobs:
    """All work, and the two workers that do it. Methods may be called from any thread."""

    def __init__(self, hear: Callable[[Job], None]) -> None:
        """Start; `hear` is told of each change of a job, from any thread."""
        self._hear = hear
        self._known: dict[tuple[str, str], Job] = {}
        self._numbers = itertools.count()
        self._waiting: dict[str, list[tuple[int, int, Job]]] = {lane: [] for lane in LANES}
        self._running: dict[str, Job] = {}
        self._change = threading.Condition()
        self._ended = False
        cores = max(1, (os.cpu_count() or 1) - 1)
        self._workers = {"quick": Worker(1), "long": Worker(cores)}
        self._threads = [
            threading.Thread(target=self._serve, args=(lane,), daemon=True) for lane in LANES
        ]
        for thread in self._threads:
            thread.start()

    def start(self, job: Job) -> Job:
        """Have a job done, unless the same one is on its way or done; returns the one that is."""
        with self._change:
            place = job.project, job.key
            known = self._known.get(place)
            if known is not None and known.state in (*OPEN, "done"):
                self._sooner(known, job.order)
                return known
            self._known[place] = job
            self._waiting[job.lane].append((job.order, next(self._numbers), job))
            self._change.notify_all()
        return job

    def find(self, project: str, key: str) -> Job | None:
        """What became of a job."""
        return self._known.get((project, key))

    def forget(self, project: str, key: str) -> None:
        """Forget what became of a job that is over, so that it can be done again."""
        with self._change:
            job = self._known.get((project, key))
            if job is not None and job.state not in OPEN:
                del self._known[project, key]

    def drop_waiting(self, project: str) -> None:
        """Forget the plates of a project that nobody looks at any more and that are not begun."""
        with self._change:
            for waiting in self._waiting.values():
                for entry in list(waiting):
                    if self._is_meant(entry[2], project, None):
                        waiting.remove(entry)
                        del self._known[project, entry[2].key]

    def stop(self, project: str, keys: set[str] | None = None) -> None:
        """Stop a project's jobs: those of `keys`, else all that make plates."""
        with self._change:
            for lane in LANES:
                for entry in list(self._waiting[lane]):
                    if self._is_meant(entry[2], project, keys):
                        self._waiting[lane].remove(entry)
                        self._finish(entry[2], "stopped")
                running = self._running.get(lane)
                if running and self._is_meant(running, project, keys):
                    self._workers[lane].stop()

    def end(self) -> None:
        """End the workers; nothing is done after this."""
        with self._change:
            self._ended = True
            for _, _, job in (entry for lane in LANES for entry in self._waiting[lane]):
                job.state = "stopped"
                job.finished.set()  # somebody may wait for it
            self._change.notify_all()
        for worker in self._workers.values():
            worker.end()

    @staticmethod
    def _is_meant(job: Job, project: str, keys: set[str] | None) -> bool:
        """Whether a job is one of those to be stopped."""
        return job.project == project and (job.makes_plate if keys is None else job.key in keys)

    def _sooner(self, job: Job, order: int) -> None:
        """Bring a waiting job forward."""
        waiting = self._waiting[job.lane]
        for place, (old, number, each) in enumerate(waiting):
            if each is job and order < old:
                waiting[place] = order, number, each

    def _serve(self, lane: str) -> None:
        """Do the jobs of a lane, one after the other."""
        while True:
            with self._change:
                while not self._waiting[lane] and not self._ended:
                    self._change.wait()
                if self._ended:
                    return
                entry = min(self._waiting[lane], key=lambda entry: entry[:2])
                self._waiting[lane].remove(entry)
                job = self._running[lane] = entry[2]
                job.state = "working"
            self._hear(job)
            self._do(lane, job)
            with self._change:
                del self._running[lane]

    def _do(self, lane: str, job: Job) -> None:
        """Do one job."""

        def tell(stage: str, share: float) -> None:
            job.stage, job.share = stage, share
            self._hear(job)

        def see(picture: bytes) -> None:
            job.so_far = picture
            job.seen += 1
            self._hear(job)

        try:
            job.result = self._workers[lane].run(job.task, job.arguments, tell, see)
            if job.then is not None:
                job.then(job.result)
        except (Stopped, KeyError):  # KeyError: the project was removed meanwhile
            self._finish(job, "stopped")
        except Img2PlateError as error:
            asks = {"ask": "yes"} if isinstance(error, AskFirstError) else {}
            job.error = error_words(error) | asks
            if error.line:
                job.error["line"] = str(error.line)
            self._finish(job, "failed")
        else:
            self._finish(job, "done")

    def _finish(self, job: Job, state: str) -> None:
        """Say that a job is over."""
        job.state, job.so_far = state, b""
        if not self._ended:
            self._hear(job)
        job.finished.set()
