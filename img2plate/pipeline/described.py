"""A figure's pack keeps its description, the files that this names, and how the run was asked for.

So that the figure can be built again from the pack alone, as when it is published.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path, PurePosixPath

from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError
from img2plate.colour.palette_file import bundled_names
from img2plate.pipeline.laid import laid_as, read_laid
from img2plate.pipeline.options import FigureOptions, PackOptions
from img2plate.solid.file.named import named_files

FOLDER, RUN, PALETTE = "description", "run.json", "palette.csv"
_MOST_BYTES = 100_000


@dataclass(frozen=True)
class Described:
    """What a pack tells of how it was made."""

    path: Path
    """The description."""
    options: FigureOptions


def keep_description(
    pack: Path, path: Path, options: FigureOptions, beside: Callable[[str], Path] | None
) -> None:
    """Write it into a pack: files that lie elsewhere than below the description are left out."""
    folder = pack / FOLDER
    folder.mkdir()
    text = path.read_bytes()
    (folder / path.name).write_bytes(text)
    for name in named_files(text.decode("utf-8-sig")):
        inside = PurePosixPath(name)
        source = beside(name) if beside else path.parent / name
        if inside.is_absolute() or ".." in inside.parts or not source.is_file():
            continue
        (folder / inside).parent.mkdir(parents=True, exist_ok=True)
        (folder / inside).write_bytes(source.read_bytes())
    palette = options.palette
    if palette and palette not in bundled_names():
        (folder / PALETTE).write_bytes(Path(palette).read_bytes())
        palette = PALETTE
    run = {
        "description": path.name,
        "palette": palette,
        "colourway": options.colourway,
        "laid": laid_as(options.pack),
        "credit": asdict(options.pack.credit.checked()),
    }
    written = json.dumps(run, ensure_ascii=False, indent=1) + "\n"
    (folder / RUN).write_text(written, encoding="utf-8")


def read_description(pack: Path) -> Described:
    """What a figure's pack was made of. Raises DocumentError."""
    folder = pack / FOLDER
    path = folder / RUN
    if not path.is_file():
        raise DocumentError(f"{pack} does not hold its description; make the figure's pack again")
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise ValueError
        run = json.loads(path.read_text(encoding="utf-8"))
        name = str(run["description"])
        if not re.fullmatch(r"[^/\\]+\.toml", name, re.IGNORECASE):
            raise ValueError
        palette = str(run["palette"])
        if palette and palette not in bundled_names():
            palette = str(folder / PALETTE)
        said = Credit(**{name: str(text) for name, text in run.get("credit", {}).items()})
        pack_options = replace(PackOptions(credit=said), **read_laid(dict(run["laid"])))
        options = FigureOptions(palette, str(run["colourway"]), pack=pack_options)
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise DocumentError(f"{path} is damaged; make the figure's pack again") from error
    return Described(folder / name, options)
