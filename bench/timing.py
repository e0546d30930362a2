"""Seconds of a call, for the benchmarks."""

from __future__ import annotations

import time
from collections.abc import Callable


def fastest(run: Callable[[], object], times: int = 3) -> float:
    """Seconds of the fastest of some runs; the first, which may compile, does not count."""
    run()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return min(taken)
