"""Where machine code of compiled loops is kept: in a folder for each state of their sources.

numba keeps the code of a loop by the file that the loop stands in, so a change in another file that
it calls would not be seen. Here the folder's name is a digest of all sources that a loop can be
made of; and as it lies in the user's cache folder, a read-only installation works too.
"""

from __future__ import annotations

import atexit
import hashlib
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterable
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parents[1]
MOST_KEPT = 8
"""States whose code is kept: those used last, as several checkouts may share the folder."""
_IN_USE_SECONDS = 24 * 3600.0
"""A state used since is never deleted: another process may be running with it."""
_IMPORT = re.compile(
    rb"^\s*(?:from|import)\s+img2plate([\w.]*)(?:\s+import\s+(\([^)]*\)|[^\n]*))?", re.MULTILINE
)


@cache
def loop_cache() -> Path:
    """The folder for the machine code of this source state, made when it is missing.

    It is under NUMBA_CACHE_DIR when that is set, else in the user's cache folder. Where nothing can
    be written there, a temporary folder that ends with the process.
    """
    state = source_digest(PACKAGE)
    try:
        folder = _parent() / state[:32]
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)  # says that it is in use
        if not os.access(folder, os.W_OK):
            raise PermissionError
    except OSError:
        folder = Path(tempfile.mkdtemp(prefix="img2plate-loops-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        return folder
    _prune(folder)
    return folder


def is_kept(folder: str) -> bool:
    """Whether code of a folder of the package, as `search`, is there from an earlier run."""
    return any(loop_cache().glob(f"{folder}_*/*.nbi"))


def source_digest(package: Path) -> str:
    """SHA-256, in hex, of all sources that compiled loops can be made of, paths and contents."""
    digest = hashlib.sha256()
    sources = {path: path.read_bytes() for path in package.rglob("*.py")}
    for path in sorted(_reached(package, sources)):
        for part in (path.relative_to(package).as_posix().encode(), sources[path]):
            digest.update(len(part).to_bytes(8, "little") + part)
    return digest.hexdigest()


def _reached(package: Path, sources: dict[Path, bytes]) -> set[Path]:
    """Files that use `compiled`, and all that these import from the package, and so on.

    Not the whole package: a changed sentence in a help page shall not cost a minute of compiling.
    """
    waiting = [path for path, text in sources.items() if b"base.compiled import" in text]
    reached: set[Path] = set()
    while waiting:
        path = waiting.pop()
        if path not in reached:
            reached.add(path)
            waiting += _imported(package, sources[path]) & sources.keys()
    return reached


def _imported(package: Path, text: bytes) -> set[Path]:
    """Files that a source may import from the package; some of them need not exist."""
    found: set[Path] = set()
    for module, names in _IMPORT.findall(text):
        place = package.joinpath(*module.decode().strip(".").split("."))
        for way in (place, *(place / name for name in re.findall(r"\w+", names.decode()))):
            found |= {way.with_suffix(".py"), way / "__init__.py"}
    return found


def _parent() -> Path:
    """The folder that holds all states."""
    if given := os.environ.get("NUMBA_CACHE_DIR"):
        return Path(given)
    from platformdirs import user_cache_path

    return user_cache_path("img2plate", appauthor=False) / "loops"


def _prune(current: Path) -> None:
    """Delete the states that were not used for longest; what cannot be deleted stays."""
    now = time.time()
    states = sorted(_states(current.parent), key=lambda state: -state[1])
    for folder, used in states[MOST_KEPT:]:
        if folder != current and now - used > _IN_USE_SECONDS:
            shutil.rmtree(folder, ignore_errors=True)


def _states(parent: Path) -> Iterable[tuple[Path, float]]:
    """Each state's folder, and when it was last used; other things in the folder are left alone."""
    for entry in parent.iterdir():
        if re.fullmatch(r"[0-9a-f]{32}", entry.name):
            yield entry, entry.stat().st_mtime
