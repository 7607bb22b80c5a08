"""The basic shapes of SVG as paths."""

from __future__ import annotations

from collections.abc import Mapping

from workers.intake.svg_lengths import Viewport, is_length, numbers
from workers.intake.svg_path_data import PathBuilder, Subpath, read_path_data

Attributes = Mapping[str, str]

LENGTHS: Mapping[str, tuple[str, ...]] = {
    "rect": ("x", "y", "width", "height", "rx", "ry"),
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "line": ("x1", "y1", "x2", "y2"),
}


def unreadable_lengths(name: str, attributes: Attributes) -> list[str]:
    """Return those attributes of a shape that should be lengths and are none."""
    given = ((key, attributes.get(key, "").strip()) for key in LENGTHS.get(name, ()))
    return [f"{key}={text[:20]}" for key, text in given if text not in ("", "auto") and not is_length(text)]


def shape_path(name: str, attributes: Attributes, viewport: Viewport) -> tuple[list[Subpath], str | None]:
    """Return the path of a shape element, and what is wrong with its data, if anything.

    Args:
        name: Local name: path, rect, circle, ellipse, line, polyline or polygon.
        attributes: Of the element, those that style sheets set included.
        viewport: What percentages refer to.

    Source: SVG 2, chapters 9 and 10.
    """
    if name == "path":
        return read_path_data(_data(attributes.get("d", "")))
    if name in ("polyline", "polygon"):
        return _points(attributes.get("points", ""), is_closed=name == "polygon")
    path = PathBuilder()
    if name == "rect":
        _rectangle(attributes, viewport, path)
    elif name == "line":
        path.move((viewport.across(attributes.get("x1")), viewport.down(attributes.get("y1"))))
        path.line((viewport.across(attributes.get("x2")), viewport.down(attributes.get("y2"))))
    else:
        _ellipse(name, attributes, viewport, path)
    return path.finished(), None


def _data(text: str) -> str:
    """Return path data, taken out of the function that style sheets write round it."""
    if text.startswith("path("):
        return text[5:].rstrip(") ").strip("'\" ")
    return "" if text == "none" else text


def _points(text: str, is_closed: bool) -> tuple[list[Subpath], str | None]:
    """Join points by lines; an odd number at the end is left out and told."""
    values = numbers(text)
    path = PathBuilder()
    for index, point in enumerate(zip(values[::2], values[1::2], strict=False)):
        (path.line if index else path.move)(point)
    if is_closed and len(values) >= 2:
        path.close()
    return path.finished(), "an odd number of coordinates" if len(values) % 2 else None


def _rectangle(attributes: Attributes, viewport: Viewport, path: PathBuilder) -> None:
    """Go round a rectangle, its corners perhaps rounded."""
    x, width = (viewport.across(attributes.get(key)) for key in ("x", "width"))
    y, height = (viewport.down(attributes.get(key)) for key in ("y", "height"))
    if width <= 0 or height <= 0:
        return
    rx, ry = (
        viewport.across(attributes.get("rx"), -1.0),
        viewport.down(attributes.get("ry"), -1.0),
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


def _ellipse(name: str, attributes: Attributes, viewport: Viewport, path: PathBuilder) -> None:
    """Go round a circle or an ellipse, from its right in the direction of growing angles."""
    x, y = viewport.across(attributes.get("cx")), viewport.down(attributes.get("cy"))
    if name == "circle":
        rx = ry = viewport.along(attributes.get("r"))
    else:
        rx = viewport.across(attributes.get("rx"), -1.0)
        ry = viewport.down(attributes.get("ry"), -1.0)
        rx, ry = (rx if rx >= 0 else ry), (ry if ry >= 0 else rx)
    if rx <= 0 or ry <= 0:
        return
    path.move((x + rx, y))
    path.arc(rx, ry, 0, False, True, (x - rx, y))
    path.arc(rx, ry, 0, False, True, (x + rx, y))
    path.close()
