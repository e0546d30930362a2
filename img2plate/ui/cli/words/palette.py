"""What `img2plate palette` says of a palette."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from img2plate.colour.palette import Palette


def tell_gamut(found: Palette, gaps: bool) -> None:
    """Say which colours are too alike, and what cannot be reached."""
    from img2plate.base.files import safe_file
    from img2plate.colour.gamut import GAP, alike_pairs, reach, srgb_solid
    from img2plate.typeset.gaps import write_gaps

    for one, two, difference in alike_pairs(found):
        codes = found.beads[one].code, found.beads[two].code
        click.echo(f"  {codes[0]} and {codes[1]} are too alike to tell apart: {difference:.1f}")
    if gaps:
        out = Path(f"{found.name.replace('/', '-')}-gaps.png")
        with safe_file(out) as temporary:
            write_gaps(temporary, found)
        far = float((reach(srgb_solid(), found) > GAP).mean())
        click.echo(f"  {far:.0%} of sRGB is over {GAP:g} (CIEDE2000) from any bead: {out}")


def tell_picture(found: Palette, image: Path) -> None:
    """Say which tones of a picture cannot be reached."""
    import numpy as np

    from img2plate.colour.gamut import GAP
    from img2plate.colour.names import nearest_keywords
    from img2plate.colour.spaces import srgb2hex
    from img2plate.pipeline.palette import gaps_in

    out = Path(f"{found.name.replace('/', '-')}-gaps-{image.stem}.png")
    gaps = gaps_in(image, found, out)
    click.echo(f"  {gaps.share:.0%} of {image.name} is over {GAP:g} from any bead: {out}")
    names = nearest_keywords(np.array([tone.srgb for tone in gaps.tones], np.uint8).reshape(-1, 3))
    for tone, name in zip(gaps.tones, names, strict=True):
        code = found.beads[tone.nearest].code
        click.echo(
            f"    {srgb2hex(tone.srgb)} {name}, {tone.share:.1%} of it:"
            f" nearest is {code}, {tone.distance:.0f} off"
        )


def companion_words(found: Palette) -> list[str]:
    """What goes with each colour, by code."""
    from img2plate.colour.companions import find_companions

    codes = [bead.code for bead in found.beads]
    return [
        "  lighter: "
        + ("-" if pair.lighter is None else codes[pair.lighter])
        + "  darker: "
        + ("-" if pair.darker is None else codes[pair.darker])
        for pair in find_companions(found)
    ]
