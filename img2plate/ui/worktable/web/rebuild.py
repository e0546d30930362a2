"""In the place "Colours": the same plate in another palette, or in the beads that are there."""

from __future__ import annotations

from typing import Any

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.pipeline.options import DEFAULT_PALETTE
from img2plate.pipeline.rebuild import RebuildOptions
from img2plate.plate.plate import EMPTY, Plate
from img2plate.ui.worktable.beads import own_palettes
from img2plate.ui.worktable.store.projects import NotMadeError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_json, version
from img2plate.ui.worktable.web.colours import made_of
from img2plate.ui.worktable.web.hand import plate_in_hand
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.wishes.beads import with_palette
from img2plate.ui.worktable.wishes.files import Files, is_word
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import (
    TOUCHED,
    Settings,
    beads_palettes,
    key_of,
    owned_path,
    palette_in,
    read_settings,
)
from img2plate.ui.worktable.wishes.touched import NAME, NONE, Touched
from img2plate.ui.worktable.work.kept import PLATE

BEFORE = ("swap", "merge_rare")
"""Settings that are in the plate already: their codes are of the palette before."""


def routes(here: Worktable) -> list[Route]:
    """The addresses of this part."""
    table = here.table

    async def look(request: Request) -> Response:
        """What there is to choose from and, with `palette`, what would become of the plate."""
        project_id, words = request.path_params["project"], request.query_params
        found = await run_in_threadpool(offered, table, project_id)
        if "palette" in words:
            asked = words["palette"], "owned" in words, "apart" in words
            found["rebuilt"] = await run_in_threadpool(rebuilt, table, project_id, *asked)
        return JSONResponse(found)

    async def take(request: Request) -> Response:
        """Take it."""
        project_id, words = request.path_params["project"], await read_json(request)
        asked = str(words.get("palette")), words.get("owned") is True, words.get("apart") is True
        await run_in_threadpool(take_rebuilt, table, project_id, version(words), *asked)
        return JSONResponse(await run_in_threadpool(table.state, project_id))

    address = "/api/projects/{project}/rebuild"
    return [Route(address, look), Route(address, take, methods=["POST"])]


def offered(table: Table, project_id: str) -> dict[str, Any]:
    """Palettes to choose from, the one in hand, whether it is said what is owned."""
    settings, files = table.projects.load(project_id).settings, table.projects.files(project_id)
    own = [{"word": each["word"], "name": each["name"]} for each in own_palettes(files)]
    return {
        "palettes": [{"word": name, "name": name} for name in beads_palettes()] + own,
        "now": settings.get("palette", DEFAULT_PALETTE),
        "owned": owned_path(settings, files) is not None,
    }


def rebuilt(
    table: Table, project_id: str, palette: str, owned: bool, apart: bool
) -> dict[str, Any]:
    """The plate in hand in a palette, begun when it is not there: as `web.colours.made_of`.

    owned: from the beads that are there; apart: no colours go together. Raises NotMadeError,
    OptionError, PaletteError.
    """
    settings, files = table.projects.load(project_id).settings, table.projects.files(project_id)
    hand = plate_key(settings)
    document = table.projects.plate(project_id, hand) / PLATE
    if not document.is_file():
        raise NotMadeError(hand)
    palette_in({"palette": palette}, files)  # what is no palette is refused at once
    spare = read_settings(settings, files).pack.spare_percent
    word = str(files.path(palette, "palette")) if is_word(palette) else palette
    options = RebuildOptions(
        "" if palette == settings.get("palette", DEFAULT_PALETTE) else word,
        owned_path(settings, files) if owned else None,
        apart,
    )
    if not (options.palette or options.stock):
        return {"key": "", "state": "none"}
    asked = {"palette": palette, "stock": str(options.stock or ""), "apart": apart, "spare": spare}
    key = key_of({"rebuilt from": hand, **asked})
    return made_of(table, project_id, key, "make_rebuilt", (document, options, spare))


def take_rebuilt(
    table: Table, project_id: str, version: int, palette: str, owned: bool, apart: bool
) -> None:
    """Have the plate in hand in that palette: all its cells count as laid by hand.

    Raises NotMadeError, StaleError, OptionError.
    """
    found = rebuilt(table, project_id, palette, owned, apart)
    if found["state"] != "done":
        raise NotMadeError(found["key"])
    became = {each["old"]["code"]: each["new"]["code"] for each in found["about"]["changed"]}
    plate = plate_in_hand(table, project_id)

    def wish(old: Settings, files: Files) -> Settings:
        settings = {name: value for name, value in old.items() if name not in BEFORE}
        touched = _all_of(plate, became).written()
        return {**with_palette(settings, palette, files), TOUCHED: files.keep(NAME, touched)}

    table.change(project_id, version, wish)


def _all_of(plate: Plate, became: dict[str, str]) -> Touched:
    """All cells of a plate, its colours changed by code; where no bead lies, none does then."""
    beads = plate.palette.beads
    codes = [NONE, *(became.get(bead.code, bead.code) for bead in beads)]
    places = np.where(plate.cells == EMPTY, 1, plate.cells + 2).astype(np.int16)
    first = np.array([0, *(codes.index(code) + 1 for code in codes)], np.int16)
    return Touched(plate.size, tuple(codes), first[places.ravel()])
