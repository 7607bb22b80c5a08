"""A sheet of which the picture shows one corner: two sides that meet there and run out of it.

Such a picture has no scale. Two directions square to each other leave the sheet's lean open, and neither
side has two ends, so sheets of any size fit; the camera's lens does not help. What can be said is which
sides are there, and between which two pixels a ruler would give the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.edge_lines import EdgeLine, edge_lines
from workers.rectification.edge_points import edge_points
from workers.rectification.paper_evidence import paper_inside, without_thin_lines
from workers.rectification.reduced import ReducedPhoto

Array = NDArray[np.float64]

SIDES = ("top", "right", "bottom", "left")
_LINES = 12
_LEAST_SHARE = 0.7  # of each side, from the corner to the picture's rim, shows an edge
_LEAST_LENGTH = 0.25  # of the picture's shorter side
_MOST_BEYOND = 0.35  # of as much again beyond the corner, where a sheet's edge ends
_LEAST_PAPER = 0.5
_RIM_PX = 6.0
_GAP_PX = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class LoneCorner:
    """Two sides that meet."""

    first: int  # the side before the corner, clockwise: 0 top, 1 right, 2 bottom, 3 left
    corner_px: Array  # (2,) in the photo
    end_px: Array  # (2,) where the longer of the two leaves the picture
    longer: int  # which that is

    @property
    def reason(self) -> str:
        """What is wrong, in words."""
        seen, gone = (
            [SIDES[(self.first + k) % 4] for k in (0, 1)],
            [SIDES[(self.first + k) % 4] for k in (2, 3)],
        )
        x, y = self.corner_px
        return (
            f"only the sheet's {seen[0]} and {seen[1]} sides are in the picture, which meet at "
            f"({x:.0f}, {y:.0f}); the {gone[0]} and {gone[1]} sides lie beyond its rim, and without an "
            "opposite side nothing shows how large it is"
        )

    @property
    def remedy(self) -> str:
        """What helps."""
        (x, y), (end_x, end_y) = self.corner_px, self.end_px
        return (
            "take the photo again from farther away, all four edges in the picture; or lay a ruler along the "
            f"sheet's {SIDES[self.longer]} edge, measure how much of it the picture shows, and give "
            f"'sheet': {{'length': that, 'between': [[{x:.0f}, {y:.0f}], [{end_x:.0f}, {end_y:.0f}]]}}"
        )


def lone_corner(small: ReducedPhoto) -> LoneCorner | None:
    """Return the one corner of a sheet that a picture shows, None if there is no such thing.

    Args:
        small: The photo, made small.
    """
    smooth = np.asarray(cv2.GaussianBlur(small.pixels, (0, 0), 1.0), np.uint8)
    broad = without_thin_lines(smooth)
    half_frame = np.array(smooth.shape[1::-1], np.float64) / 2
    lines = edge_lines(edge_points(broad), float(np.hypot(*half_frame)), _LINES)
    best, best_score = None, 0.0
    for first in range(4):
        for one in lines[first]:
            for other in lines[(first + 1) % 4]:
                ends = _ends(one, other, half_frame)
                if ends is None:
                    continue
                score = _seen(one, other, ends)
                if score > best_score and _paper(ends, half_frame, broad) > _LEAST_PAPER:
                    best, best_score = (first, ends), score
    if best is None:
        return None
    first, (before, corner, after) = best
    is_first_longer = np.linalg.norm(before - corner) >= np.linalg.norm(after - corner)
    end = before if is_first_longer else after
    longer = first if is_first_longer else (first + 1) % 4
    return LoneCorner(
        first, (corner + half_frame) * small.stretch, (end + half_frame) * small.stretch, longer
    )


def _ends(one: EdgeLine, other: EdgeLine, half_frame: Array) -> tuple[Array, Array, Array] | None:
    """Return where the first side comes into the picture, where they meet, and where the second leaves it."""
    square = np.stack([one.normal, other.normal])
    if abs(np.linalg.det(square)) < 0.5:  # 30 degrees from parallel
        return None
    corner = np.asarray(np.linalg.solve(square, [one.offset_px, other.offset_px]), np.float64)
    if (np.abs(corner) > half_frame - _RIM_PX).any():
        return None
    starts = []
    for line, end in ((one, 1), (other, 0)):  # a sheet's sides run against their lines
        along = np.array([-line.normal[1], line.normal[0]])
        starts.append(line.normal * line.offset_px + line.within(half_frame)[end] * along)
    before, after = starts
    least_px = _LEAST_LENGTH * 2 * half_frame.min()
    if min(np.linalg.norm(before - corner), np.linalg.norm(after - corner)) < least_px:
        return None
    return before, corner, after


def _seen(one: EdgeLine, other: EdgeLine, ends: tuple[Array, Array, Array]) -> float:
    """Return how well both sides are seen up to the corner and not beyond, 0 if they are not."""
    before, corner, after = ends
    shares = []
    for line, far in ((one, before), (other, after)):
        along = np.array([-line.normal[1], line.normal[0]])
        start, end = float(corner @ along), float(far @ along)
        shares.append(_share(line, start, end))
        beyond = _share(line, start + np.sign(start - end) * _GAP_PX, start + 0.3 * (start - end))
        if beyond > _MOST_BEYOND:
            return 0.0
    return float(np.mean(shares)) if min(shares) > _LEAST_SHARE else 0.0


def _share(line: EdgeLine, start_px: float, end_px: float) -> float:
    """Return how much of a stretch of a line shows an edge."""
    low, high = sorted((start_px, end_px))
    return float(line.seen_between(np.array(low), np.array(high))) / max(high - low, 1.0)


def _paper(ends: tuple[Array, Array, Array], half_frame: Array, broad: NDArray[np.uint8]) -> float:
    """Return how much it looks like paper between the two sides."""
    before, corner, after = (end + half_frame for end in ends)
    four = np.stack([before, corner, after, before + after - corner])
    return float(paper_inside(four, broad))
