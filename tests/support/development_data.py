"""The development data beside the checkout and the tool that scores outlines, where they are at hand.

The tool is loaded from its own file. Its reader of SVG wants the package ``svgelements``, which is no
dependency of ours: where that cannot be imported a placeholder stands in for it and our own reader reads
art.svg; everything that scores works on polygons and is the tool's own either way.
"""

from __future__ import annotations

import importlib.util
import json
import sys
import types
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.geometry.flattening import flatten
from workers.intake.svg_document import read_svg

SHARED = Path(__file__).parents[2].parent / "shared"
DATA = SHARED / "data"
KINDS = ("scan", "s1", "s2", "s3")
_ALIEN = "svgelements"


@dataclass(frozen=True)
class Case:
    """One picture of a drawing: its file, the drawing's truth and, for a photo, its record."""

    name: str
    kind: str  # one of KINDS
    picture: Path
    truth: Path

    @property
    def record(self) -> dict[str, Any]:
        """What the simulation says of a photo; empty for a scan."""
        path = self.picture.with_suffix(".json")
        return json.loads(path.read_text()) if path.exists() else {}

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """Width and height of the sheet as it lies."""
        truth = json.loads(self.truth.read_text())
        return truth["sheet_width_mm"], truth["sheet_height_mm"]


def cases(kind: str) -> list[Case]:
    """Return every drawing's picture of one kind, by name; none where the data is absent."""
    suffix = "png" if kind == "scan" else "jpg"
    found = []
    for truth in sorted((DATA / "cases").glob("*.truth.json")):
        name = truth.name.removesuffix(".truth.json")
        found.append(Case(name, kind, truth.with_name(f"{name}.{kind}.{suffix}"), truth))
    return found


def true_ink(case: Case) -> MultiPolygon:
    """Return the inked area in mm from the sheet's upper left corner, y down."""
    rings = json.loads(case.truth.read_text())["polygons"]
    return MultiPolygon([(ring[0], ring[1:]) for ring in rings])


def read_art(art: bytes, folder: Path) -> MultiPolygon:
    """Return the area in an art.svg, mm from the upper left corner, y down; by the tool if it can read."""
    if importlib.util.find_spec(_ALIEN) is not None:
        path = folder / "art.svg"
        path.write_bytes(art)
        return scoring_tool().read_polygons(path)
    artwork = flatten(read_svg(art, "/art").outlines)
    return shapely.transform(artwork.ink.polygons, lambda xy: _turned_down(xy, artwork.height_mm))


def reader_name() -> str:
    """Return who reads art.svg."""
    own = "our own reader (the tool's wants a package that is not installed)"
    return "the scoring tool's reader" if importlib.util.find_spec(_ALIEN) is not None else own


@cache
def scoring_tool() -> types.ModuleType:
    """Return the module score_outlines."""
    tools = SHARED / "tools"
    if importlib.util.find_spec(_ALIEN) is None:
        sys.modules[_ALIEN] = _Placeholder(_ALIEN)
    sys.path.insert(0, str(tools))
    try:
        spec = importlib.util.spec_from_file_location("score_outlines", tools / "score_outlines.py")
        if spec is None or spec.loader is None:
            raise FileNotFoundError("score_outlines.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(tools))
        if isinstance(sys.modules.get(_ALIEN), _Placeholder):
            del sys.modules[_ALIEN]
    return module


class _Placeholder(types.ModuleType):
    """A module in which every name is an empty class: enough to import what is then not called."""

    def __getattr__(self, name: str) -> object:
        if name.startswith("__"):
            raise AttributeError(name)
        return type(name, (), {})


def _turned_down(xy: NDArray[np.float64], height_mm: float) -> NDArray[np.float64]:
    return np.stack([xy[:, 0], height_mm - xy[:, 1]], axis=1)
