"""The proof sheet as one HTML file that works offline: sort, filter, compare two with a slider."""

from __future__ import annotations

import base64
import io
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from img2plate.typeset.follow import for_script, page_style
from img2plate.typeset.proof.pictures import fitted, near_picture, pixel_size, scale
from img2plate.typeset.proof.proof import Proof, Variant

if TYPE_CHECKING:
    from PIL import Image

_LONG_SIDE = 464


def write_page(path: Path, proof: Proof) -> None:
    """Write the page."""
    here = files("img2plate.typeset.proof")
    # In this order: names may hold a placeholder's text, so they go in last.
    parts = {
        "/*STYLE*/": page_style() + (here / "page.css").read_text(encoding="utf-8"),
        "/*SCRIPT*/": (here / "page.js").read_text(encoding="utf-8"),
        "/*PROOF*/": for_script(_describe(proof)),
        "{TITLE}": escape(proof.name),
    }
    page = (here / "page.html").read_text(encoding="utf-8")
    for mark, text in parts.items():
        page = page.replace(mark, text)
    path.write_text(page, encoding="utf-8", newline="\n")


def _describe(proof: Proof) -> dict[str, Any]:
    """Put all that the page needs into plain JSON types."""
    per_mm = scale(proof, _LONG_SIDE)
    widest = max(variant.plate.size_mm[0] for variant in proof.variants)
    size = pixel_size(proof.largest, per_mm)
    near, far = (_as_url(fitted(picture, size)) for picture in proof.largest.source)
    return {
        "source": {
            "near": near,
            "far": far,
            "share": [proof.largest.plate.size_mm[0] / widest],
        },
        "variants": [_variant(each, per_mm, widest) for each in proof.variants],
        "failed": [list(pair) for pair in proof.failed],
        "best": proof.best(),
    }


def _variant(variant: Variant, per_mm: float, widest: float) -> dict[str, Any]:
    """One variant with its two pictures."""
    size = pixel_size(variant, per_mm)
    pixels = max(2, round(variant.plate.palette.pitch_mm * per_mm))
    return {
        "number": variant.number,
        "palette": variant.palette,
        "shading": variant.how,
        "size": variant.size,
        "near": _as_url(fitted(near_picture(variant.plate, pixels), size)),
        "far": _as_url(fitted(variant.far, size)),
        "share": [variant.plate.size_mm[0] / widest],
        "figures": [list(figure) for figure in variant.figures],
    }


def _as_url(image: Image.Image) -> str:
    """A picture inside the page."""
    stream = io.BytesIO()
    image.save(stream, format="PNG")
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()
