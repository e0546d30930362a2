"""Write so that nothing is half-written and nothing is lost.

A pack is built in a temporary neighbour of its folder and renamed at the end: a failed run leaves
an older pack as it was, and no half pack behind.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from img2plate.base.errors import OutputError

PACK_FILES = frozenset(
    {
        "plate.png",
        "preview.png",
        "picture.png",
        "sheets.pdf",
        "counts.csv",
        "counts.xlsx",
        "follow.html",
    },
)
"""What a run writes; anything else in a pack's folder belongs to the user."""


def explain(error: OSError) -> str:
    """Say in plain words why a place cannot be written, and what to do."""
    reasons = {
        errno.ENOSPC: "the disk is full; free some space, or choose another folder (`out`)",
        errno.EDQUOT: "your disk quota is used up; free some space, or choose another `out`",
        errno.EFBIG: "the file would be larger than this system allows",
        errno.EROFS: "that disk can only be read; choose another folder (`out`)",
        errno.EACCES: "you may not write there; choose another folder (`out`)",
        errno.ENOENT: "there is no such place; choose another folder (`out`)",
        errno.EPERM: "you may not write there; choose another folder (`out`)",
        errno.ENOTDIR: "a part of that path is a file, not a folder; choose another `out`",
        errno.EEXIST: "a file of that name is in the way; choose another folder (`out`)",
        errno.ENAMETOOLONG: "that name is too long; choose a shorter `out`",
    }
    return reasons.get(error.errno or 0, error.strerror or str(error))


@contextmanager
def pack_folder(target: Path) -> Iterator[Path]:
    """Give a temporary folder to write a pack into; it becomes `target` when the block ends well.

    Files in an older pack at `target` that are not a pack's own are carried over.
    Raises OutputError when the place cannot be written, or `target` is something else than a pack.
    """
    _refuse_strangers(target)
    temporary: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
        # mkdtemp makes the folder private; a pack gets what any new folder gets.
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o777 & ~umask)
        yield temporary
        _swap_in(temporary, target)
    except OSError as error:
        raise OutputError(f"cannot write {target}: {explain(error)}") from error
    finally:
        if temporary is not None:
            shutil.rmtree(temporary, ignore_errors=True)


def _refuse_strangers(target: Path) -> None:
    """Refuse to put a pack in the place of something that is not one."""
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise OutputError(f"cannot write {target}: a file of that name is in the way; move it")
    try:
        names = {entry.name for entry in target.iterdir()} if target.exists() else set()
    except OSError as error:
        raise OutputError(f"cannot write {target}: {explain(error)}") from error
    if names and not names & PACK_FILES:
        raise OutputError(
            f"cannot write {target}: the folder is there and is not a pack; choose another `out`"
        )


def _swap_in(temporary: Path, target: Path) -> None:
    """Put the finished folder in place, and what the user had added back into it."""
    if not target.exists():
        temporary.rename(target)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}-old-", dir=target.parent))
    target.rename(old / target.name)
    try:
        temporary.rename(target)
    except OSError:
        (old / target.name).rename(target)
        old.rmdir()
        raise
    for entry in (old / target.name).iterdir():
        if entry.name not in PACK_FILES and not (target / entry.name).exists():
            entry.rename(target / entry.name)
    shutil.rmtree(old, ignore_errors=True)


@contextmanager
def safe_file(path: Path) -> Iterator[Path]:
    """Give a temporary neighbour to write; it becomes `path` when the block ends well.

    Raises OutputError when the place cannot be written.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(
            prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent
        )
        os.close(handle)
        temporary = Path(name)
        yield temporary
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o666 & ~umask)
        temporary.replace(path)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {explain(error)}") from error
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
