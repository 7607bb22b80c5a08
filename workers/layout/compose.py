"""Puts art, lettering, border and holes on a board."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from workers.geometry.polygon_repair import on_grid
from workers.layout.areas import joined, thinned
from workers.layout.art import place_art
from workers.layout.board_outline import board_outline, border_region
from workers.layout.fitting import Placed, refuse_misfits
from workers.layout.hangers import refuse_misfit_hangers
from workers.layout.lettering import set_text
from workers.layout.openings import refuse_misplaced_openings
from workers.layout.overlaps import overlap_findings
from workers.layout.tiers import darker_tones
from workers.values.design import Board, Design, Element, Hanger, Hole, Opening
from workers.values.finding import Finding
from workers.values.placement import BorderLine, LetteringLine, PlacedArt


def compose(
    board: Board,
    art: Sequence[PlacedArt],
    lettering: Sequence[LetteringLine],
    border: BorderLine | None,
    holes: Sequence[Hole],
    openings: Sequence[Opening] = (),
    hangers: Sequence[Hanger] = (),
    remark: Callable[[Finding], None] = lambda finding: None,
) -> Design:
    """Return the design of one sign. What overlaps is cut as one.

    Args:
        board: The finished board.
        art: Pictures with their places.
        lettering: Texts with their places.
        border: A line all round, or none.
        holes: Right through the board.
        openings: Right through as well, of other shapes.
        hangers: Slots in the back.
        remark: Told of things that lie on each other.

    Raises:
        ParameterOutOfRangeError: Something does not fit; the message says by how much.
        NoDrawingFoundError: Art without ink.
        UnknownNameError: No such font.
    """
    placed = [
        *(_placed_art(entry, board, number) for number, entry in enumerate(art)),
        *(_placed_text(line, number) for number, line in enumerate(lettering)),
        *((_placed_border(board, border),) if border is not None else ()),
    ]
    refuse_misfits(board, placed, holes)
    refuse_misplaced_openings(board, placed, holes, openings)
    refuse_misfit_hangers(board, holes, openings, hangers)
    for finding in overlap_findings(board, placed):
        remark(finding)
    ink = on_grid(thinned(joined([entry.area for entry in placed])))
    return Design(
        board=board,
        outline=board_outline(board),
        ink=ink,
        darker=darker_tones(ink, placed),
        holes=tuple(holes),
        openings=tuple(openings),
        hangers=tuple(hangers),
        elements=tuple(_element(entry) for entry in placed),
    )


def _placed_art(art: PlacedArt, board: Board, number: int) -> Placed:
    (area, *darker), scale = place_art(art, board, f"/inputs/art/{number}")
    left, bottom, right, top = area.bounds
    by_height = art.height_mm is not None
    return Placed(
        kind="art",
        title=art.title,
        area=area,
        field=f"/inputs/art/{number}/place",
        anchor_mm=((left + right) / 2, (bottom + top) / 2),
        size_name="height" if by_height else "width",
        size_mm=top - bottom if by_height else right - left,
        darker=tuple(darker),
        enlarged=scale,
    )


def _placed_text(line: LetteringLine, number: int) -> Placed:
    field = f"/inputs/lettering/{number}"
    return Placed(
        kind="lettering",
        title=f"'{' / '.join(line.text.split(chr(10)))}'",
        area=set_text(line, field),
        field=f"{field}/cap_height",
        anchor_mm=(line.x_mm, line.y_mm),
        size_name="cap height",
        size_mm=line.cap_height_mm,
    )


def _placed_border(board: Board, border: BorderLine) -> Placed:
    return Placed(
        kind="border",
        title="the border",
        area=border_region(board, border).polygons,
        field="/inputs/border/inset",
        anchor_mm=(board.width_mm / 2, board.height_mm / 2),
        size_name="",
        size_mm=0.0,
    )


def _element(entry: Placed) -> Element:
    left, bottom, right, top = (round(side, 5) for side in entry.area.bounds)
    title = {"border": "border", "lettering": entry.title[1:-1]}.get(entry.kind, entry.title)
    return Element(
        kind=entry.kind,
        title=title,
        left_mm=left,
        bottom_mm=bottom,
        right_mm=right,
        top_mm=top,
        cap_height_mm=entry.size_mm if entry.kind == "lettering" else 0.0,
    )
