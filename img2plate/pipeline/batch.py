"""Many pictures: side by side in processes, those that are done left out when a run goes on.

Each picture is made on one thread, and comes out as it does alone.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path

from img2plate import __version__
from img2plate.base.compiled import use_cores
from img2plate.base.errors import Img2PlateError, OutputError
from img2plate.base.files import safe_file
from img2plate.pipeline.make import run_all
from img2plate.pipeline.options import MakeOptions
from img2plate.pipeline.pack import Pack

FEW = 4
"""Up to so many pictures one process has done before others are ready to help."""
MADE = ".img2plate-made.json"
"""In the folder of packs: of which input, options and version each was made."""
Result = list[Pack] | Img2PlateError
Told = Callable[[Path, Result | None], None]
By = Callable[[Sequence[tuple[Path, str]], MakeOptions], Iterator[Result]]
"""Who makes pictures, each with its name: results in their order."""


def usual_jobs(pictures: int) -> int:
    """Processes for so many pictures: the cores that this one may use, one for a few pictures."""
    if pictures < FEW:
        return 1
    try:
        cores = len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        cores = os.cpu_count() or 1
    return min(cores, pictures)


def run_many(
    images: Sequence[Path],
    names: Sequence[str],
    options: MakeOptions,
    tell: Told,
    *,
    jobs: int,
    go_on: bool = False,
    by: By | None = None,
) -> None:
    """Make the packs of many pictures, `jobs` at a time, named `names`, told in their order.

    `tell` hears each picture with its packs, with the error that stopped it, or with None when
    `go_on` is set and its pack is there, of the same picture, options and version. `by` makes them
    in place of processes of this machine.
    """
    made = _Made(options.pack.out)
    states = [_state(image, options) for image in images]
    wanted = {
        number: None
        for number, (name, state) in enumerate(zip(names, states, strict=True))
        if not (go_on and made.has(name, state))
    }
    work = [(images[number], names[number]) for number in wanted]
    results = by(work, options) if by else _made_by(work, options, jobs)
    for number, image in enumerate(images):
        if number not in wanted:
            tell(image, None)
            continue
        result = next(results)
        if isinstance(result, list):
            made.add(names[number], states[number])
        tell(image, result)


def _made_by(work: Sequence[tuple[Path, str]], options: MakeOptions, jobs: int) -> Iterator[Result]:
    """Results in the order of the work."""
    if jobs <= 1:
        yield from (make_one(image, name, options) for image, name in work)
        return
    # A fresh process, not a copy: threads of libraries do not survive being copied.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(
        jobs, mp_context=context, initializer=use_cores, initargs=(1,)
    ) as pool:
        try:
            waiting = [pool.submit(make_one, *each, options) for each in work]
            for (image, _), future in zip(work, waiting, strict=True):
                yield _result(image, future)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            for process in multiprocessing.active_children():
                process.terminate()
            raise


def _result(image: Path, future: Future[Result]) -> Result:
    """What came of one picture."""
    try:
        return future.result()
    except BrokenProcessPool:
        return OutputError(
            f"{image}: its process was ended from outside, as when memory runs out;"
            " try again with fewer `jobs`"
        )


def make_one(image: Path, name: str, options: MakeOptions) -> Result:
    """The packs of one picture, or why not; an error that comes out of another process whole."""
    try:
        return run_all(image, options, name=name)
    except Img2PlateError as error:
        return error


def _state(image: Path, options: MakeOptions) -> str:
    """A digest of all that a pack is made of; empty when the picture cannot be read."""
    told = repr(replace(options, pack=replace(options.pack, out=Path())))
    digest = hashlib.sha256(f"{__version__}\n{told}".encode())
    try:
        digest.update(image.read_bytes())
        for file in (options.stock, Path(options.palette)):
            if file and file.is_file():
                digest.update(file.read_bytes())
    except OSError:
        return ""
    return digest.hexdigest()


class _Made:
    """What was made in a folder of packs, kept beside them."""

    def __init__(self, out: Path) -> None:
        self._out, self._path = out, out / MADE
        try:
            self._states = dict(json.loads(self._path.read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            self._states = {}

    def has(self, name: str, state: str) -> bool:
        """Whether a pack is there, of this state."""
        return bool(state) and self._states.get(name) == state and (self._out / name).is_dir()

    def add(self, name: str, state: str) -> None:
        """Keep that a pack was made."""
        self._states[name] = state
        with safe_file(self._path) as temporary:
            temporary.write_text(json.dumps(self._states, indent=0), encoding="utf-8")
