"""Recover the native pixel grid of a sprite that was enlarged, smoothed, cropped or compressed.

    pixels -> two Axis (how well does a grid explain it?) -> the cheapest grid -> clean cells

An edge cell is kept when at least half of it is inside the picture. Of two grids that fit equally
well the coarser is taken; the finer one is named when few edges tell them apart.
"""
