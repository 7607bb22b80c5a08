"""Lengths, feeds and bits in the units of whoever reads the page."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.cutter import BallNose, Cutter, Drill, VeeCutter
from workers.values.frames import MM_PER_INCH

_KINDS = {BallNose: "ball nose", Drill: "drill", VeeCutter: "V-bit"}


@dataclass(frozen=True, slots=True)
class Figures:
    """How figures are written: in mm, or in decimal inches."""

    inches: bool = False

    @property
    def unit(self) -> str:
        """The unit of length."""
        return "in" if self.inches else "mm"

    def number(self, length_mm: float, decimals: int = 3) -> str:
        """Return a length without its unit.

        Args:
            length_mm: The length.
            decimals: Of mm at most; inches have three always, 0.001 in being 0.025 mm.

        >>> Figures().number(19.0), Figures(inches=True).number(19.05)
        ('19', '0.750')
        """
        if self.inches:
            return f"{length_mm / MM_PER_INCH:.3f}"
        return f"{length_mm:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{length_mm:.0f}"

    def length(self, length_mm: float) -> str:
        """Return a length with its unit."""
        return f"{self.number(length_mm)} {self.unit}"

    def both(self, length_mm: float) -> str:
        """Return a length in both units, the reader's own first: what is set wrongly once is scrap."""
        return f"{self.length(length_mm)} ({Figures(not self.inches).length(length_mm)})"

    def size(self, width_mm: float, height_mm: float) -> str:
        """Return width by height."""
        return f"{self.number(width_mm)} x {self.number(height_mm)} {self.unit}"

    def feed(self, feed_mm_per_min: float) -> str:
        """Return a feed without its unit, in whole mm/min or tenths of an inch.

        >>> Figures().feed(2430), Figures(inches=True).feed(2430)
        ('2430', '95.7')
        """
        return f"{feed_mm_per_min / MM_PER_INCH:.1f}" if self.inches else f"{feed_mm_per_min:.0f}"

    def bit(self, cutter: Cutter) -> str:
        """Return what a bit is, in a line."""
        kind = _KINDS.get(type(cutter), "end mill")
        flutes = "1 flute" if cutter.flutes_count == 1 else f"{cutter.flutes_count} flutes"
        shape = ""
        if isinstance(cutter, VeeCutter):
            shape = f"{cutter.included_angle_deg:g}\u00b0, tip {self.length(cutter.tip_mm)}, "
        return (
            f"{kind} {self.length(cutter.diameter_mm)}, {shape}"
            f"cuts {self.length(round(cutter.cutting_length_mm, 1))} deep, {flutes}"
        )


METRIC = Figures()
