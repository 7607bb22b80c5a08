"""Compile every kernel once, at installation: nobody's first sign should wait for a compiler.

``python -m workers.pipeline.warm_up`` makes a small sign from a drawn picture; numba keeps
what it compiled beside the modules.
"""

from __future__ import annotations

import hashlib
import io
import sys
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from schemas.requests import SignOrder
from schemas.steps import Outputs, resolved_inputs, steps_of
from workers.pipeline.run_step import run_step
from workers.simulation.limited_jerk import planned_s
from workers.tracing.polygon_fitting import fit_lines
from workers.values.progress import silent

_ORDER: dict[str, Any] = {
    "board": {"width": 90, "height": 60, "thickness": 12, "material": "basswood", "corner_radius": 5},
    "art": [
        {
            "photos": [{"href": "photo"}] * 2,
            "sheet": "a4",
            "merge": True,
            "touch_up": [
                {"do": "draw", "line": [[60, 60], [80, 70]], "width": 3},
                {"do": "thicken", "by": 0.1},
            ],
            "place": {"x": 30, "y": 34, "width": 40},
        }
    ],
    "lettering": [{"text": "Quay", "cap_height": 9, "x": 68, "y": 24}],
    "holes": [{"x": 80, "y": 50, "diameter": 5}],
    "incise": {"bit": "vee-60", "depth_limit": 1.5},
    "clear": {"bit": "flat-1/16in", "engagement": 100},
    "cutout": {"bit": "flat-1/8in"},
    "preview": {"views": ["oblique"]},
}


def main() -> int:
    """Make the sign, step by step; say what stopped it, if anything did."""
    two = np.ones(2)
    planned_s(two, two, two, two, np.ones(1))  # machines of the table limit no jerk, yours may
    fit_lines([np.array([[0.0, 0.0], [1.0, 0.5], [2.0, 1.5]])], 0.02)  # of SVG that is touched up
    files = {"photo": _photo()}
    done: dict[str, Outputs] = {}
    for step in steps_of("sign", SignOrder.model_validate(_ORDER)):
        outcome = run_step(
            step.process, resolved_inputs(step, done), lambda href: files[href.rpartition("/")[2]], silent
        )
        if outcome.problem is not None:
            sys.stderr.write(f"{step.id}: {outcome.problem.detail}\n")
            return 1
        done[step.id] = {}
        for name, data in outcome.files.items():
            digest = "sha256:" + hashlib.sha256(data).hexdigest()
            files[digest] = data
            done[step.id][name] = digest
    return 0


def _photo() -> bytes:
    """A ruled sheet on a table, a little askew, with a few strokes, one large blot and a yellow one."""
    image = Image.new("RGB", (1600, 1200), (90, 70, 50))
    draw = ImageDraw.Draw(image)
    draw.polygon([(240, 160), (1380, 200), (1360, 1010), (220, 980)], fill=(235, 233, 228))
    for share in np.arange(1, 36) / 36:
        ends = [(240 - 20 * share, 160 + 820 * share), (1380 - 20 * share, 200 + 810 * share)]
        draw.line(ends, fill=(120, 122, 126), width=2)
    draw.ellipse((1210, 420, 1290, 500), fill=(240, 215, 30))
    draw.ellipse((430, 350, 850, 760), outline=(20, 20, 22), width=34)
    draw.ellipse((560, 480, 720, 640), fill=(20, 20, 22))
    draw.line([(900, 760), (1010, 380), (1180, 730)], fill=(20, 20, 22), width=26, joint="curve")
    written = io.BytesIO()
    Image.fromarray(np.asarray(image)).save(written, "JPEG", quality=92)
    return written.getvalue()


if __name__ == "__main__":
    sys.exit(main())
