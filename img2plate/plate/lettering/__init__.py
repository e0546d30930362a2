"""Lettering at bead size, from faces that were drawn pixel by pixel."""
