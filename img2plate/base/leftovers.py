"""Temporary neighbours of what is written: held while they are, swept when a killed run left them.

A neighbour's name says what it is for, and whoever writes it holds a lock on it. A lock ends with
its process however that ends, so what nobody holds is left over. Where files cannot be locked
(Windows) nothing is swept.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from glob import escape
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover
    fcntl = None  # type: ignore[assignment]

CAN_LOCK = fcntl is not None
MARK = ".img2plate-"
"""In the names of all neighbours; nobody's own file is called so."""
OLD = "old-"
"""Behind the mark of a folder that holds the pack that is being replaced."""


@contextmanager
def temporary_folder(target: Path, kind: str = "") -> Iterator[Path]:
    """A new folder beside `target`, held by a lock; gone at the end, unless it was renamed."""

    def make(prefix: str) -> Path:
        return Path(tempfile.mkdtemp(prefix=prefix + kind, dir=target.parent))

    yield from _held(target, make)


@contextmanager
def temporary_file(target: Path) -> Iterator[Path]:
    """A new empty file beside `target`, held by a lock; gone at the end, unless it was renamed."""

    def make(prefix: str) -> Path:
        handle, name = tempfile.mkstemp(prefix=prefix, suffix=target.suffix, dir=target.parent)
        os.close(handle)
        return Path(name)

    yield from _held(target, make)


def _held(target: Path, make: Callable[[str], Path]) -> Iterator[Path]:
    """Make a neighbour and hold it."""
    while True:
        path = make(f".{target.name}{MARK}")
        lock = hold(path)
        # A sweeper may have come between the two: what it takes is made again.
        if fcntl is None or (lock is not None and path.exists()):
            break
        release(lock)
    try:
        yield path
    finally:
        _remove(path)
        release(lock)


def hold(path: Path) -> int | None:
    """Lock a file or folder; None when another holds it, or it cannot be locked."""
    if fcntl is None:
        return None
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        return None
    return handle


def release(lock: int | None) -> None:
    """End a lock."""
    if lock is not None:
        os.close(lock)


def sweep(target: Path, bring_back: Callable[[Path, Path], None]) -> None:
    """Remove the neighbours of `target` that killed runs left; never those of a run that lives.

    `bring_back(old, target)` puts what a pack that was being replaced holds where it belongs.
    """
    for path in target.parent.glob(f".{escape(target.name)}{MARK}*"):
        lock = hold(path)
        if lock is None:
            continue
        old = path / target.name
        if path.name.partition(MARK)[2].startswith(OLD) and old.is_dir():
            bring_back(old, target)
        _remove(path)
        release(lock)


def _remove(path: Path) -> None:
    """Remove a file or folder that may be gone."""
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)
