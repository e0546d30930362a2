"""How a plate was made, in one line of small type."""

from __future__ import annotations

from img2plate import __version__
from img2plate.plate.plate import Plate


def made_words(plate: Plate) -> str:
    """The palette, what the picture was turned into beads by, and the version."""
    told = dict(plate.made)
    source = told.pop("source", "")
    told.pop("described", None)  # a digest, by which plates of a figure are known as touched up
    words = [f"palette {plate.palette.name}"]
    words += [f"from {source}"] if source else []
    words += [f"{key.replace('_', ' ')} {value}" for key, value in told.items()]
    return ", ".join((*words, f"img2plate {__version__}"))
