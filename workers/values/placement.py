"""What shall stand on a board, before it is composed."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.region import Artwork


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedArt:
    """Art and where the middle of its ink's box goes; None: the board's middle, true size."""

    title: str
    artwork: Artwork
    darker: tuple[Artwork, ...] = ()  # of several tones: the same sheet without the palest, and so on
    x_mm: float | None = None
    y_mm: float | None = None
    width_mm: float | None = None  # of the ink's box after turning
    height_mm: float | None = None
    turn_deg: float = 0.0  # anticlockwise


@dataclass(frozen=True, slots=True, kw_only=True)
class LetteringLine:
    """Text; x, y is where the baseline of the first line starts, is centred, or ends."""

    text: str
    font: str
    cap_height_mm: float
    x_mm: float
    y_mm: float
    align: str  # "left", "centre", "right"
    line_spacing_fraction: float  # baselines apart, in cap heights
    letter_spacing_mm: float
    turn_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BorderLine:
    """A line all round the board."""

    inset_mm: float
    width_mm: float
