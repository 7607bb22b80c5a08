"""Hangers as shapes: what a keyhole bit takes out behind the board, and the wood that must hold it.

The head opens the entry and runs on under the lip; the neck opens the slot in the lip.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import shapely
from shapely.geometry import LineString, Point, Polygon

from workers.values.cutter import KeyholeCutter
from workers.values.design import Board, Hanger

LEAST_HOLDING_MM = 3.0  # of wood over and beside the screw's head, which carries the board (common practice)
LEAST_FRONT_MM = 2.0  # of wood left before a slot, to the deepest carving (a choice: thinner wood shows it)
_QUARTER_CHORDS = 64  # of a quarter circle: within 0.001 mm for heads up to 25 mm


def usual_depth_mm(cutter: KeyholeCutter) -> float:
    """Return how deep a keyhole bit is usually run: its lip is as thick as its slot is wide.

    Source: common practice; a head of 3/8 in over a neck of 3/16 in is run 3/8 in deep.
    """
    return max(cutter.head_mm + cutter.neck_mm, cutter.head_mm + LEAST_HOLDING_MM)


def lip_mm(hanger: Hanger) -> float:
    """Return how thick the wood is that lies over the screw's head."""
    return hanger.depth_mm - hanger.cutter.head_mm


def head_outline(hanger: Hanger) -> Polygon:
    """Return what the head sweeps in plan: all of the slot, lip or not."""
    return _swept(hanger, hanger.cutter.diameter_mm / 2)


def open_outline(hanger: Hanger) -> Polygon:
    """Return what is open on the back: the entry, and the slot of the neck."""
    entry = Point(hanger.x_mm, hanger.y_mm).buffer(hanger.cutter.diameter_mm / 2, quad_segs=_QUARTER_CHORDS)
    return Polygon(shapely.get_coordinates(entry.union(_swept(hanger, hanger.cutter.neck_mm / 2))))


def as_they_lie(hangers: Iterable[Hanger], board: Board) -> tuple[Hanger, ...]:
    """Return hangers as seen from behind, the board turned over sideways, from left to right."""
    lying = (as_it_lies(hanger, board) for hanger in hangers)
    return tuple(sorted(lying, key=lambda hanger: (hanger.x_mm, hanger.y_mm)))


def as_it_lies(hanger: Hanger, board: Board) -> Hanger:
    """Return a hanger as seen from behind, the board turned over sideways: left and right change places.

    >>> from workers.values.cutter import KeyholeCutter
    >>> bit = KeyholeCutter(
    ...     name="k", diameter_mm=9, cutting_length_mm=12, flutes_count=2, head_mm=4, neck_mm=4
    ... )
    >>> board = Board(width_mm=300, height_mm=200, thickness_mm=19, material="basswood")
    >>> as_it_lies(Hanger(x_mm=40, y_mm=150, length_mm=14, depth_mm=8, cutter=bit), board).x_mm
    260
    """
    return replace(hanger, x_mm=board.width_mm - hanger.x_mm)


def _swept(hanger: Hanger, radius_mm: float) -> Polygon:
    way = LineString([(hanger.x_mm, hanger.y_mm), (hanger.x_mm, hanger.y_mm + hanger.length_mm)])
    return way.buffer(radius_mm, quad_segs=_QUARTER_CHORDS)
