"""Onto a closed line and off it again along quarter circles on the waste's side, so that no mark is left.

The bit goes down in a helix in the waste, inside of the quarter circle that leads onto the line: there it
comes nowhere nearer to the finished wall than half the quarter's radius.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import quarter_pieces
from workers.toolpaths.circuit import Circuit, ramp_length_mm
from workers.toolpaths.tabs import bends_deg

Floats = NDArray[np.float64]
Gap = tuple[float, float]  # where on a line a stretch without a tab begins and ends

OVERLAP_MM = 3.0  # run twice where a round closes
HELIX_DEG = 5.0  # a narrow helix: a little steeper than a ramp along a path
_SHARES = (1.0, 0.7, 0.5, 0.35, 0.25)  # of the radius wanted, that are tried one after the other
_HELIX_SHARE = 0.5  # of the quarter's radius
_MARGIN_MM = 1.0  # between what a lead cuts and the foot of a tab
_PLACES_TRIED = 41
_CHORD_MM = 0.008  # how far chords may be from their circle: in the waste, and arcs are found in them
_TANGENT_MM = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Where a round begins, and the quarter circles that lead to it and away."""

    start_mm: float  # place on the line
    overlap_mm: float  # that the round goes on past its start
    radius_mm: float
    waste_on_left: bool  # of the way

    def stop_mm(self, circuit: Circuit) -> float:
        """Return the place where the round ends."""
        return self.start_mm + circuit.length_mm + self.overlap_mm

    def on(self, circuit: Circuit, other: Circuit) -> Lead:
        """Return the lead for a line beside the one that it was made for."""
        here_mm = circuit.at(np.array([self.start_mm]))[0]
        return Lead(
            start_mm=other.nearest_place(here_mm),
            overlap_mm=self.overlap_mm,
            radius_mm=self.radius_mm,
            waste_on_left=self.waste_on_left,
        )

    def way_down(self, circuit: Circuit, upper_mm: float, lower_mm: float) -> Floats:
        """Return the helix down to where the quarter circle begins, (n, 3)."""
        helix_mm = _HELIX_SHARE * self.radius_mm
        place_mm, ahead, aside = self._frame(circuit, self.start_mm)
        begin_mm = place_mm + self.radius_mm * (aside - ahead)
        drop_mm = upper_mm - lower_mm
        turns = math.ceil(ramp_length_mm(drop_mm, HELIX_DEG) / (2 * math.pi * helix_mm) - 1e-9)
        if turns <= 0:
            return np.array([[*begin_mm, lower_mm]])
        angles_rad = np.linspace(
            0.0, 2 * math.pi * turns, 4 * quarter_pieces(helix_mm, _CHORD_MM) * turns + 1
        )
        round_mm = np.outer(1 - np.cos(angles_rad), ahead) - np.outer(np.sin(angles_rad), aside)
        heights_mm = np.linspace(upper_mm, lower_mm, len(angles_rad))
        return np.column_stack([begin_mm + helix_mm * round_mm, heights_mm])

    def way_in(self, circuit: Circuit, height_mm: float) -> Floats:
        """Return the quarter circle that meets the line at the start, (n, 3)."""
        return self._quarter(circuit, self.start_mm, -1.0, height_mm)[::-1]

    def way_out(self, circuit: Circuit, height_mm: float) -> Floats:
        """Return the quarter circle that leaves the line where the round ends, (n, 3)."""
        return self._quarter(circuit, self.stop_mm(circuit), 1.0, height_mm)

    def round_at(self, circuit: Circuit, height_mm: float) -> Floats:
        """Return the way in, a level round and the way out, (n, 3)."""
        places_mm = circuit.places(self.start_mm, self.stop_mm(circuit))
        round_mm = np.column_stack([circuit.at(places_mm), np.full(len(places_mm), height_mm)])
        return np.vstack([self.way_in(circuit, height_mm), round_mm, self.way_out(circuit, height_mm)])

    def closing(self, circuit: Circuit, height_mm: float) -> list[Floats]:
        """Return what follows on a round that ends where it began: the overlap, and the way out."""
        places_mm = circuit.places(self.start_mm, self.start_mm + self.overlap_mm)
        overlap_mm = np.column_stack([circuit.at(places_mm), np.full(len(places_mm), height_mm)])
        return [overlap_mm, self.way_out(circuit, height_mm)]

    def _quarter(self, circuit: Circuit, place_mm: float, forth: float, height_mm: float) -> Floats:
        """Return a quarter circle away from the line, onwards or back."""
        foot_mm, ahead, aside = self._frame(circuit, place_mm)
        angles_rad = np.linspace(0.0, math.pi / 2, quarter_pieces(self.radius_mm, _CHORD_MM) + 1)
        off_mm = np.outer(forth * np.sin(angles_rad), ahead) + np.outer(1 - np.cos(angles_rad), aside)
        plan_mm = foot_mm + self.radius_mm * off_mm
        return np.column_stack([plan_mm, np.full(len(plan_mm), height_mm)])

    def _frame(self, circuit: Circuit, place_mm: float) -> tuple[Floats, Floats, Floats]:
        """Return a place of the line, the way's direction there, and the direction to the waste."""
        before_mm, here_mm, after_mm = circuit.at(place_mm + _TANGENT_MM * np.array([-1.0, 0.0, 1.0]))
        ahead = (after_mm - before_mm) / np.linalg.norm(after_mm - before_mm)
        left = np.array([-ahead[1], ahead[0]])
        return here_mm, ahead, left if self.waste_on_left else -left


def placed_lead(
    circuit: Circuit, gaps_mm: Sequence[Gap], radius_mm: float, waste: BaseGeometry, waste_on_left: bool
) -> Lead | None:
    """Return the lead with the largest radius that has room, where the line is straightest; None if none has.

    Args:
        circuit: The line.
        gaps_mm: Where on it a round may begin; tabs lie between.
        radius_mm: The largest radius wanted.
        waste: Where the bit's middle may be beside the line.
        waste_on_left: Of the way, or on its right.
    """
    shapely.prepare(waste)
    for share in _SHARES:
        for lead in _leads(circuit, gaps_mm, share * radius_mm, waste_on_left):
            beside_mm = [
                lead.way_down(circuit, 1e-3, 0.0)[:, :2],
                lead.way_in(circuit, 0.0)[:, :2],
                lead.way_out(circuit, 0.0)[:, :2],
                np.stack([lead.way_out(circuit, 0.0)[-1, :2], lead.way_in(circuit, 0.0)[0, :2]]),
            ]
            if shapely.covers(waste, shapely.MultiLineString([line.tolist() for line in beside_mm])):
                return lead
    return None


def _leads(circuit: Circuit, gaps_mm: Sequence[Gap], radius_mm: float, waste_on_left: bool) -> Iterator[Lead]:
    """Yield leads of a radius: the longest gap first, in it the straightest run nearest to its middle."""
    for first_mm, last_mm in sorted(gaps_mm, key=lambda gap: gap[0] - gap[1]):
        room_mm = last_mm - first_mm - 2 * (radius_mm + _MARGIN_MM)
        if room_mm <= 0:
            return
        overlap_mm = min(OVERLAP_MM, room_mm / 4)
        low_mm = first_mm + radius_mm + _MARGIN_MM
        places_mm = np.linspace(low_mm, low_mm + room_mm - overlap_mm, _PLACES_TRIED)
        bends = bends_deg(circuit, places_mm - radius_mm, places_mm + overlap_mm + radius_mm)
        middle_mm = (first_mm + last_mm - overlap_mm) / 2
        for place in np.lexsort((np.abs(places_mm - middle_mm), np.round(bends, 3))).tolist():
            yield Lead(
                start_mm=float(places_mm[place]),
                overlap_mm=overlap_mm,
                radius_mm=radius_mm,
                waste_on_left=waste_on_left,
            )
