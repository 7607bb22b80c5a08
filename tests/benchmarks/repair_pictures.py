"""Before and after a repair, for the README: ``python -m tests.benchmarks.repair_pictures``.

It writes deploy/repaired-*.png. The drawings are our own: the demo's tern, 55 mm wide, and the lettering of
tests/support/drawings, 80 mm wide. The bit is a V of 90 degrees with a tip of 0.2 mm, the board basswood; the
pictures are the service's own overlays.
"""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

from PIL import Image
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.specimens import vee
from workers.cutting_data import tables
from workers.geometry.flattening import flatten
from workers.geometry.polygon_repair import region_of
from workers.intake.svg_document import read_svg
from workers.resolvability.limits import limits_of
from workers.resolvability.overlay import draw_overlay
from workers.resolvability.repair import repair
from workers.values.cuts import InciseCut
from workers.values.examination import Examination
from workers.values.region import Region

ROOT = Path(__file__).parents[2]
BIT = vee(90, tip_mm=0.2, diameter_mm=12.7, length_mm=6.25)
CUT = InciseCut(cutter=BIT, depth_limit_mm=2.5)
MARGIN_MM = 3.0
WIDTH_PX = 1400  # of both pictures together
GAP_PX = 40
COLOURS = 96  # enough for flat colours with smooth edges, and a fifth of the bytes


def tern(width_mm: float = 55.0) -> Region:
    """Return the demo's tern at a width."""
    artwork = flatten(read_svg((ROOT / "api/demo/tern.svg").read_bytes(), "/art").outlines)
    return _at_width(artwork.ink.polygons, width_mm)


def lettering(width_mm: float = 80.0) -> Region:
    """Return our own lettering at a width."""
    truth = json.loads((ROOT / "tests/support/drawings/rope_locker.truth.json").read_text())
    ink = MultiPolygon([Polygon(rings[0], rings[1:]) for rings in truth["polygons"]])
    return _at_width(affinity.scale(ink, 1, -1, origin=(0, 0)), width_mm)


def before_and_after(region: Region) -> bytes:
    """Return both overlays of a drawing side by side as a small PNG."""
    material = tables.material("basswood", "/")
    done = repair(region, CUT, material)
    left, bottom, right, top = region.polygons.bounds
    frame_mm = (left - MARGIN_MM, bottom - MARGIN_MM, right + MARGIN_MM, top + MARGIN_MM)

    def overlay(ink: Region, examination: Examination) -> Image.Image:
        drawn = draw_overlay(ink, examination, frame_mm, limits_of(CUT, material).shows_from_mm)
        picture = Image.open(io.BytesIO(drawn))
        width_px = (WIDTH_PX - GAP_PX) // 2
        return picture.resize(
            (width_px, round(picture.height * width_px / picture.width)), Image.Resampling.BOX
        )

    pair = overlay(region, done.examination_before), overlay(done.region, done.examination)
    both = Image.new("RGB", (WIDTH_PX, max(picture.height for picture in pair)), pair[0].getpixel((0, 0)))
    for picture, x_px in zip(pair, (0, WIDTH_PX - pair[1].width), strict=True):
        both.paste(picture, (x_px, 0))
    written = io.BytesIO()
    both.quantize(COLOURS, dither=Image.Dither.NONE).save(written, "PNG", optimize=True)
    return written.getvalue()


def _at_width(ink: MultiPolygon, width_mm: float) -> Region:
    left, _, right, _ = ink.bounds
    scale = width_mm / (right - left)
    return region_of(affinity.scale(ink, scale, scale, origin=(0, 0)))


def main() -> int:
    """Write the pictures and say how large they are."""
    for name, region in (("tern", tern()), ("lettering", lettering())):
        data = before_and_after(region)
        path = ROOT / "deploy" / f"repaired-{name}.png"
        path.write_bytes(data)
        sys.stdout.write(f"{path.relative_to(ROOT)}: {len(data) / 1000:.0f} kB\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
