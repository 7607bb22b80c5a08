"""A request of each process, to copy from; files in it are those that ``POST /artifacts`` answered."""

import hashlib
from typing import Any

from schemas.links import artifact_href


def _file(name: str) -> dict[str, str]:
    """Return a link such as one to an uploaded file of this name; it leads to none."""
    return {"href": artifact_href("sha256:" + hashlib.sha256(name.encode()).hexdigest())}


_BOARD = {
    "width": "400 mm",
    "height": "180 mm",
    "thickness": "3/4 in",
    "material": "basswood",
    "corner_radius": "20 mm",
}
_LETTERING = [
    {"text": "TERN\nQUAY", "font": "source-serif-bold", "cap_height": "36 mm", "x": "290 mm", "y": "108 mm"}
]
_LAYOUT: dict[str, Any] = {
    "board": _BOARD,
    "art": [{"svg": _file("tern.svg"), "place": {"x": "104 mm", "y": "92 mm", "width": "158 mm"}}],
    "lettering": _LETTERING,
    "border": {"inset": "8 mm", "width": "3 mm"},
    "holes": [{"x": "24 mm", "y": "156 mm", "diameter": "5 mm"}],
}
_CUT: dict[str, Any] = {
    "incise": {"bit": "vee-90", "depth_limit": "2.5 mm"},
    "clear": {"bit": "flat-1/8in"},
    "cutout": {"bit": "flat-1/8in", "tabs": {"count": 4, "width": "6 mm", "height": "2 mm"}},
}

EXAMPLES: dict[str, dict[str, Any]] = {
    "intake": {"photos": [_file("tern-1.jpg"), _file("tern-2.jpg")], "sheet": "a4"},
    "tracing": {"image": _file("image.png"), "tolerance": "0.02 mm"},
    "resolvability": {
        "art": _file("art.svg"),
        "width": "158 mm",
        "bit": "vee-90",
        "depth_limit": "2.5 mm",
        "material": "basswood",
        "repair": True,
    },
    "layout": _LAYOUT,
    "toolpaths": {"design": _file("design.json"), **_CUT},
    "machine-code": {"paths": _file("paths.json"), "machine": "bench-600", "dialect": "metric-lines"},
    "verification": {
        "programs": [{**_file("theirs.nc"), "bit": "vee-90", "name": "theirs.nc"}],
        "board": _BOARD,
        "machine": "bench-600",
    },
    "sign": {
        **_LAYOUT,
        "art": [
            {
                "photos": [_file("tern-1.jpg"), _file("tern-2.jpg")],
                "sheet": "a4",
                "place": {"x": "104 mm", "y": "92 mm", "width": "158 mm"},
            }
        ],
        **_CUT,
        "machine": "bench-600",
        "dialect": "metric-lines",
        "repair": True,
    },
    "echo": {"message": "is anybody there", "pause": 1.5},
}
