"""A bit's end at full size, drawn from its figures: hold the bit to the page to know it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from workers.setup_sheet.look import BAD, INK, QUIET, REGULAR, STEEL
from workers.values.cutter import BallNose, Cutter, Drill, KeyholeCutter, VeeCutter

_DRILL_POINT_DEG = 118.0  # of a twist drill (common practice)
_ARC_STEPS = 12
_SHANK_MM = 1.5  # drawn at least, over a cone or a ball
_TWIST = 0.9  # of the diameter that a flute rises across the bit's width (a picture's choice)


def profile_mm(cutter: Cutter) -> list[tuple[float, float]]:
    """Return half of a bit's outline as (radius, height over its tip), up to where it goes on straight.

    Source: the figures of the bit; a cone is (diameter - tip) / 2 / tan(angle / 2) high.

    >>> from workers.values.cutter import EndMill
    >>> profile_mm(EndMill(name="f", diameter_mm=6, cutting_length_mm=25, flutes_count=2))
    [(0.0, 0.0), (3.0, 0.0)]
    """
    radius_mm = cutter.diameter_mm / 2
    if isinstance(cutter, BallNose):
        angles = [math.pi / 2 * step / _ARC_STEPS for step in range(_ARC_STEPS + 1)]
        return [(radius_mm * math.sin(angle), radius_mm * (1 - math.cos(angle))) for angle in angles]
    if isinstance(cutter, KeyholeCutter):
        neck_mm = cutter.neck_mm / 2
        return [(0.0, 0.0), (radius_mm, 0.0), (radius_mm, cutter.head_mm), (neck_mm, cutter.head_mm)]
    tip_mm, angle_deg = radius_mm, 0.0
    if isinstance(cutter, VeeCutter):
        tip_mm, angle_deg = cutter.tip_mm / 2, cutter.included_angle_deg
    elif isinstance(cutter, Drill):
        tip_mm, angle_deg = 0.0, _DRILL_POINT_DEG
    if tip_mm == radius_mm:
        return [(0.0, 0.0), (radius_mm, 0.0)]
    cone_mm = (radius_mm - tip_mm) / math.tan(math.radians(angle_deg) / 2)
    return [(0.0, 0.0), (tip_mm, 0.0), (radius_mm, cone_mm)]


def draw_turned(canvas: Canvas, half: Sequence[tuple[float, float]]) -> None:
    """Draw both halves of a body of revolution, of which (radius, height) are given from its tip up."""
    outline = canvas.beginPath()
    outline.moveTo(*half[0])
    for radius, height in half[1:]:
        outline.lineTo(radius, height)
    for radius, height in reversed(half[1:]):
        outline.lineTo(-radius, height)
    outline.close()
    canvas.drawPath(outline, fill=1, stroke=1)


class BitDrawing(Flowable):  # type: ignore[misc]  # the library has no types
    """The lower end of a bit, tip down, with the face of the board where it cuts deepest."""

    def __init__(self, cutter: Cutter, deepest_mm: float, width_mm: float, height_mm: float) -> None:
        """Draw into a box of this size; a bit too large for it is drawn smaller, and says so."""
        super().__init__()
        self.cutter, self.deepest_mm = cutter, deepest_mm
        self.width, self.height = width_mm * mm, height_mm * mm
        shoulder_mm = profile_mm(cutter)[-1][1] + _SHANK_MM
        self.scale = min(1.0, width_mm / cutter.diameter_mm, height_mm / shoulder_mm)

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the box's size in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the outline, its flutes, its axis and the board's face."""
        canvas, scale = self.canv, self.scale * mm
        canvas.saveState()
        canvas.translate(self.width / 2, 0)
        half = [(radius * scale, height * scale) for radius, height in profile_mm(self.cutter)]
        widest, shoulder = half[-1]
        top = self.height
        self._draw_body([*half, (widest, top)])
        self._draw_flutes(widest, shoulder, top)
        canvas.setStrokeColor(QUIET)
        canvas.setLineWidth(0.3)
        canvas.setDash(4, 1.5)
        canvas.line(0, -1.5, 0, top + 1.5)
        face = self.deepest_mm * scale
        if face < top:
            canvas.setStrokeColor(BAD)
            canvas.setLineWidth(0.6)
            canvas.setDash(1.6, 1.2)
            canvas.line(-self.width / 2, face, self.width / 2, face)
        if self.scale < 1:
            canvas.setFillColor(INK)
            canvas.setFont(REGULAR, 6)
            canvas.drawRightString(self.width / 2 - 1, 1, f"1:{1 / self.scale:.1f}")  # beside the tip
        canvas.restoreState()

    def _draw_body(self, half: list[tuple[float, float]]) -> None:
        self.canv.setFillColor(STEEL)
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(0.8)
        draw_turned(self.canv, half)

    def _draw_flutes(self, widest: float, shoulder: float, top: float) -> None:
        """Slant lines over the straight part, as a helix looks from the side."""
        rise = 2 * widest * _TWIST
        clip = self.canv.beginPath()
        clip.rect(-widest, shoulder, 2 * widest, top - shoulder)
        self.canv.saveState()
        self.canv.clipPath(clip, stroke=0, fill=0)
        self.canv.setLineWidth(0.5)
        level = shoulder - rise
        while level < top and rise > 0 and not isinstance(self.cutter, VeeCutter):
            self.canv.line(-widest, level, widest, level + rise)
            level += max(rise, 2 * mm)
        self.canv.restoreState()
