"""Numbers as RS-274 words: fixed decimals, no exponent, no minus zero, in one unit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WordFormat:
    """A unit of length and how finely it is written.

    Source: three decimals of a millimetre, four of an inch (trade.md G-58).
    """

    units_word: str  # "G21" or "G20"
    units_title: str
    mm_per_unit: float
    coordinate_decimals_count: int
    feed_decimals_count: int

    @property
    def coordinate(self) -> str:
        """The % format of a coordinate."""
        return f"%.{self.coordinate_decimals_count}f"

    @property
    def feed(self) -> str:
        """The % format of a feed."""
        return f"%.{self.feed_decimals_count}f"

    def coordinates(self, lengths_mm: Floats) -> Floats:
        """Return lengths in the unit, rounded as they will be written; never minus zero."""
        return np.round(lengths_mm / self.mm_per_unit, self.coordinate_decimals_count) + 0.0

    def feeds(self, feeds_mm_per_min: Floats) -> Floats:
        """Return feeds in units a minute, rounded as they will be written; never zero."""
        least = 10.0**-self.feed_decimals_count
        return np.maximum(np.round(feeds_mm_per_min / self.mm_per_unit, self.feed_decimals_count), least)

    def length(self, length_mm: float) -> str:
        """Return one length as it is written.

        >>> MILLIMETRES.length(-0.0004), INCHES.length(25.4)
        ('0.000', '1.0000')
        """
        return self.coordinate % float(self.coordinates(np.array([length_mm]))[0])


MILLIMETRES = WordFormat(
    units_word="G21",
    units_title="millimetres",
    mm_per_unit=1.0,
    coordinate_decimals_count=3,
    feed_decimals_count=1,
)
INCHES = WordFormat(
    units_word="G20",
    units_title="inches",
    mm_per_unit=25.4,
    coordinate_decimals_count=4,
    feed_decimals_count=2,
)
