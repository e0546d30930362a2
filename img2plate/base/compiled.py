"""The one place that knows how loops are compiled.

Only modules with a loop that numpy cannot express import this one, and those are imported where
used: numba costs a good part of a second at start-up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeAlias, TypeVar, cast

import numba

from img2plate.base.loop_cache import loop_cache

Function = TypeVar("Function", bound=Callable[..., Any])
Task = TypeVar("Task")
Result = TypeVar("Result")
Real: TypeAlias = Any
"""A number inside a compiled loop: its width is what the arrays it comes from have."""


def compiled(function: Function) -> Function:
    """Compile a function to machine code on first use, kept on disk for the next process."""
    return _njit(function, parallel=False)


def compiled_parallel(function: Function) -> Function:
    """As `compiled`, with `numba.prange` loops spread over the cores."""
    return _njit(function, parallel=True)


prange = numba.prange


def use_cores(count: int) -> None:
    """Have the loops of this thread run on so many cores at most.

    NUMBA_NUM_THREADS would have to be set before numba is imported: set later it stops the next
    loop that has to be compiled, with an error, and changes nothing for those that are kept.
    """
    numba.set_num_threads(max(1, min(count, numba.config.NUMBA_NUM_THREADS)))


def side_by_side(function: Callable[[Task], Result], tasks: Sequence[Task]) -> list[Result]:
    """Call a function that is mostly one compiled loop for each task, spread over the cores.

    Threads of Python's own: numba would compile all that the loop calls a second time to share the
    tasks out itself, which takes a quarter of the first run.
    """
    threads = min(numba.get_num_threads(), len(tasks))
    if threads <= 1:
        return [function(task) for task in tasks]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(function, tasks))


def _njit(function: Function, *, parallel: bool) -> Function:
    """Have numba keep the function's code in our folder, and leave others' loops where they are."""
    before, numba.config.CACHE_DIR = numba.config.CACHE_DIR, str(loop_cache())
    try:
        make = numba.njit(cache=True, nogil=True, error_model="numpy", parallel=parallel)
        return cast(Function, make(function))
    finally:
        numba.config.CACHE_DIR = before
