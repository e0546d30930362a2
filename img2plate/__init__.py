"""img2plate: from a picture to a fuse-bead plate.

The rooms, in the order in which the data passes through them. A room imports only rooms above it.

    base/        errors and exit codes, lengths, paper, bead sizes, safe file writing
    colour/      sRGB <-> linear <-> Lab/OKLab, differences, Palette, look error
    image/       image file -> clean picture -> Grid
    inventory/   stock file -> Stock (beads owned)
    measure/     photo of real beads on a card -> palette
    plate/       Grid + Palette -> Plate: matching and shading; the plate document
    solid/       figures: fit, boxes, joints, openings, joins -> several Plates, checked
    split/       Plate -> Tiles: seams, registration marks
    tally/       Plate, Tiles -> counts, weight, time
    typeset/     everything that is looked at: pictures, true-scale PDF, follow-along page
    options      all that a run can be told
    recovery     a sprite's own pixels, out of an enlargement
    draft        a picture becomes a plate, before anything is written
    pipeline     joins the stages to a pack; what both front ends call
    bead_palette the same for a palette from real beads
    colourways   the same for colourways of a plate
    fit_answer   the same for questions of fit, and the test piece
    figure_pack  the same for figures
    compare      the same for variants side by side: the proof sheet
    stock_pack   the same for the stock: what is left, what to buy
    ui/          command line
"""

__version__ = "0.1.0"
