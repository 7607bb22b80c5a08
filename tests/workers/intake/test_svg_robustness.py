"""Three hundred damaged drawings: each ends soon, in outlines or in a refusal."""

import random
import re
import time
import tracemalloc

import numpy as np
import pytest

from workers.errors import InputRejectedError
from workers.geometry.flattening import flatten
from workers.intake.svg_document import read_svg

FIELD = "/inputs/art/0/svg"
SEED = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">
<style>.quay > path { fill: #123; stroke: none } [id^="r"] { fill-rule: evenodd } g rect { rx: 2 }</style>
<defs><mask id="m" maskContentUnits="objectBoundingBox"><rect width="1" height="0.6" fill="white"/></mask>
<clipPath id="c"><circle cx="30" cy="30" r="18"/></clipPath>
<marker id="k" orient="auto" markerWidth="4" markerHeight="4" refX="2"
 refY="2"><path d="M0 0L4 2L0 4z"/></marker>
<symbol id="s" viewBox="0 0 10 10"><circle cx="5" cy="5" r="4"/></symbol></defs>
<g class="quay" transform="rotate(10) translate(5,2)"><path d="M10 10h20v20h-20zM14 14q6 -8 12 0t2 9z"/></g>
<g clip-path="url(#c)"><rect x="10" y="20" width="50" height="9" transform="skewX(12)"/></g>
<rect id="r1" x="60" y="10" width="30" height="20" mask="url(#m)" opacity="0.9"/>
<path d="M5 70C20 40 40 90 60 60S90 40 110 70a9 6 20 1 0 3 3" fill="none" stroke="navy" stroke-width="1.5"
 stroke-dasharray="6 2" stroke-linejoin="round" marker-start="url(#k)" marker-end="url(#k)"/>
<use href="#s" x="90" y="40" width="20" height="20"/>
<text x="10" y="76" font-size="8" font-family="Cinzel">
TERN <tspan dx="2" letter-spacing="1">QUAY</tspan></text>
</svg>"""
WORDS = [
    "0",
    "-1",
    "1e9",
    "1e-9",
    "NaN",
    "url(#m)",
    "url(#c)",
    "url(#k)",
    "none",
    "100%",
    "inherit",
    "#s",
    "M",
    "",
]


def damaged(number: int) -> bytes:
    """The seed drawing with a few values, bytes or stretches changed; the number says how."""
    dice = random.Random(number)  # noqa: S311 - repeatable damage, no secret
    text = SEED
    for _ in range(dice.randint(1, 6)):
        kind = dice.randrange(10)
        values = list(re.finditer(r'(?<==")[^"<>]*(?=")|-?\d+(?:\.\d+)?', text))
        if kind <= 6 and values:
            at = dice.choice(values)
            text = text[: at.start()] + dice.choice(WORDS) + text[at.end() :]
        elif kind == 7:
            start = dice.randrange(len(text))
            text = text[:start] + text[start + dice.randint(1, 40) :]
        elif kind == 8:
            lines = text.splitlines()
            lines.insert(dice.randrange(len(lines)), dice.choice(lines))
            text = "\n".join(lines)
        else:
            start, end = sorted(dice.randrange(len(text)) for _ in range(2))
            text = text[:end] + text[start:end] * dice.randint(1, 2) + text[end:]
    return text.encode()


@pytest.mark.parametrize("hundred", [0, 1, 2])
def test_damaged_drawings_end_in_outlines_or_a_refusal(hundred: int) -> None:
    """No crash, nothing not finite, no point beyond the page, and never more than a few seconds each."""
    taken = 0
    refusals: list[InputRejectedError] = []
    for number in range(100 * hundred, 100 * hundred + 100):
        start_s = time.monotonic()
        try:
            document = read_svg(damaged(number), FIELD)
        except InputRejectedError as error:
            refusals.append(error)
        else:
            taken += 1
            polygons = flatten(document.outlines).ink.polygons
            assert polygons.is_valid, number
            assert all(np.isfinite(loop).all() for loop in document.outlines.loops), number
        assert time.monotonic() - start_s < 10, number
    assert all(refusal.remedy for refusal in refusals)
    assert taken > 30  # the damage leaves enough to be read: the test would notice if all were refused


def test_a_damaged_drawing_takes_little_memory() -> None:
    """A file of 2 kB may not ask for more than 100 MB, whatever it says."""
    tracemalloc.start()
    try:
        for number in range(0, 300, 12):
            try:
                read_svg(damaged(number), FIELD)
            except InputRejectedError:
                continue
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 100e6
