"""The front door: the native grid of a picture, the cheap ways first."""

from __future__ import annotations

from img2plate.base.arrays import Pixels
from img2plate.image.counts import has_single_pixel_detail
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.exact import exact_grid
from img2plate.image.native.native_grid import NativeGrid, already_native, could_be_native


def find_native_grid(
    pixels: Pixels,
    *,
    cells: tuple[int, int] | None = None,
    cell_px: tuple[float, float] | None = None,
    source: JpegSource | None = None,
) -> NativeGrid:
    """Find the grid of a picture (h, w, 4); `cells` or `cell_px` override the search.

    `source`: the JPEG file that the picture is, for its cells' colours.
    Raises OptionError for a wish that the picture cannot hold.
    """
    wished = cells is not None or cell_px is not None
    if not wished and could_be_native(pixels) and has_single_pixel_detail(pixels):
        return already_native(pixels)
    exact = None if wished else exact_grid(pixels)
    if exact is not None:
        return exact
    # The search needs compiled loops, which take a good part of a second to load.
    from img2plate.image.native.find import find, find_as_wished

    return find_as_wished(pixels, cells, cell_px, source) if wished else find(pixels, source)
