"""Pixel art on a picture of a screen: the parts that have a grid, among text, icons and photos."""
