"""A design as a drawing: SVG, 1 user unit = 1 mm, read back as well as looked at."""

from __future__ import annotations

import json
from xml.etree.ElementTree import Element as XmlElement
from xml.etree.ElementTree import ParseError
from xml.sax.saxutils import escape

import numpy as np
import shapely
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring
from numpy.typing import NDArray

from workers.errors import UnsafeSvgError
from workers.geometry.filling import filled
from workers.layout.design_record import DAMAGE, LONGEST_MM, design_of, length_mm, record_of, refusal
from workers.values.design import Design
from workers.values.hanger_shape import head_outline, open_outline
from workers.values.opening_outline import opening_outline
from workers.values.region import Region

_SVG = "{http://www.w3.org/2000/svg}"
_BOARD_STYLE = 'fill="#f4e6c8" stroke="#5a4632" stroke-width="0.4"'
_INK_STYLES = [f'fill="{colour}" fill-rule="evenodd"' for colour in ("#b39b74", "#745d42", "#2b2118")]
_HANGER_STYLE = 'fill="none" stroke="#2f7fb5" stroke-width="0.4" stroke-dasharray="1.6 1"'  # hidden: behind
_HOLE_STYLE = 'fill="#ffffff" stroke="#5a4632" stroke-width="0.4"'


def draw_design(design: Design) -> bytes:
    """Return a design as SVG: ``board``, ``ink``, ``hole-1``, ``opening-1``... by id, y down as SVG has it.

    Of several tones ``ink`` is all of them, and ``tone-2``... are those without the palest, darker over it.

    Slots in the back, ``hanger-1``..., are dashed, as they lie behind the face.

    All in straight pieces, holes turning against outer rings, so that either fill
    rule shows the same. The board's figures travel in ``metadata`` as JSON.
    """
    height_mm = design.board.height_mm
    width, height = _plain(design.board.width_mm), _plain(height_mm)
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    record = json.dumps(record_of(design), ensure_ascii=False, separators=(",", ":"))
    styles = _INK_STYLES[-len(design.darker) - 1 :]
    darker = [
        f'<path id="tone-{number}" d="{_area_text(tone, height_mm)}" {style}/>'
        for number, (tone, style) in enumerate(zip(design.darker, styles[1:], strict=True), start=2)
    ]
    holes = [
        f'<circle id="hole-{number}" cx="{_plain(hole.x_mm)}" cy="{_plain(height_mm - hole.y_mm)}" '
        f'r="{_plain(hole.diameter_mm / 2)}" {_HOLE_STYLE}/>'
        for number, hole in enumerate(design.holes, start=1)
    ]
    openings = [
        f'<path id="opening-{number}" '
        f'd="{_ring_text(opening_outline(opening).exterior, height_mm)}" {_HOLE_STYLE}/>'
        for number, opening in enumerate(design.openings, start=1)
    ]
    hangers = [
        f'<path id="hanger-{number}" d="'
        f"{_ring_text(head_outline(hanger).exterior, height_mm)}"
        f'{_ring_text(open_outline(hanger).exterior, height_mm)}" {_HANGER_STYLE}/>'
        for number, hanger in enumerate(design.hangers, start=1)
    ]
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>',
        f"<metadata>{escape(record)}</metadata>",
        f'<path id="board" d="{_ring_text(design.outline.exterior, height_mm)}" {_BOARD_STYLE}/>',
        f'<path id="ink" d="{_area_text(design.ink, height_mm)}" {styles[0]}/>',
        *darker,
        *holes,
        *openings,
        *hangers,
        "</svg>",
        "",
    ]
    return "\n".join(lines).encode()


def read_drawing(data: bytes, field: str) -> Design:
    """Return the design of a drawing of ours; ink from the path, the rest from the metadata.

    Raises:
        InputRejectedError: It is another SVG.
        UnsafeSvgError: It has entities or a document type.
    """
    try:
        root = fromstring(data, forbid_dtd=True)
    except DefusedXmlException as error:
        raise UnsafeSvgError(
            "the drawing declares entities or a document type",
            field=field,
            remedy="Send design.svg as the layout step wrote it.",
        ) from error
    except (ParseError, LookupError, ValueError) as error:  # the last two: in an encoding that cannot be read
        raise refusal("it is no well-formed SVG", field) from error
    metadata, ink = root.find(f"{_SVG}metadata"), _by_id(root, "ink")
    if metadata is None or not metadata.text or ink is None:
        raise refusal("the SVG has no board in its metadata, or no path called ink", field)
    tones = (_by_id(root, f"tone-{number}") for number in range(2, len(_INK_STYLES) + 1))
    darker = [tone for tone in tones if tone is not None]
    try:
        record = json.loads(metadata.text)
        height_mm = length_mm(record["board"]["height_mm"])
        areas = [_filled(path, height_mm) for path in (ink, *darker)]
    except DAMAGE as error:
        raise refusal("its ink is not made of straight pieces, or its metadata is damaged", field) from error
    return design_of(record, areas[0], field, areas[1:])


def _by_id(root: XmlElement, name: str) -> XmlElement | None:
    return next((path for path in root.iter(f"{_SVG}path") if path.get("id") == name), None)


def _filled(path: XmlElement, height_mm: float) -> Region:
    return Region(filled(_rings(path.get("d", ""), height_mm), is_even_odd=True))


def _area_text(area: Region, height_mm: float) -> str:
    return " ".join(
        _ring_text(ring, height_mm)
        for polygon in area.polygons.geoms
        for ring in (polygon.exterior, *polygon.interiors)
    )


def _ring_text(ring: shapely.LinearRing, height_mm: float) -> str:
    points = shapely.get_coordinates(ring)[:-1]
    return "M" + "L".join(f"{_plain(x)},{_plain(height_mm - y)}" for x, y in points) + "Z"


def _plain(value: float) -> str:
    """A number on the ink's grid in the fewest digits, never with an exponent.

    >>> _plain(-0.0), _plain(12.5), _plain(1 / 3)
    ('0', '12.5', '0.33333')
    """
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _rings(path: str, height_mm: float) -> list[NDArray[np.float64]]:
    rings: list[NDArray[np.float64]] = []
    for piece in path.replace("\n", " ").split("Z"):
        if not piece.strip():
            continue
        before, *opened = piece.strip().split("M")
        if before.strip() or len(opened) != 1:
            raise ValueError("a subpath that does not start with M")
        numbers = np.array(opened[0].replace("L", ",").split(","), dtype=np.float64).reshape(-1, 2)
        if not (np.abs(numbers) <= LONGEST_MM).all():
            raise ValueError("a coordinate that is no number, or past all size")
        upright: NDArray[np.float64] = np.column_stack((numbers[:, 0], height_mm - numbers[:, 1]))
        rings.append(np.round(upright, 5))
    return rings
