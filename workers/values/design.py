"""A sign as it shall be: board, ink, outline and holes, in the board frame."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shapely.geometry import Polygon

from workers.values.cutter import KeyholeCutter
from workers.values.region import Region


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The finished board: its bounding size, thickness and material's name."""

    width_mm: float
    height_mm: float
    thickness_mm: float
    material: str
    corner_radius_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole right through the board; place of its centre."""

    x_mm: float
    y_mm: float
    diameter_mm: float


class OpeningShape(StrEnum):
    """What an opening looks like before it is turned."""

    RECTANGLE = "rectangle"
    SLOT = "slot"
    KEYHOLE = "keyhole"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A shaped opening right through the board."""

    shape: OpeningShape
    x_mm: float  # of its middle; of a keyhole, of its head's
    y_mm: float
    length_mm: float  # along x before it is turned; of a keyhole, up from its head's middle to its end
    width_mm: float  # of a keyhole, of its neck
    head_mm: float = 0.0  # diameter of a keyhole's head
    corner_radius_mm: float = 0.0  # of a rectangle
    turn_deg: float = 0.0  # anticlockwise


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanger:
    """A blind keyhole slot in the back, to hang the board on a screw: from its entry it runs up."""

    x_mm: float  # of the entry's middle, as seen from the front
    y_mm: float
    length_mm: float  # from there to the middle of the slot's end
    depth_mm: float  # from the back to the bottom of the head's way
    cutter: KeyholeCutter


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One thing placed on the board: what it is and the box its ink fills."""

    kind: str  # "art", "lettering", "border"
    title: str  # the text, the file's role, "border"
    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float
    cap_height_mm: float = 0.0  # of lettering


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Everything to be cut on one board. ``ink`` is the union of all elements."""

    board: Board
    outline: Polygon  # the board's edge, corners rounded
    ink: Region
    darker: tuple[Region, ...] = ()  # of several tones: the ink without the palest, each within the last
    holes: tuple[Hole, ...] = ()
    elements: tuple[Element, ...] = ()
    openings: tuple[Opening, ...] = ()
    hangers: tuple[Hanger, ...] = ()
    bit_name: str = ""  # of the V-bit that was chosen for it, where an order offers several
    past_edge_mm: float = 0.0  # how far past the board's edge the ground is cut; 0: it ends on the board
