"""A progress bar on a terminal, once work takes longer than a moment."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from typing import Self

PATIENCE_SECONDS = 0.7
_STEPS = 1000


class Bar:
    """Called with a stage and the share done; draws on standard error when that is a terminal."""

    def __init__(self, title: str) -> None:
        self._title = title
        self._start = time.monotonic()
        self._bar: Any = None

    def __call__(self, stage: str, done: float) -> None:
        """Show how far it is."""
        if self._bar is None:
            if not sys.stderr.isatty() or time.monotonic() - self._start < PATIENCE_SECONDS:
                return
            self._bar = click.progressbar(length=_STEPS, file=sys.stderr, width=24)
            self._bar.__enter__()
        self._bar.label = f"{self._title}: {stage}"
        self._bar.update(round(done * _STEPS) - self._bar.pos)

    def clear(self) -> None:
        """Make room for a line; the bar is drawn again below it."""
        if self._bar is not None:
            click.echo("\r\x1b[K", nl=False, err=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._bar is not None:
            self._bar.__exit__(kind, error, trace)
