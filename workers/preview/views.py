"""The views of a board beside the one from above, by name."""

from __future__ import annotations

from collections.abc import Callable

from workers.preview.appearance import Appearance
from workers.preview.close_up import draw_close_up
from workers.preview.oblique import draw_oblique
from workers.preview.section import draw_section
from workers.values.design import Board
from workers.values.height_field import HeightField

VIEWS: dict[str, Callable[[HeightField, Board, Appearance], bytes]] = {
    "oblique": draw_oblique,
    "close-up": draw_close_up,
    "section": draw_section,
}
