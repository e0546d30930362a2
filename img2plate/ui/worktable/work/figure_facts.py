"""What a page shows of a figure: where plates and their cells lie, steps, how tight it will be."""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.box.build import LOOSE_ROLES, Figure
from img2plate.solid.joints import Joint
from img2plate.solid.piece import Piece
from img2plate.typeset.figure.plate_list import fit_words, letter_of
from img2plate.typeset.figure.scene import Scene, apart, scenes

FIT_STEP_MM = 0.1


def facts_of(figure: Figure, tables: dict[str, int] | None = None) -> dict[str, Any]:
    """What a page shows of a figure: plain types; lengths in beads unless they say mm.

    tables: the numbers of `[[part]]`s by name; None when no face can be touched up.
    """
    spec = figure.spec
    places = {piece.title: number for number, piece in enumerate(figure.pieces)}
    joints, shifts = figure.joints, apart(figure)
    used = np.flatnonzero(figure.counts())
    counts = figure.counts()
    return {
        "name": spec.name,
        "size": list(figure.size),
        "span": [side.tolist() for side in figure.span],
        "pitch_mm": spec.model.pitch_mm,
        "beads": figure.bead_count,
        "palette": spec.palette.name,
        "colours": [
            {"place": int(i), "code": spec.palette.beads[i].code, "hex": spec.palette.beads[i].hex,
             "name": spec.palette.beads[i].name, "beads": int(counts[i])}
            for i in used
        ],
        "colourways": list(spec.colourways),
        "loose": list(figure.loose_parts),
        "remarks": list(spec.remarks),
        "plates": [
            _plate(figure, number, joints, shifts[piece.title].tolist(), tables or {})
            for number, piece in enumerate(figure.pieces)
        ],
        "steps": [_step(scene, places) for scene in scenes(figure)],
        "fits": _fits(figure),
        "thickness_mm": spec.thickness_mm,
    }  # fmt: skip


def _fits(figure: Figure) -> list[dict[str, Any]]:
    """Of each thickness that plates can be pressed to: verdict, words, lids, holes left."""
    found = []
    model = figure.spec.model
    height = model.bead.height_mm
    tenths = np.arange(round(0.4 * height / FIT_STEP_MM), round(height / FIT_STEP_MM) + 1)
    every = {round(float(t) * FIT_STEP_MM, 2) for t in tenths} | {figure.spec.thickness_mm}
    for mm in sorted(every):
        spec = replace(figure.spec, thickness_mm=mm)
        lid = spec.lid_mm
        pieces = tuple(
            replace(piece, thickness_mm=lid if piece.role in LOOSE_ROLES else mm)
            for piece in figure.pieces
        )
        pressed = Figure(spec, pieces, figure.report)
        found.append({
            "mm": mm, "verdict": model.verdict(mm), "lid_mm": lid, "hole_mm": model.hole_mm(mm),
            "lid_hole_mm": model.hole_mm(lid), "words": fit_words(pressed),
        })  # fmt: skip
    return found


def _plate(
    figure: Figure,
    number: int,
    joints: tuple[Joint, ...],
    shift: list[int],
    tables: dict[str, int],
) -> dict[str, Any]:
    """A plate and its cells: that of a row and column lies at origin + column across + row down."""
    piece = figure.pieces[number]
    is_face = piece.role in ("wall", *LOOSE_ROLES) and piece.group in tables
    return {
        "name": piece.title,
        "role": piece.role,
        "size": list(piece.plate.size),
        "beads": piece.plate.bead_count,
        "cells": base64.b64encode(piece.plate.cells.astype("<i2").tobytes()).decode(),
        **_laid(piece),
        "is_lid": piece.role in LOOSE_ROLES,
        "apart": shift,
        "face": [tables[piece.group], piece.seen] if is_face else None,
        "meets": [
            {"letter": letter_of(joint), "plate": joint.sides[1 - side].piece,
             "at": [joint.sides[side].column, joint.sides[side].row]}
            for joint in joints for side in (0, 1) if joint.sides[side].piece == number
        ],
    }  # fmt: skip


def _laid(piece: Piece) -> dict[str, Any]:
    """Where the first cell lies, how far it is to the next column and row, where it looks."""
    places: NDArray[np.int64] = np.stack(piece.places, axis=-1)
    height, width = places.shape[:2]
    origin = places[0, 0]
    across = places[0, 1] - origin if width > 1 else np.zeros(3, np.int64)
    down = places[1, 0] - origin if height > 1 else np.zeros(3, np.int64)
    normal = np.zeros(3, np.int64)
    normal[piece.axis] = piece.outward
    if width == 1:  # a strip of one column: any way in its layer that is square to the other
        across = np.cross(down, normal)
    if height == 1:
        down = np.cross(normal, across)
    laid = {"outward": normal, "origin": origin, "across": across, "down": down}
    if piece.turn is not None:
        laid = {name: piece.turn.vectors(way) for name, way in laid.items()}
        laid["origin"] = piece.turn.points(origin + 0.5) - 0.5
    return {name: np.round(way, 6).tolist() for name, way in laid.items()}


def _step(scene: Scene, places: dict[str, int]) -> dict[str, Any]:
    """A step of putting it together."""
    return {
        "words": scene.words,
        "there": [places[piece.title] for piece in scene.there],
        "coming": [places[piece.title] for piece in scene.coming],
        "shift": None if scene.shift is None else scene.shift.tolist(),
    }
