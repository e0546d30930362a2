"""A drawing's flat colours, and which of them each cell gets by how much they cover of it.

picture -> `work` (evenly fine) -> `flats` (its colours) -> `labels` (of each pixel) -> `place`
(where the grid lies) -> `thin` (lines) and `cover` (areas) -> one colour a cell: `drawn`
"""
