"""Random but sensible sign orders over all that may be asked, each repeatable by its number.

What is *sensible* is what a person might send who knows the trade but not the service: places are on the
board or beside it, bits are of the right kind, limits are below the board's thickness. Whether all of it goes
together is for the service to say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random
from typing import Any

Fields = dict[str, Any]

_MATERIALS = (
    *("basswood", "eastern-white-pine", "western-redcedar", "cherry", "walnut", "hard-maple", "white-oak"),
    *("birch-plywood", "mdf", "foamed-pvc", "hdu"),
)
_MACHINES = ("bench-600", "bench-600", "bench-400", "shop-1200")
_VEES = (*("vee-30", "vee-45", "vee-60", "vee-60-1/4in", "vee-90", "vee-90-1/4in", "vee-90-1in", "vee-120"),)
_MILLS_REACH_MM = {
    "flat-6mm": 25.0,
    "flat-1/4in": 25.4,
    "flat-1/8in": 22.2,
    "flat-1/8in-single": 12.7,
    "flat-3mm": 20.0,
    "flat-2mm": 8.0,
    "flat-1/16in": 6.35,
}
_DRILLS = ("drill-3mm", "drill-4mm", "drill-5mm", "drill-6mm")
_FONTS = (
    *("source-serif-bold", "source-serif-regular", "source-sans-bold", "josefin-sans-semibold"),
    *("cinzel-bold", "zilla-slab-bold", "saira-stencil"),
)
_TEXTS = ("BERTH 7", "QUAY", "Tern", "LOFT", "Oars\n& sails", "NO 4", "R", "slip")
_DIALECTS = ("metric-lines", "inch-lines", "metric-arcs", "inch-arcs", "metric-one-file", "inch-one-file")


@dataclass(frozen=True)
class RandomOrder:
    """A sign order and the drawings that it links to, by their href."""

    number: int
    fields: Fields
    drawings: dict[str, bytes]


def random_order(number: int) -> RandomOrder:
    """Return the order with this number."""
    chance = Random(number)  # noqa: S311 - a benchmark's sample
    board = _board(chance)
    drawings: dict[str, bytes] = {}
    fields: Fields = {"board": board, "machine": chance.choice(_MACHINES), "dialect": _dialect(chance)}
    fields |= _carved(chance, board, drawings)
    fields |= _cut_through(chance, board, fields)
    fields |= _bits(chance, board, through=bool({"holes", "openings"} & fields.keys()))
    if "drill" in fields and chance.random() < 0.9:
        for hole in fields.get("holes", ()):
            hole["diameter"] = float(fields["drill"]["bit"].removeprefix("drill-").removesuffix("mm"))
    fields |= {"repair": chance.choice((True, True, False, {"walls": "open"}, {"walls": "fuse"}))}
    fields |= {"unresolved": "leave-out"}
    if chance.random() < 0.15:
        fields["raised"] = chance.choice(
            ({"margin": _between(chance, 3, 8)}, {"past_edge": _between(chance, 1, 5)})
        )
    if chance.random() < 0.25:
        fields["keep_out"] = [_clamp(chance, board) for _ in range(chance.randint(1, 3))]
    return RandomOrder(number, fields, drawings)


def _between(chance: Random, least: float, most: float) -> float:
    return round(chance.uniform(least, most), 2)


def _board(chance: Random) -> Fields:
    width, height = _between(chance, 40, 110), _between(chance, 30, 80)
    thickness = chance.choice((3.0, 6.0, 9.0, 12.0, 12.7, 18.0, 19.05))
    board: Fields = {
        "width": width,
        "height": height,
        "thickness": thickness,
        "material": chance.choice(_MATERIALS),
    }
    if chance.random() < 0.2:
        board["height"] = width  # with the next a disc
    half = min(width, board["height"]) / 2
    board["corner_radius"] = chance.choice((0.0, 0.0, _between(chance, 1, half * 0.8), math.floor(half)))
    if chance.random() < 0.15:
        board["corner_radius"] = half
    if chance.random() < 0.2:
        board["measured"] = round(thickness + chance.uniform(-0.4, 0.4), 2)
    return board


def _dialect(chance: Random) -> str | Fields:
    if chance.random() < 0.7:
        return chance.choice(_DIALECTS)
    form: Fields = {"unit": chance.choice(("mm", "in"))}
    for field in ("arcs", "percent", "line_numbers", "one_file"):
        form[field] = chance.random() < 0.5
    form["comments"] = chance.random() < 0.7
    form["spindle"] = chance.choice(("two-lines", "one-line"))
    form["dwell"] = chance.choice((True, False, 2.5))
    if form["one_file"]:
        form |= {"pause": chance.choice((None, "M0", "M1")), "length_offset": chance.random() < 0.3}
    return {key: value for key, value in form.items() if value is not None}


def _carved(chance: Random, board: Fields, drawings: dict[str, bytes]) -> Fields:
    width, height = board["width"], board["height"]
    carved: Fields = {}
    if chance.random() < 0.75:
        drawings["art.svg"] = drawing(chance)
        size = chance.uniform(0.25, 0.75)
        place: Fields = {
            "x": round(width * chance.uniform(0.4, 0.6), 2),
            "y": round(height * chance.uniform(0.45, 0.55), 2),
        }
        if chance.random() < 0.5:
            place["width"] = round(width * size, 2)
        else:
            place["height"] = round(height * size, 2)
        if chance.random() < 0.3:
            place["turn"] = chance.choice((90, 180, 33.3))
        carved["art"] = [{"svg": {"href": "art.svg"}, "place": place}]
    if chance.random() < 0.5:
        carved["lettering"] = [
            {
                "text": chance.choice(_TEXTS),
                "font": chance.choice(_FONTS),
                "cap_height": _between(chance, 4, max(4.5, height / 4)),
                "x": round(width / 2, 2),
                "y": round(height * chance.uniform(0.2, 0.7), 2),
            }
        ]
    if not carved or chance.random() < 0.3:
        carved["border"] = {"inset": _between(chance, 2, 5), "width": _between(chance, 0.8, 4)}
    return carved


def drawing(chance: Random) -> bytes:
    """Return an SVG of 100 x 100 mm with a few shapes: blots, bars, stars, rings, hairlines, wedges."""
    shapes = [chance.choice(_SHAPES)(chance) for _ in range(chance.randint(1, 6))]
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
        + "".join(shapes)
        + "</svg>"
    ).encode()


def _blot(chance: Random) -> str:
    count = chance.randint(5, 12)
    centre, radius = (chance.uniform(25, 75), chance.uniform(25, 75)), chance.uniform(6, 24)
    points = []
    for number in range(count):
        angle = math.tau * number / count
        far = radius * chance.uniform(0.5, 1.2)
        points.append(f"{centre[0] + far * math.cos(angle):.2f},{centre[1] + far * math.sin(angle):.2f}")
    return f'<polygon points="{" ".join(points)}"/>'


def _bar(chance: Random) -> str:
    x, y = chance.uniform(5, 60), chance.uniform(5, 60)
    width, height = chance.uniform(2, 35), chance.uniform(1, 35)
    turn = f'transform="rotate({chance.choice((0, 0, 17, 45))} {x:.2f} {y:.2f})"'
    size = f'width="{width:.2f}" height="{height:.2f}" rx="{chance.choice((0, 0, 1.5)):.1f}"'
    return f'<rect x="{x:.2f}" y="{y:.2f}" {size} {turn}/>'


def _star(chance: Random) -> str:
    points, (x, y) = [], (chance.uniform(25, 75), chance.uniform(25, 75))
    outer = chance.uniform(8, 24)
    for number in range(10):
        far = outer if number % 2 else outer * 0.4
        angle = math.tau * number / 10
        points.append(f"{x + far * math.sin(angle):.2f},{y + far * math.cos(angle):.2f}")
    return f'<polygon points="{" ".join(points)}"/>'


def _ring(chance: Random) -> str:
    x, y, radius = chance.uniform(30, 70), chance.uniform(30, 70), chance.uniform(5, 25)
    stroke = chance.uniform(0.5, 8)
    return (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="none" stroke="black" '
        f'stroke-width="{stroke:.2f}"/>'
    )


def _wave(chance: Random) -> str:
    y, stroke = chance.uniform(15, 85), chance.uniform(0.4, 5)
    rise = chance.uniform(4, 20)
    return (
        f'<path d="M8 {y:.2f} q 21 {-rise:.2f} 42 0 t 42 0" fill="none" stroke="black" '
        f'stroke-width="{stroke:.2f}" stroke-linecap="{chance.choice(("butt", "round"))}"/>'
    )


def _wedge(chance: Random) -> str:
    x, y = chance.uniform(5, 30), chance.uniform(10, 80)
    end = f"{x + 60:.2f},{y + chance.uniform(1, 12):.2f} {x + 60:.2f},{y:.2f}"
    return f'<polygon points="{x:.2f},{y:.2f} {end}"/>'


_SHAPES = (_blot, _bar, _star, _ring, _wave, _wedge)


def _cut_through(chance: Random, board: Fields, carved: Fields) -> Fields:
    width, height = board["width"], board["height"]
    made: Fields = {}
    if chance.random() < 0.4:
        diameter = _between(chance, 3, 7)
        inset = _between(chance, 12, 14) if "border" in carved else _between(chance, 5, 9)
        places = [(inset, height - inset), (width - inset, height - inset)][: chance.randint(1, 2)]
        if board["corner_radius"] > 10:
            places = [(width / 2, height - inset)]
        made["holes"] = [{"x": round(x, 2), "y": round(y, 2), "diameter": diameter} for x, y in places]
    if chance.random() < 0.25:
        made["openings"] = [_opening(chance, width, height)]
    return made


def _opening(chance: Random, width: float, height: float) -> Fields:
    shape = chance.choice(("rectangle", "slot", "keyhole"))
    opening: Fields = {
        "shape": shape,
        "x": round(width * chance.uniform(0.1, 0.9), 2),
        "y": round(height * chance.uniform(0.15, 0.85), 2),
        "turn": chance.choice((0, 0, 90, 30)),
    }
    if shape == "rectangle":
        opening |= {"width": _between(chance, 8, 40), "height": _between(chance, 8, 30)}
        opening["corner_radius"] = _between(chance, 1.6, 3.9)
    elif shape == "slot":
        opening["width"] = _between(chance, 4, 12)
        opening["length"] = round(opening["width"] + chance.uniform(2, 30), 2)
    else:
        opening |= {"head": _between(chance, 8, 12), "neck": _between(chance, 3.5, 5.5)}
        opening["length"] = _between(chance, 11, 20)
    return opening


def _bits(chance: Random, board: Fields, *, through: bool) -> Fields:
    thickness = float(board.get("measured", board["thickness"]))
    limit = min(_between(chance, 0.6, 5), round(0.8 * thickness, 2))
    bits: Fields = {"incise": {"bit": _vee(chance), "depth_limit": limit}}
    if chance.random() < 0.6:
        bits["clear"] = _clear(chance)
    if through or chance.random() < 0.75:
        bits["cutout"] = _cutout(chance, thickness)
    if chance.random() < 0.4:
        bits["drill"] = {"bit": chance.choice(_DRILLS)}
        if chance.random() < 0.3:
            bits["drill"] |= {"peck": _between(chance, 1, 5), "dwell": chance.choice((0, 0.5))}
    return bits


def _vee(chance: Random) -> Any:
    kind = chance.random()
    if kind < 0.2:
        return chance.sample(_VEES, chance.randint(2, 3))
    if kind < 0.35:
        return {
            "kind": "vee",
            "included_angle": chance.choice((20, 40, 60, 75, 90, 100, 140)),
            "tip": chance.choice((0, 0, 0.2, 0.5)),
            "diameter": chance.choice((6.0, 12.0, 20.0)),
        }
    return chance.choice(_VEES)


def _mill(chance: Random, deep_mm: float = 0.0) -> Any:
    if chance.random() < 0.15:
        diameter = chance.choice((1.0, 2.5, 4.0, 5.0))
        return {
            "kind": "flat",
            "diameter": diameter,
            "cutting_length": round(max(diameter * chance.choice((3, 5, 8)), 0.9 * deep_mm), 1),
            "flutes": chance.choice((1, 2, 3)),
        }
    long_enough = [name for name, reach_mm in _MILLS_REACH_MM.items() if reach_mm > deep_mm]
    return chance.choice(long_enough if chance.random() < 0.95 else list(_MILLS_REACH_MM))


def _clear(chance: Random) -> Fields:
    clear: Fields = {"bit": _mill(chance), "pattern": chance.choice(("rings", "rings", "lines", "outwards"))}
    if chance.random() < 0.3:
        clear["bit"] = chance.choice(("flat-6mm", "flat-1/4in", "flat-1/8in"))
        clear["finer"] = chance.choice((["flat-2mm"], ["flat-1/16in"], ["flat-3mm", "flat-1/16in"]))
    if clear["pattern"] == "lines":
        clear["grain"] = chance.choice((0, 90, 25))
    if chance.random() < 0.3:
        clear["direction"] = "conventional"
    if chance.random() < 0.2:
        clear["pass_depth"] = _between(chance, 0.3, 2)
    if chance.random() < 0.25:
        clear["engagement"] = chance.choice((70, 100, 140))
    return clear


def _cutout(chance: Random, thickness: float) -> Fields:
    past = _between(chance, 0, 0.6)
    cutout: Fields = {"bit": _mill(chance, thickness + past), "past": past}
    tabs: Fields = {}
    if chance.random() < 0.5:
        tabs["count"] = chance.choice((0, 2, 3, 4, 6))
    if chance.random() < 0.5:
        tabs |= {"width": _between(chance, 3, 10), "height": _between(chance, 0.8, min(4, 0.8 * thickness))}
    if chance.random() < 0.4:
        tabs["shape"] = "sloped"
    cutout |= {"tabs": tabs} if tabs else {}
    cutout["side"] = chance.choice(("outside", "outside", "outside", "outside", "on", "inside"))
    if chance.random() < 0.3:
        cutout["direction"] = "conventional"
    if chance.random() < 0.2:
        cutout["last_layer"] = _between(chance, 0.2, 1)
    if chance.random() < 0.2:
        cutout["wall_allowance"] = _between(chance, 0.1, 0.6)
    if chance.random() < 0.2:
        cutout["pass_depth"] = _between(chance, 1, 5)
    return cutout


def _clamp(chance: Random, board: Fields) -> Fields:
    width, height = board["width"], board["height"]
    size = _between(chance, 8, 25)
    beside = _between(chance, 0, 20)
    side = chance.choice(("left", "right", "bottom", "top"))
    along = chance.uniform(0, width if side in ("bottom", "top") else height)
    x = {"left": -beside - size, "right": width + beside}.get(side, along)
    y = {"bottom": -beside - size, "top": height + beside}.get(side, along)
    if chance.random() < 0.2:  # a finger that reaches on to the board
        x, y = x + (5 if side == "left" else -5 if side == "right" else 0), y
    return {
        "left": round(x, 2),
        "bottom": round(y, 2),
        "right": round(x + size, 2),
        "top": round(y + size, 2),
        "height": _between(chance, 5, 30),
    }
