"""Lengths, feeds and bits in the units of whoever reads the page."""

from __future__ import annotations

import re
from dataclasses import dataclass

from workers.values.cutter import BallNose, Cutter, Drill, KeyholeCutter, VeeCutter
from workers.values.frames import MM_PER_INCH

_NUMBER = r"-?\d+(?:\.\d+)?"
_ROW = rf"{_NUMBER}(?:(?: x | to | by |, y ){_NUMBER})*"
_IN_MM = re.compile(rf"(?<![\w.-])(?P<row>{_ROW}) mm(?P<power>[2\u00b2]?)(?P<feed>(?:/min)?)(?!\w)")
_KINDS = {BallNose: "ball nose", Drill: "drill", VeeCutter: "V-bit", KeyholeCutter: "keyhole bit"}


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

    def volume(self, volume_mm3: float) -> str:
        """Return a volume with its unit.

        >>> Figures().volume(82_500), Figures(inches=True).volume(82_500)
        ('82.5 cm\u00b3', '5.03 in\u00b3')
        """
        if self.inches:
            return f"{volume_mm3 / MM_PER_INCH**3:.2f} in\u00b3"
        return f"{volume_mm3 / 1000:.1f} cm\u00b3"

    def retold(self, text: str) -> str:
        """Return a sentence about lengths, areas and feeds in mm in the reader's unit.

        Findings are written in mm: each figure, or each row of them joined by x, to, by or ", y", with its
        unit behind it. Inches have a digit or two more than mm had, so that nothing is lost.

        >>> Figures(inches=True).retold("6 x 2 mm, 0.05 mm too deep over 12.90 mm2; at most 2540 mm/min")
        '0.24 x 0.08 in, 0.002 in too deep over 0.02 in2; at most 100.0 in/min'
        """
        return _IN_MM.sub(_in_inches, text) if self.inches else text

    def bit(self, cutter: Cutter) -> str:
        """Return what a bit is, in a line."""
        kind = _KINDS.get(type(cutter), "end mill")
        flutes = "1 flute" if cutter.flutes_count == 1 else f"{cutter.flutes_count} flutes"
        shape = ""
        if isinstance(cutter, VeeCutter):
            shape = f"{cutter.included_angle_deg:g}\u00b0, tip {self.length(cutter.tip_mm)}, "
        elif isinstance(cutter, KeyholeCutter):
            shape = f"neck {self.number(cutter.neck_mm, 2)} {self.unit}, "
        return (
            f"{kind} {self.length(cutter.diameter_mm)}, {shape}"
            f"cuts {self.length(round(cutter.cutting_length_mm, 1))} deep, {flutes}"
        )


METRIC = Figures()


def _in_inches(found: re.Match[str]) -> str:
    def figure(number: re.Match[str]) -> str:
        value, decimals = float(number[0]), len(number[0].partition(".")[2])
        if found["power"]:
            return f"{value / MM_PER_INCH**2:.3g}"
        decimals += 1 if decimals >= 2 else 2
        return f"{value / MM_PER_INCH:.{1 if found['feed'] else decimals}f}"

    return re.sub(_NUMBER, figure, found["row"]) + f" in{found['power']}{found['feed']}"
