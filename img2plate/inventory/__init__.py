"""Beads that are owned: the stock file, and what is taken from it."""
