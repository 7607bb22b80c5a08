"""Straight thin lines over a raster, from one rim to another, followed where they bow a little."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

_TURN_DEG = 0.5
_PIXEL_MM = 0.5  # of the raster on which lines are voted for
_LEAST_VOTES = 0.35  # of the raster's shorter side
_MOST_LOOKED_AT = 16
_SLACK_PIXELS = 5  # of the voting raster: a line may bow, and its way is rounded
_LOOKS, _LOOKS_AT_END = 160, 5  # along it, and of these at either end
_VOTED, _VOTED_AT_END = 0.4, 0.6  # of the looks; wide ink along a line has no vote
_MOST_VOTED_FOR = 1000
_EDGE_MM, _RIM_MM = 3.0, 8.0  # of the sheet's very edge nothing is taken; next to it a line must be seen
_LEAST_AT_RIM = 24  # pixels there, fewer than the ends of one line
_APART_MM = 5.0
_FROM_RIM_MM = 5.0  # nearer to the rim and along it lies the sheet's own edge
_ALONG_RULES_DEG = 3.0
_REACH_MM = 3.0  # how far a line may lie off the straight one that was voted for
_STRIP_MM = 5.0
_SPREADS_MM = (2.0, 1.0, 0.5)

Bytes = NDArray[np.uint8]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Chord:
    """A line from rim to rim, mm from the raster's upper left corner, y down, its bow a parabola."""

    start_mm: Array  # (2,)
    end_mm: Array
    bow: Array  # (3,) off the straight way, mm, by 1, t and t^2 of the share of the way

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return float(np.linalg.norm(self.end_mm - self.start_mm))

    @property
    def angle_deg(self) -> float:
        """Its direction, 0 across and 90 down, -90 to 90."""
        across, down = self.end_mm - self.start_mm
        return math.degrees(math.atan2(down, across)) if across else 90.0

    @property
    def is_across(self) -> bool:
        """Whether it runs more across than down."""
        across, down = np.abs(self.end_mm - self.start_mm)
        return bool(across >= down)

    @property
    def normal(self) -> Array:
        """The unit vector aside."""
        across, down = (self.end_mm - self.start_mm) / self.length_mm
        return np.array([-down, across])

    def points_mm(self, step_mm: float, aside_mm: float = 0.0) -> Array:
        """Return points along it, (n, 2), moved aside."""
        share = np.linspace(0.0, 1.0, max(2, round(self.length_mm / step_mm) + 1))
        off = self.bow @ np.stack([np.ones_like(share), share, share**2]) + aside_mm
        straight = self.start_mm + share[:, None] * (self.end_mm - self.start_mm)
        return np.asarray(straight + off[:, None] * self.normal)


def chords(thin: Bytes, faintest: float, part_mm: float, without_deg: tuple[float, ...]) -> Iterator[Chord]:
    """Yield the straight lines that most places speak for, the likeliest first, none twice.

    Args:
        thin: (rows, columns), how much darker than both of its sides a place is.
        faintest: What counts as a place of a line.
        part_mm: Side of a pixel.
        without_deg: Directions in which none is looked for.

    Source: the transform of Hough, in the form of Duda and Hart (CACM 15, 1972), as OpenCV has it.
    """
    sides_mm = np.array(thin.shape[::-1]) * part_mm
    cells = [max(2, int(side / _PIXEL_MM)) for side in sides_mm]
    grown = cv2.resize(cv2.dilate(thin, np.ones((2, 2), np.uint8)), cells, interpolation=cv2.INTER_NEAREST)
    voters = np.asarray(grown > faintest, np.uint8)
    rim, edge = (round(side / _PIXEL_MM) for side in (_RIM_MM, _EDGE_MM))
    voters = voters[edge:-edge, edge:-edge]
    if cv2.countNonZero(voters) - cv2.countNonZero(voters[rim:-rim, rim:-rim]) < _LEAST_AT_RIM:
        return
    voters = np.asarray(cv2.copyMakeBorder(voters, edge, edge, edge, edge, cv2.BORDER_CONSTANT), np.uint8)
    votes = int(_LEAST_VOTES * min(cells))
    lines = cv2.HoughLines(voters, 2.0, math.radians(_TURN_DEG), votes)
    near = np.asarray(cv2.dilate(voters, np.ones((_SLACK_PIXELS, _SLACK_PIXELS), np.uint8)), np.uint8)
    looked_at: list[Chord] = []
    found = lines[:_MOST_VOTED_FOR, 0].astype(np.float64) if lines is not None else np.empty((0, 2))
    for ends in _from_rim_to_rim(found * (_PIXEL_MM, 1.0), sides_mm, near):
        straight = Chord(ends[0], ends[1], np.zeros(3))
        if any(_along(straight.angle_deg, turn) for turn in without_deg):
            continue
        if any(_near(straight, other) for other in looked_at):
            continue
        looked_at.append(straight)
        yield _followed(straight, thin, part_mm)
        if len(looked_at) == _MOST_LOOKED_AT:
            return


def levelled(
    picture: Bytes | NDArray[np.float32], chord: Chord, offsets_mm: NDArray[np.floating], part_mm: float
) -> Array:
    """Return what lies along a line and beside it, (offsets, places), linear between pixels.

    Args:
        picture: (rows, columns) of bytes or floats.
        chord: The line.
        offsets_mm: How far aside.
        part_mm: Side of a pixel; places are as far apart.
    """
    places = np.stack([chord.points_mm(part_mm, float(off)) for off in offsets_mm]) / part_mm - 0.5
    across, down = (np.ascontiguousarray(part, np.float32) for part in (places[:, :, 0], places[:, :, 1]))
    seen = cv2.remap(picture, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, np.float64)


def _from_rim_to_rim(lines: Array, sides_mm: Array, voters: Bytes) -> Array:
    """Return both ends (lines, 2, 2) of those lines that are seen at either end and over most of their way.

    Args:
        lines: (n, 2) distance in mm from the upper left corner and direction in radians of the normal.
        sides_mm: Of the raster.
        voters: What is seen, a pixel to ``_PIXEL_MM``.
    """
    normal = np.stack([np.cos(lines[:, 1]), np.sin(lines[:, 1])], axis=1)
    along = np.stack([-normal[:, 1], normal[:, 0]], axis=1)
    first = normal * lines[:, :1]
    step = np.where(np.abs(along) < 1e-9, 1e-9, along)
    reached = np.sort(np.stack([-first / step, (sides_mm - first) / step]), axis=0)
    low, high = reached[0].max(axis=1), reached[1].min(axis=1)
    ends = first[:, None] + along[:, None] * np.stack([low, high], axis=1)[:, :, None]
    middle = ends.mean(axis=1)
    off_rim = np.minimum(middle, sides_mm - middle).min(axis=1) >= _FROM_RIM_MM
    ends = ends[off_rim & (high - low > 0.5 * sides_mm.min())]
    inset = _EDGE_MM / np.maximum(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1), 1.0)[:, None]
    share = (inset + (1 - 2 * inset) * (np.arange(_LOOKS) + 0.5) / _LOOKS)[:, :, None]
    places = (ends[:, :1] + share * (ends[:, 1:] - ends[:, :1])) / _PIXEL_MM
    columns, rows = np.clip(places.astype(np.int64), 0, np.array(voters.shape[::-1]) - 1).transpose(2, 0, 1)
    seen = voters[rows, columns]
    tips = np.minimum(seen[:, :_LOOKS_AT_END].mean(axis=1), seen[:, -_LOOKS_AT_END:].mean(axis=1))
    return np.asarray(ends[(seen.mean(axis=1) > _VOTED) & (tips > _VOTED_AT_END)])


def _along(angle_deg: float, other_deg: float) -> bool:
    return abs((angle_deg - other_deg + 90) % 180 - 90) < _ALONG_RULES_DEG


def _near(line: Chord, other: Chord) -> bool:
    """Return whether two lines are the same but for their places and directions being rounded."""
    if not _along(line.angle_deg, other.angle_deg):
        return False
    away = (np.stack([line.start_mm, line.end_mm]) - other.start_mm) @ other.normal
    return bool(np.abs(away).max() < 2 * _APART_MM and np.abs(away).mean() < _APART_MM)


def _followed(straight: Chord, thin: Bytes, part_mm: float) -> Chord:
    """Return a line with the bow with which the places near it are darkest."""
    offsets_mm = np.arange(-_REACH_MM, _REACH_MM + part_mm / 2, part_mm)
    seen = levelled(thin, straight, offsets_mm, part_mm)
    strips = max(4, round(straight.length_mm / _STRIP_MM))
    strength = cv2.resize(seen, (strips, len(offsets_mm)), interpolation=cv2.INTER_AREA)
    share = (np.arange(strips) + 0.5) / strips
    terms = np.stack([np.ones(strips), share, share**2], axis=1)
    peak = np.clip(strength.argmax(axis=0), 1, len(offsets_mm) - 2)
    places = offsets_mm[peak]
    bow = np.array([float(np.median(places)), 0.0, 0.0])
    for spread_mm in _SPREADS_MM:
        off = (places - terms @ bow) / spread_mm
        weight = np.maximum(1 - off**2, 0) ** 2 * np.sqrt(np.maximum(strength.max(axis=0), 0))
        weighed = terms * weight[:, None]
        stiff = np.diag([1e-6, 1e-3, 1e-2]) * max(float(weight.sum()), 1e-6)
        bow = np.linalg.solve(weighed.T @ terms + stiff, weighed.T @ places)
    return Chord(straight.start_mm, straight.end_mm, bow)
