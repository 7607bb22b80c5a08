"""The basic shapes of SVG as paths."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from workers.intake.svg_lengths import Viewport, length_px, numbers
from workers.intake.svg_path_data import PathBuilder, Subpath, read_path_data


def shape_path(name: str, element: Element, viewport: Viewport) -> tuple[list[Subpath], str | None]:
    """Return the path of a shape element, and what is wrong with its data, if anything.

    Args:
        name: Local name: path, rect, circle, ellipse, line, polyline or polygon.
        element: The element.
        viewport: What percentages refer to.

    Source: SVG 2, chapters 9 and 10.
    """
    if name == "path":
        return read_path_data(element.get("d", ""))
    if name in ("polyline", "polygon"):
        return _points(element.get("points", ""), is_closed=name == "polygon")
    path = PathBuilder()
    if name == "rect":
        _rectangle(element, viewport, path)
    elif name == "line":
        path.move(
            (length_px(element.get("x1"), viewport.width), length_px(element.get("y1"), viewport.height))
        )
        path.line(
            (length_px(element.get("x2"), viewport.width), length_px(element.get("y2"), viewport.height))
        )
    else:
        _ellipse(name, element, viewport, path)
    return path.finished(), None


def _points(text: str, is_closed: bool) -> tuple[list[Subpath], str | None]:
    """Join points by lines; an odd number at the end is left out and told."""
    values = numbers(text)
    path = PathBuilder()
    for index, point in enumerate(zip(values[::2], values[1::2], strict=False)):
        (path.line if index else path.move)(point)
    if is_closed and len(values) >= 2:
        path.close()
    return path.finished(), "an odd number of coordinates" if len(values) % 2 else None


def _rectangle(element: Element, viewport: Viewport, path: PathBuilder) -> None:
    """Go round a rectangle, its corners perhaps rounded."""
    x, width = (length_px(element.get(key), viewport.width) for key in ("x", "width"))
    y, height = (length_px(element.get(key), viewport.height) for key in ("y", "height"))
    if width <= 0 or height <= 0:
        return
    rx, ry = (
        length_px(element.get("rx"), viewport.width, -1.0),
        length_px(element.get("ry"), viewport.height, -1.0),
    )
    rx, ry = (rx if rx >= 0 else ry), (ry if ry >= 0 else rx)  # one alone counts for both
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    right, bottom = x + width, y + height
    path.move((x + rx, y))
    path.line((right - rx, y))
    path.arc(rx, ry, 0, False, True, (right, y + ry))
    path.line((right, bottom - ry))
    path.arc(rx, ry, 0, False, True, (right - rx, bottom))
    path.line((x + rx, bottom))
    path.arc(rx, ry, 0, False, True, (x, bottom - ry))
    path.line((x, y + ry))
    path.arc(rx, ry, 0, False, True, (x + rx, y))
    path.close()


def _ellipse(name: str, element: Element, viewport: Viewport, path: PathBuilder) -> None:
    """Go round a circle or an ellipse, from its right in the direction of growing angles."""
    x, y = length_px(element.get("cx"), viewport.width), length_px(element.get("cy"), viewport.height)
    if name == "circle":
        rx = ry = length_px(element.get("r"), viewport.diagonal)
    else:
        rx = length_px(element.get("rx"), viewport.width, -1.0)
        ry = length_px(element.get("ry"), viewport.height, -1.0)
        rx, ry = (rx if rx >= 0 else ry), (ry if ry >= 0 else rx)
    if rx <= 0 or ry <= 0:
        return
    path.move((x + rx, y))
    path.arc(rx, ry, 0, False, True, (x - rx, y))
    path.arc(rx, ry, 0, False, True, (x + rx, y))
    path.close()
