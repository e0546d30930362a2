"""Write the invented shop's stock and bags, for the palette harbour-48.

    python sample_inputs/shop/make_shop.py [DIR]

Both follow a rule and nothing real: greys and blues are bought by the kilo, bright colours by the
bag, and every seventh colour is nearly used up.
"""

from __future__ import annotations

import sys
from pathlib import Path

from img2plate.colour.palette_file import find_palette

FOLDER = Path(__file__).resolve().parent
HEAD = "# invented, for the demo: the beads of a museum shop that does not exist\n"


def main() -> None:
    """Write both files."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    palette = find_palette("harbour-48")
    stock, bags = ["code,count"], ["code,bag,price"]
    for i, bead in enumerate(palette.beads):
        red, _, blue = bead.srgb
        plain = blue >= red - 20
        count = 40 if i % 7 == 3 else (700 if plain else 260) + 37 * (i * 5 % 11)
        stock.append(f"{bead.code},{count}")
        if plain:
            bags.append(f"{bead.code},3000,6.90")
    bags.append("*,1000,2.80")
    (folder / "stock.csv").write_text(HEAD + "\n".join(stock) + "\n", encoding="utf-8")
    (folder / "bags.csv").write_text(HEAD + "\n".join(bags) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
