"""Write so that nothing is half-written and nothing is lost.

A pack is built in a temporary neighbour of its folder and renamed at the end: a failed run leaves
an older pack as it was, and no half pack behind.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from img2plate.base.errors import OptionError, OutputError
from img2plate.base.leftovers import (
    CAN_LOCK,
    OLD,
    hold,
    release,
    sweep,
    temporary_file,
    temporary_folder,
)

USUAL_FILES = frozenset(
    {
        "plate.png",
        "preview.png",
        "picture.png",
        "strength.png",
        "sheets.pdf",
        "counts.csv",
        "counts.xlsx",
        "follow.html",
    },
)
"""What each pack holds."""
PACK_FILES = USUAL_FILES | {"template.pdf"}
"""What a run writes, if it is asked to; anything else in a pack's folder belongs to the user."""


def pack_files(*, template: bool) -> frozenset[str]:
    """Names of what one pack holds, with a template or without."""
    return PACK_FILES if template else USUAL_FILES


def plain_name(name: str) -> str:
    """Return a name that is one part of a path. Raises OptionError for what would lead elsewhere.

    Names also come from documents and figure files that others made.
    """
    if name in ("", ".", "..") or any(sign in name for sign in "/\\:\0"):
        raise OptionError(
            "is no name: a separator or .. would lead out of the folder",
            field="name",
            value=name,
            remedy="give another",
        )
    return name


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
        errno.EISDIR: "a folder of that name is in the way; choose another `out`",
        errno.ENAMETOOLONG: "that name is too long; choose a shorter `out`",
    }
    return reasons.get(error.errno or 0, error.strerror or str(error))


def is_pack(folder: Path) -> bool:
    """Whether a folder holds what a run writes."""
    return any(entry.name in USUAL_FILES for entry in folder.iterdir())


def bring_back(old: Path, target: Path) -> None:
    """Put the user's own files of a replaced pack into the new one; the pack itself if there is
    none."""
    if not target.exists():
        old.rename(target)
        return
    for entry in old.iterdir():
        if entry.name not in PACK_FILES and not (target / entry.name).exists():
            entry.rename(target / entry.name)


@contextmanager
def pack_folder(
    target: Path,
    *,
    is_older: Callable[[Path], bool] = is_pack,
    bring_back: Callable[[Path, Path], None] = bring_back,
) -> Iterator[Path]:
    """Give a temporary folder to write a pack into; it becomes `target` when the block ends well.

    Files in an older pack at `target` (what `is_older` takes for one) that are not a pack's own are
    carried over by `bring_back(old, target)`, and what killed runs left beside it is removed.
    Raises OutputError when the place cannot be written, `target` is something else than a pack, or
    another run has written it meanwhile.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        sweep(target, bring_back)
        _refuse_strangers(target, is_older)
        before = _identity(target)
        with temporary_folder(target) as temporary:
            # A temporary folder is private; a pack gets what any new folder gets.
            temporary.chmod(0o777 & ~_umask())
            yield temporary
            _swap_in(temporary, target, before, bring_back)
    except OSError as error:
        raise OutputError(f"cannot write {target}: {explain(error)}") from error


def _refuse_strangers(target: Path, is_older: Callable[[Path], bool]) -> None:
    """Refuse to put a pack in the place of something that is not one."""
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise OutputError(f"cannot write {target}: a file of that name is in the way; move it")
    if target.exists() and any(target.iterdir()) and not is_older(target):
        raise OutputError(
            f"cannot write {target}: the folder is there and is not one that an earlier run wrote;"
            " choose another `out`"
        )


def _identity(target: Path) -> int | None:
    """What tells a folder from another in its place; None when there is none."""
    return target.stat().st_ino if target.exists() else None


def _swap_in(
    temporary: Path,
    target: Path,
    before: int | None,
    bring_back: Callable[[Path, Path], None],
) -> None:
    """Put the finished folder in place, and what the user had added back into it.

    before: the identity that `target` had when the run began.
    """
    meanwhile = OutputError(
        f"another run has written {target} meanwhile, and that is kept; run this one again, or"
        " choose another `out`"
    )
    if _identity(target) != before:
        raise meanwhile
    if before is None:
        try:
            temporary.rename(target)
        except OSError as error:
            if error.errno in (errno.ENOTEMPTY, errno.EEXIST):
                raise meanwhile from error
            raise
        return
    lock = hold(target)
    if lock is None and CAN_LOCK:
        raise meanwhile
    try:
        with temporary_folder(target, OLD) as beside:
            old = beside / target.name
            target.rename(old)
            try:
                temporary.rename(target)
            except OSError:
                old.rename(target)
                raise
            bring_back(old, target)
    finally:
        release(lock)


def _umask() -> int:
    """The bits that new files do not get."""
    umask = os.umask(0)
    os.umask(umask)
    return umask


@contextmanager
def safe_file(path: Path) -> Iterator[Path]:
    """Give a temporary neighbour to write; it becomes `path` when the block ends well.

    Raises OutputError when the place cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        sweep(path, bring_back)
        with temporary_file(path) as temporary:
            yield temporary
            temporary.chmod(0o666 & ~_umask())
            temporary.replace(path)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {explain(error)}") from error
