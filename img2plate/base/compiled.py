"""The one place that knows how loops are compiled.

Only modules with a loop that numpy cannot express import this one, and those are imported where
used: numba costs a good part of a second at start-up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., Any])
Real: TypeAlias = Any
"""A number inside a compiled loop: its width is what the arrays it comes from have."""


def compiled(function: Function) -> Function:
    """Compile a function to machine code on first use, kept on disk for the next process."""
    return cast(Function, numba.njit(cache=True, nogil=True, error_model="numpy")(function))


def compiled_parallel(function: Function) -> Function:
    """As `compiled`, with `numba.prange` loops spread over the cores."""
    make = numba.njit(cache=True, nogil=True, error_model="numpy", parallel=True)
    return cast(Function, make(function))


prange = numba.prange
