"""A bit in its collet, small and to scale: how far it stands out, and what is over it."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from workers.setup_sheet.bit_drawing import draw_turned, profile_mm
from workers.setup_sheet.look import INK, QUIET, REGULAR, STEEL
from workers.values.cutter import Cutter
from workers.values.machine import Machine

_NUT_SHOWN = 0.6  # of the nut's length: enough to see how wide it is
_WORDS_MM = 2.6  # beside the drawing


class HeldDrawing(Flowable):  # type: ignore[misc]  # the library has no types
    """Edges, shank and nut from the side, and the length that stands out of the nut."""

    def __init__(
        self, cutter: Cutter, machine: Machine, width_mm: float, height_mm: float, stands_out: str
    ) -> None:
        """Draw into a box of this size, the figure as the page has it."""
        super().__init__()
        self.cutter, self.machine, self.stands_out = cutter, machine, stands_out
        self.width, self.height = width_mm * mm, height_mm * mm

    @property
    def scale(self) -> float:
        """Points a mm of the bit, such that all of it fits."""
        high_mm = self.cutter.stick_out_mm + _NUT_SHOWN * self.machine.nut_length_mm
        wide_mm = max(self.machine.nut_diameter_mm, self.cutter.diameter_mm)
        return float(min(self.height / high_mm, (self.width - _WORDS_MM * mm) / wide_mm))

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the box's size in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the bit, tip down, and the line along which it stands out."""
        canvas, scale, cutter = self.canv, self.scale, self.cutter
        canvas.saveState()
        canvas.translate(_WORDS_MM * mm + (self.width - _WORDS_MM * mm) / 2, 0)
        out, edges = cutter.stick_out_mm * scale, cutter.cutting_length_mm * scale
        shank, nut = cutter.shank_mm * scale / 2, self.machine.nut_diameter_mm * scale / 2
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.4)
        canvas.setFillColor(STEEL)
        canvas.rect(-shank, min(edges, out), 2 * shank, max(out - edges, 0), fill=1)
        canvas.rect(-nut, out, 2 * nut, self.machine.nut_length_mm * _NUT_SHOWN * scale, fill=1)
        self._draw_edges(edges)
        canvas.setStrokeColor(QUIET)
        canvas.setLineWidth(0.3)
        beside = -max(nut, cutter.diameter_mm * scale / 2) - 1.2
        canvas.line(beside, 0, beside, out)
        for level in (0.0, out):
            canvas.line(beside - 1, level, beside + 1, level)
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, 5.5)
        canvas.translate(beside - 1.2, out / 2)
        canvas.rotate(90)
        canvas.drawCentredString(0, 0, self.stands_out)
        canvas.restoreState()

    def _draw_edges(self, edges: float) -> None:
        """The part that cuts, by the bit's own profile."""
        half = [(radius * self.scale, height * self.scale) for radius, height in profile_mm(self.cutter)]
        half.append((half[-1][0], max(edges, half[-1][1])))
        self.canv.setFillColorRGB(1, 1, 1)
        draw_turned(self.canv, half)
