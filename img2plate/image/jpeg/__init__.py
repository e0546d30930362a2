"""What a JPEG file stores: its quantised coefficients, which bound the picture that was saved.

    bytes -> segments (tables, frame, scans) -> Huffman codes -> whole numbers of quantiser steps

Only what sprites are saved as is read: 8-bit Huffman files that are not progressive.
"""
