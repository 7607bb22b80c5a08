"""The board in its blank: sizes, zero, axes, and where no clamp may stand."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from workers.setup_sheet.blank import Blank, blank_of
from workers.setup_sheet.look import BAD, BOLD, GOOD, HIDDEN, INK, QUIET, WOOD
from workers.setup_sheet.sheet import SetupSheet
from workers.setup_sheet.wording import grain_direction_deg
from workers.values.cuts import CutoutCut
from workers.values.design import Design, Hanger
from workers.values.hanger_shape import head_outline, open_outline
from workers.values.keep_out import KeepOut
from workers.values.opening_outline import opening_outline

_FINEST_PT = 0.15  # of outline left out in the drawing: less than a printer's dot
_ARROW_PT = 26.0
_HATCH_PT = 3
_CLAMP_WORDS = (
    "clamps and screws outside this line only",
    "clamps outside this line",
    "no clamps inside",
    "",
)
_LEAST_TAB_PT = 9.0
_GRAIN_PT, _GRAIN_WORD_PT, _DIMENSION_HALF_PT = 26.0, 30.0, 24.0
_GRAIN_BELOW_PT, _GRAIN_LOWER_PT = 19.0, 30.5  # under the blank; under its dimension


def draw_board(
    canvas: Canvas, sheet: SetupSheet, left_mm: float, bottom_mm: float, width_mm: float, height_mm: float
) -> None:
    """Draw the design in its blank, as large as the box allows, seen from above.

    Args:
        canvas: The page.
        sheet: The sign, how it is cut free, its tabs, and clamps as far as they lie on the blank.
        left_mm: Of the box on the page.
        bottom_mm: Of the box on the page.
        width_mm: Of the box.
        height_mm: Of the box.
    """
    design, cutout = sheet.design, sheet.cutout
    blank = blank_of(design, cutout)
    dimensions_mm = 9.0  # of paper, for the two dimension lines
    scale = mm * min(
        (width_mm - dimensions_mm) / blank.width_mm, (height_mm - dimensions_mm) / blank.height_mm
    )
    beside = (width_mm - dimensions_mm) * mm - blank.width_mm * scale
    above = (height_mm - dimensions_mm) * mm - blank.height_mm * scale
    canvas.saveState()
    canvas.translate(
        (left_mm + dimensions_mm) * mm + beside / 2 + blank.margin_mm * scale,
        (bottom_mm + dimensions_mm) * mm + above / 2 + blank.margin_mm * scale,
    )
    draw_blank(canvas, design, blank, cutout, scale)
    _draw_design(canvas, design, scale)
    _draw_tabs(canvas, sheet, scale)
    _draw_keep_outs(canvas, design, blank, sheet.keep_outs, scale)
    if sheet.material.has_grain:
        _draw_grain(canvas, sheet, blank, scale, beside / 2)
    draw_dimensions(canvas, sheet, blank, scale)
    draw_zero(canvas)
    canvas.restoreState()


def draw_blank(canvas: Canvas, design: Design, blank: Blank, cutout: CutoutCut | None, scale: float) -> None:
    """Draw the piece of stock, and the line outside which clamps may stand."""
    margin = blank.margin_mm * scale
    width, height = design.board.width_mm * scale, design.board.height_mm * scale
    canvas.setLineWidth(0.7)
    canvas.setStrokeColor(QUIET)
    if cutout is None:
        return
    canvas.rect(-margin, -margin, width + 2 * margin, height + 2 * margin)
    clear = blank.keep_clear_mm * scale
    canvas.setStrokeColor(BAD)
    canvas.setDash(3, 2)
    radius = (design.board.corner_radius_mm + blank.keep_clear_mm) * scale
    canvas.roundRect(-clear, -clear, width + 2 * clear, height + 2 * clear, radius)
    canvas.setDash()
    canvas.setFillColor(BAD)
    canvas.setFont(BOLD, 7)
    words = next(
        (words for words in _CLAMP_WORDS if canvas.stringWidth(words) < width + 2 * margin), _CLAMP_WORDS[-1]
    )
    canvas.drawCentredString(width / 2, height + clear + 2, words)


def _draw_design(canvas: Canvas, design: Design, scale: float) -> None:
    canvas.setStrokeColor(INK)
    canvas.setFillColor(WOOD)
    canvas.setLineWidth(0.8)
    canvas.drawPath(_path(canvas, [design.outline], scale), fill=1, stroke=1)
    canvas.setFillColor(INK)
    canvas.drawPath(_path(canvas, list(design.ink.polygons.geoms), scale), fill=1, stroke=0, fillMode=0)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.setLineWidth(0.5)
    if design.openings:
        outlines = [opening_outline(opening) for opening in design.openings]
        canvas.drawPath(_path(canvas, outlines, scale), fill=1, stroke=1)
    for hole in design.holes:
        canvas.circle(hole.x_mm * scale, hole.y_mm * scale, hole.diameter_mm / 2 * scale, fill=1)
    for hanger in design.hangers:
        draw_slot(canvas, hanger, scale, hidden=True)


def draw_slot(canvas: Canvas, hanger: Hanger, scale: float, *, hidden: bool) -> None:
    """Draw a slot of the back: from behind open where it is; from the front all of it dashed.

    Args:
        canvas: The page, its origin at the board's corner.
        hanger: In the frame of the side that is drawn.
        scale: Points a mm.
        hidden: It lies behind the face.
    """
    canvas.saveState()
    canvas.setStrokeColor(HIDDEN)
    canvas.setLineWidth(0.7)
    canvas.setDash(2, 1.4)
    canvas.drawPath(_path(canvas, [head_outline(hanger)], scale), fill=0, stroke=1)
    if not hidden:
        canvas.setDash()
        canvas.setFillColorRGB(1, 1, 1)
        canvas.setStrokeColor(INK)
    canvas.drawPath(_path(canvas, [open_outline(hanger)], scale), fill=0 if hidden else 1, stroke=1)
    canvas.restoreState()


def _draw_tabs(canvas: Canvas, sheet: SetupSheet, scale: float) -> None:
    """Bars over the cut at the tabs of the board, and of pieces in openings."""
    if sheet.cutout is not None:
        _draw_bars(canvas, sheet.cutout, sheet.design.outline.exterior, sheet.tabs_mm, scale)
    edges = [opening_outline(opening).exterior for opening in sheet.design.openings]
    for place_mm in sheet.opening_tabs_mm:
        nearest = min(edges, key=shapely.Point(place_mm).distance)
        _draw_bars(canvas, sheet.cutout, nearest, [place_mm], scale)


def _draw_bars(
    canvas: Canvas,
    cut: CutoutCut | None,
    edge: shapely.LinearRing,
    places_mm: Sequence[tuple[float, float]],
    scale: float,
) -> None:
    """A bar over the cut at each tab, as long as the bridge is wide, but long enough to be seen."""
    half = max(cut.tab_width_mm * scale if cut else 0.0, _LEAST_TAB_PT) / 2
    canvas.setStrokeColor(GOOD)
    canvas.setLineWidth(max(cut.cutter.diameter_mm * scale if cut else 0.0, _LEAST_TAB_PT / 2))
    for x_mm, y_mm in places_mm:
        place = edge.project(shapely.Point(x_mm, y_mm))
        before, after = edge.interpolate(place - 0.5), edge.interpolate(place + 0.5)
        run = math.hypot(after.x - before.x, after.y - before.y) or 1.0
        along_x, along_y = half * (after.x - before.x) / run, half * (after.y - before.y) / run
        x, y = x_mm * scale, y_mm * scale
        canvas.line(x - along_x, y - along_y, x + along_x, y + along_y)


def _draw_grain(canvas: Canvas, sheet: SetupSheet, blank: Blank, scale: float, beside: float) -> None:
    """An arrow with two heads and its word: right of the blank if there is room, else under its end."""
    right = (sheet.design.board.width_mm + blank.margin_mm) * scale
    canvas.saveState()
    if beside > _GRAIN_PT + _GRAIN_WORD_PT:
        canvas.translate(right + _GRAIN_WORD_PT + _GRAIN_PT / 2, sheet.design.board.height_mm * scale / 2)
    else:
        words_end = sheet.design.board.width_mm * scale / 2 + _DIMENSION_HALF_PT
        is_clear = right - _GRAIN_PT - _GRAIN_WORD_PT > words_end
        below = _GRAIN_BELOW_PT if is_clear else _GRAIN_LOWER_PT
        canvas.translate(right - _GRAIN_PT / 2, -blank.margin_mm * scale - below)
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(0.8)
    canvas.setFont(BOLD, 7.5)
    canvas.drawRightString(-_GRAIN_PT / 2 - 3, -2.5, "grain")
    canvas.rotate(grain_direction_deg(sheet))
    canvas.line(-_GRAIN_PT / 2, 0, _GRAIN_PT / 2, 0)
    for end in (-1, 1):
        for side in (-1, 1):
            canvas.line(end * _GRAIN_PT / 2, 0, end * (_GRAIN_PT / 2 - 4), side * 2)
    canvas.restoreState()


def _draw_keep_outs(
    canvas: Canvas, design: Design, blank: Blank, keep_outs: Sequence[KeepOut], scale: float
) -> None:
    """Hatched blocks, each with the number that findings give it."""
    canvas.setStrokeColor(BAD)
    canvas.setFillColor(BAD)
    canvas.setLineWidth(0.5)
    canvas.setFont(BOLD, 6)
    margin_mm = blank.margin_mm
    for number, zone in enumerate(keep_outs, 1):
        left = max(zone.left_mm, -margin_mm) * scale
        bottom = max(zone.bottom_mm, -margin_mm) * scale
        width = min(zone.right_mm, design.board.width_mm + margin_mm) * scale - left
        height = min(zone.top_mm, design.board.height_mm + margin_mm) * scale - bottom
        if width <= 0 or height <= 0:
            continue
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect(left, bottom, width, height)
        canvas.clipPath(clip, stroke=1, fill=0)
        for start in range(-math.ceil(height), math.ceil(width), _HATCH_PT):
            canvas.line(left + start, bottom, left + start + height, bottom + height)
        canvas.restoreState()
        canvas.drawString(left + 1, bottom + height + 1.5, str(number))


def _path(canvas: Canvas, polygons: list[shapely.Polygon], scale: float) -> object:
    path = canvas.beginPath()
    for polygon in polygons:
        for ring in (polygon.exterior, *polygon.interiors):
            drawn = ring.simplify(_FINEST_PT / scale)
            (x, y), *rest = (shapely.get_coordinates(drawn)[:-1] * scale).tolist()
            path.moveTo(x, y)
            for x, y in rest:
                path.lineTo(x, y)
            path.close()
    return path


def draw_dimensions(canvas: Canvas, sheet: SetupSheet, blank: Blank, scale: float) -> None:
    """Draw the board's width below, its height to the left, outside the blank."""
    design, length = sheet.design, sheet.figures.length
    width, height = design.board.width_mm * scale, design.board.height_mm * scale
    away = -blank.margin_mm * scale - 4.0 * mm
    canvas.setStrokeColor(QUIET)
    canvas.setFillColor(INK)
    canvas.setLineWidth(0.4)
    canvas.setFont(BOLD, 9)
    _dimension_line(canvas, width, away)
    canvas.drawCentredString(width / 2, away - 9.5, length(design.board.width_mm))
    canvas.saveState()
    canvas.rotate(90)
    _dimension_line(canvas, height, -away)
    canvas.drawCentredString(height / 2, -away + 2.5, length(design.board.height_mm))
    canvas.restoreState()


def _dimension_line(canvas: Canvas, length: float, level: float) -> None:
    canvas.line(0, level, length, level)
    for end, inward in ((0.0, 1), (length, -1)):
        canvas.line(end, level - 3, end, level + 3)
        canvas.line(end, level, end + inward * 4, level + 1.5)
        canvas.line(end, level, end + inward * 4, level - 1.5)


def draw_zero(canvas: Canvas) -> None:
    """Draw the zero mark of machine drawings, a quartered circle, with the axes."""
    canvas.setStrokeColor(BAD)
    canvas.setFillColor(BAD)
    canvas.setLineWidth(1.1)
    canvas.line(0, 0, _ARROW_PT, 0)
    canvas.line(0, 0, 0, _ARROW_PT)
    for x, y, across in ((_ARROW_PT, 0, (0, 1)), (0, _ARROW_PT, (1, 0))):
        head = canvas.beginPath()
        along = (across[1], across[0])
        head.moveTo(x + along[0] * 4, y + along[1] * 4)
        head.lineTo(x + across[0] * 2.2, y + across[1] * 2.2)
        head.lineTo(x - across[0] * 2.2, y - across[1] * 2.2)
        head.close()
        canvas.drawPath(head, fill=1, stroke=0)
    for name, x, y in (("X", _ARROW_PT + 9, 0.0), ("Y", 0.0, _ARROW_PT + 9)):
        canvas.setFillColorRGB(1, 1, 1)
        canvas.circle(x, y, 4.2, fill=1, stroke=0)
        canvas.setFillColor(BAD)
        canvas.setFont(BOLD, 7.5)
        canvas.drawCentredString(x, y - 2.6, name)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.circle(0, 0, 4, fill=1)
    canvas.setFillColor(BAD)
    for start in (0, 180):
        canvas.wedge(-4, -4, 4, 4, start, 90, fill=1, stroke=0)
