"""Clearance over thickness as a picture: pressing goes on from left to right."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from img2plate.solid.fit.measured import Measured
from img2plate.solid.fit.model import JOINS, VERDICTS, FitModel, Span
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET, RULE, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_SIZE = (1000, 640)
_FINER = 2
"""Drawn larger and shrunk, so that lines are smooth."""
_BOX = (96, 92, 964, 552)
_ZONES = ("#f4f6f6", "#dfe8e4", "#f3e6d2", "#f3dcd6")
"""Behind each verdict; the words say it, the tint only helps."""


class _Axes:
    """From thickness and clearance to pixels."""

    def __init__(self, model: FitModel) -> None:
        self.thick, self.thin = model.bead.height_mm, 0.45 * model.bead.height_mm
        self.low, self.high = -0.4 * model.pitch_mm, 0.5 * model.pitch_mm

    def x(self, thickness: float) -> float:
        """Thick plates are left."""
        left, _, right, _ = _BOX
        return left + (self.thick - thickness) / (self.thick - self.thin) * (right - left)

    def y(self, clearance: float) -> float:
        """Squeeze is below."""
        _, top, _, bottom = _BOX
        share = (self.high - clearance) / (self.high - self.low)
        return top + min(max(share, 0.0), 1.0) * (bottom - top)


def write_fit_plot(
    path: Path, model: FitModel, *, thickness_mm: float, measured: tuple[Measured, ...] = ()
) -> None:
    """Write the plot as PNG, with `thickness_mm` marked and what was measured as dots."""
    draw_fit_plot(model, thickness_mm=thickness_mm, measured=measured).save(path, format="PNG")


def draw_fit_plot(
    model: FitModel, *, thickness_mm: float, measured: tuple[Measured, ...] = ()
) -> Image.Image:
    """Draw the zones of the verdicts, both clearances, and the thickness asked about."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (_SIZE[0] * _FINER, _SIZE[1] * _FINER), PAPER)
    pen, axes = _Pen(ImageDraw.Draw(image)), _Axes(model)
    _zones(pen, axes, model)
    _grid(pen, axes)
    inside = [t for t in model.thicknesses() if t >= axes.thin]
    pen.curve([(axes.x(t), axes.y(model.across_mm(t))) for t in inside], QUIET, 2)
    pen.curve([(axes.x(t), axes.y(model.along_mm(t))) for t in inside], INK, 4)
    _name_curves(pen, axes, model)
    _mark(pen, axes, model, thickness_mm)
    for piece in measured:
        cell, width = piece.cell_mm(model.pitch_mm), piece.width_mm(model.pitch_mm)
        pen.dot(axes.x(piece.thickness_mm), axes.y(2 * (cell - width)), ACCENT)
    _head(pen, model, measured)
    return image.resize(_SIZE, Image.Resampling.LANCZOS)


class _Pen:
    """Draws at the finer size in picture pixels."""

    def __init__(self, draw: ImageDraw.ImageDraw) -> None:
        self._draw = draw

    def text(self, x: float, y: float, words: str, size: int = 17, *, bold: bool = False,
             colour: str = INK, anchor: str = "ls") -> None:  # fmt: skip
        """Write words at a place."""
        at = (x * _FINER, y * _FINER)
        self._draw.text(at, words, font=font(size * _FINER, bold=bold), fill=colour, anchor=anchor)

    def box(self, x0: float, y0: float, x1: float, y1: float, colour: str) -> None:
        """Fill a box."""
        self._draw.rectangle([v * _FINER for v in (x0, y0, x1, y1)], fill=colour)

    def curve(self, places: list[tuple[float, float]], colour: str, width: float) -> None:
        """Draw a line through places."""
        fine = [(x * _FINER, y * _FINER) for x, y in places]
        self._draw.line(fine, fill=colour, width=round(width * _FINER), joint="curve")

    def dot(self, x: float, y: float, colour: str) -> None:
        """Draw a round mark."""
        self._draw.ellipse([v * _FINER for v in (x - 7, y - 7, x + 7, y + 7)], fill=colour,
                           outline=PAPER, width=2 * _FINER)  # fmt: skip


def _zones(pen: _Pen, axes: _Axes, model: FitModel) -> None:
    """Tint and name where each verdict holds."""
    for verdict, tint in zip(VERDICTS, _ZONES, strict=True):
        for span in model.thickness_ranges((verdict,)):
            if span[1] >= axes.thin:
                _zone(pen, axes, verdict, tint, span)


def _zone(pen: _Pen, axes: _Axes, verdict: str, tint: str, span: Span) -> None:
    """Tint and name one range of thicknesses."""
    _, top, _, bottom = _BOX
    left, right = axes.x(span[1] + 0.005), axes.x(max(span[0] - 0.005, axes.thin))
    left, right = max(left, _BOX[0]), min(right, _BOX[2])
    pen.box(left, top, right, bottom, tint)
    size = 17 if right - left > 90 else 14
    middle = (left + right) / 2
    pen.text(middle, top + 24, verdict, size, bold=verdict in JOINS, anchor="ms")


def _grid(pen: _Pen, axes: _Axes) -> None:
    """Lines and numbers of both axes."""
    left, top, right, bottom = _BOX
    step = (axes.thick - axes.thin) / 5.5
    for i in range(6):
        thickness = axes.thick - i * step
        pen.curve([(axes.x(thickness), bottom), (axes.x(thickness), bottom + 6)], INK, 1)
        pen.text(axes.x(thickness), bottom + 26, f"{thickness:.1f}", anchor="ms")
    for i in range(-4, 6):
        clearance = i * axes.high / 5
        y = axes.y(clearance)
        pen.curve([(left, y), (right, y)], INK if i == 0 else RULE, 1.5 if i == 0 else 1)
        pen.text(left - 10, y + 6, f"{clearance:+.1f}" if i else "0", anchor="rs")
    pen.text(right, bottom + 58, "thickness of the pressed plate, mm: pressed longer to the right",
             colour=QUIET, anchor="rs")  # fmt: skip
    pen.text(left - 72, top - 14, "clearance, mm (below 0: squeeze)", colour=QUIET)


def _name_curves(pen: _Pen, axes: _Axes, model: FitModel) -> None:
    """Names beside the lines."""
    at = axes.thick - 0.72 * (axes.thick - axes.thin)
    x = axes.x(at)
    above, below = axes.y(model.across_mm(at)) - 14, axes.y(model.along_mm(at)) + 34
    across, along = "across: slot's width less thickness", "along: slot less tab of as many beads"
    pen.text(x, above, across, colour=QUIET, anchor="rs")
    pen.text(x, below, along, bold=True, anchor="rs")


def _mark(pen: _Pen, axes: _Axes, model: FitModel, thickness: float) -> None:
    """The thickness that is asked about."""
    if thickness < axes.thin:
        return
    x, clearance = axes.x(thickness), model.along_mm(thickness)
    pen.curve([(x, _BOX[1] + 34), (x, _BOX[3])], ACCENT, 2)
    pen.dot(x, axes.y(clearance), INK)
    words = f"{thickness:g} mm: {model.verdict(thickness)}, {clearance:+.2f} mm"
    align, off = ("ls", 10) if x < (_BOX[0] + _BOX[2]) / 2 else ("rs", -10)
    pen.text(x + off, _BOX[3] - 12, words, bold=True, colour=ACCENT, anchor=align)


def _head(pen: _Pen, model: FitModel, measured: tuple[Measured, ...]) -> None:
    """What is shown, and how far to trust it."""
    bead = model.bead
    said = (
        f"Bead {bead.outer_mm:g} x {bead.hole_mm:g} x {bead.height_mm:g} mm,"
        f" pitch {model.pitch_mm:g} mm"
    )
    pen.text(24, 40, said, 24, bold=True)
    trust = "by volume, unmeasured: make the test piece"
    if measured:
        trust = f"through {len(measured)} measured piece{'s' * (len(measured) > 1)} (dots)"
    pen.text(_BOX[2], 40, trust, colour=QUIET if measured else ACCENT, anchor="rs")
