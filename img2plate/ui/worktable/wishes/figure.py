"""A figure as a page keeps it: its text, the files that it may name, how its pack is wanted.

A step of its history is `{"text": word, "files": [words], "colourway": name, "paper": name}`, words
naming files of the project (see `files`).
"""

from __future__ import annotations

import hashlib
import json
import shlex
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from img2plate import __version__
from img2plate.base.errors import FigureError, OptionError
from img2plate.base.lengths import A4, PAPERS
from img2plate.solid.spec import LEAST_CLOSED as LEAST
from img2plate.ui.worktable.wishes.files import Files, is_word, plain, safe_name
from img2plate.ui.worktable.wishes.settings import Settings

MOST_TEXT = 1_000_000
"""Bytes of a description, as on the command line."""
MOST_SIDE = 60
"""Beads along a side of the box that a new figure begins with."""
MOST_NAME = 80


def read_step(step: Mapping[str, Any]) -> Settings:
    """A step of the history as it was saved. Raises KeyError, TypeError when it is damaged."""
    words = [str(word) for word in step["files"]]
    text = str(step["text"])
    if not all(map(is_word, [text, *words])):
        raise KeyError("files")
    paper = str(step.get("paper", A4.name))
    return {
        "text": text,
        "files": words,
        "colourway": str(step.get("colourway", "")),
        "paper": paper if paper in PAPERS else A4.name,
    }


def words_of(step: Settings) -> list[str]:
    """The files that a step names beside its text."""
    return list(step["files"]) if isinstance(step["files"], list) else []


def text_of(step: Settings, files: Files) -> str:
    """The description. Raises OptionError when its file is gone."""
    return files.path(str(step["text"]), "text").read_bytes().decode("utf-8")


def keep_text(files: Files, name: str, text: str) -> str:
    """Keep a description; returns its word. Raises FigureError when it is too long."""
    data = text.encode("utf-8", "replace")
    if len(data) > MOST_TEXT:
        raise FigureError(f"{name}: over 1 MB is not a figure's description")
    return files.keep(name, data)


def with_file(step: Settings, word: str) -> Settings:
    """A step with a file more, in the place of one of the same name."""
    others = [each for each in words_of(step) if plain(each) != plain(word)]
    return {**step, "files": [*others, word]}


def made_key(step: Settings) -> str:
    """A short name for what is drawn of a step; the same for the same of one version."""
    return _key({name: value for name, value in step.items() if name != "paper"})


def pack_key(step: Settings) -> str:
    """The same for its pack."""
    return _key(step)


def _key(step: Settings) -> str:
    text = json.dumps([__version__, step], sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def lay_out(step: Settings, files: Files, folder: Path, *, only: set[str] | None = None) -> Path:
    """Copy a description and its files into a new folder; returns the description's path.

    only: names of the files that are wanted; None for all. Raises OptionError for files gone.
    """
    folder.mkdir(parents=True)
    for word in words_of(step):
        if only is None or plain(word) in only:
            shutil.copyfile(files.path(word, "files"), folder / plain(word))
    text = folder / plain(str(step["text"]))
    shutil.copyfile(files.path(str(step["text"]), "text"), text)
    return text


def beside(folder: Path, name: str) -> Path:
    """Where a file is that a description names: in its own folder, nowhere else.

    Raises FigureError for a name with folders, and for what is not there.
    """
    seen = repr(name if len(name) <= MOST_NAME else name[:MOST_NAME] + "...")
    if name != safe_name(name):
        raise FigureError(f"{seen} is not a plain name; files lie beside the description")
    path = folder / name
    if path.is_symlink() or not path.is_file():
        raise FigureError(f"no file {seen} beside the description; drop it on the page")
    return path


def command_line(step: Settings) -> str:
    """What to write in a terminal for the same pack."""
    words = ["img2plate", "figure", plain(str(step["text"]))]
    if step["colourway"]:
        words += ["--colourway", str(step["colourway"])]
    if step["paper"] != A4.name:
        words += ["--paper", str(step["paper"])]
    return shlex.join(words)


def empty_box(size: Any) -> str:
    """The description of a box of a size, with what can be said of it. Raises OptionError."""
    is_size = isinstance(size, list) and len(size) == 3 and all(type(n) is int for n in size)
    if not is_size or not all(LEAST <= n <= MOST_SIDE for n in size) or max(size) == LEAST:
        raise OptionError(
            f"a box has {LEAST} to {MOST_SIDE} beads along a side, and more than {LEAST} along one",
            field="size",
        )
    width, depth, height = size
    sides = f"size = [{width}, {depth}, {height}]".ljust(28)
    return f"""# A box of beads. Change it here; the drawing follows.

[figure]
name = "box"
palette = "harbour-48"
thickness = 4.0              # mm, pressed

[[part]]
name = "box"
{sides} # beads wide, deep and high
colour = "oak"
faces.front = "gul"          # a colour's code, or a picture: "front.png"
# lid = "lift"               # a top that comes off

# [[part.opening]]           # a hole in a face
# face = "top"
# object = "2 euro"
"""
