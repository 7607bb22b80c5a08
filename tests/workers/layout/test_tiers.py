"""Art in several tones on a board: each tone within the one before, and so in the design's files."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
import shapely
from shapely.geometry import MultiPolygon, box

from tests.support.specimens import board, disc, lettering, region
from workers.errors import InputRejectedError, NoDrawingFoundError, ParameterOutOfRangeError
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.values.design import Design
from workers.values.placement import PlacedArt
from workers.values.region import Artwork, Region

BOARD = board(300, 160)


def artwork(*shapes: Any) -> Artwork:
    """Ink on a sheet of 100 x 80 mm."""
    return Artwork(ink=region(*shapes), width_mm=100, height_mm=80)


ART = PlacedArt(
    title="art 1",
    artwork=artwork(box(10, 10, 90, 40), disc(30, 60, 12)),
    darker=(artwork(box(39.98, 9.98, 90.03, 40.02), disc(30, 60, 6)), artwork(box(70, 10.02, 90, 39.97))),
    x_mm=100,
    y_mm=80,
    width_mm=160,
    turn_deg=180,
)
PLAIN = PlacedArt(title="art 2", artwork=artwork(box(0, 0, 20, 20)), x_mm=280, y_mm=140)
LINE = lettering("QUAY", x_mm=200, y_mm=20)


def composed(*art: PlacedArt) -> Design:
    """Art and lettering on the board."""
    return compose(BOARD, art or (ART, PLAIN), [LINE], None, [])


def test_tones_lie_in_each_other_and_share_outlines() -> None:
    """Edges drawn as one and read apart by 0.03 mm are one; the tones' areas are as drawn, four times."""
    design = composed(ART)
    letters = composed(PLAIN).ink.polygons.area - 20 * 20

    inks = [design.ink, *design.darker]
    assert [ink.polygons.area - letters for ink in inks] == pytest.approx(
        [4 * (80 * 30 + 452.4), 4 * (50 * 30 + 113.1), 4 * 20 * 30], rel=1e-3
    )
    for around, tone in pairwise(inks):
        assert tone.polygons.difference(around.polygons).area < 1e-4
        rim = around.polygons.difference(tone.polygons)
        assert not [part for part in shapely.get_parts(rim) if part.buffer(-0.09).is_empty]


def test_what_has_no_tones_is_as_dark_as_can_be() -> None:
    """Lettering and a drawing in ink alone are in every tone."""
    design = composed()
    whole = compose(BOARD, [PLAIN], [LINE], None, []).ink.polygons

    for tone in design.darker:
        assert whole.difference(tone.polygons.buffer(0.01)).is_empty


def test_a_board_without_tones_has_none() -> None:
    """One tone is the ink itself."""
    assert composed(PLAIN).darker == ()


@pytest.mark.parametrize("write", [write_design, draw_design])
def test_tones_survive_the_design_file(write: Any) -> None:
    """JSON and drawing alike: every coordinate, and the same bytes when written again."""
    design = composed()

    found = read_design(write(design), "/inputs/design")

    assert len(found.darker) == 2
    for read, tone in zip(found.darker, design.darker, strict=True):
        assert read.polygons.normalize().equals_exact(tone.polygons.normalize(), 1e-9)
    assert write_design(read_design(write_design(design), "")) == write_design(design)


def test_a_tone_beside_the_ink_is_no_design() -> None:
    """Nobody could cut it: the file is refused."""
    record = json.loads(write_design(composed()))
    record["darker"][0].append({"outer": [[1, 1], [5, 1], [5, 5], [1, 5]], "holes": []})

    with pytest.raises(InputRejectedError, match="tone 2 is empty, or not within"):
        read_design(json.dumps(record).encode(), "/inputs/design")


def test_an_empty_tone_is_no_design() -> None:
    """It has no depth either."""
    record = json.loads(write_design(composed()))
    record["darker"].append([])

    with pytest.raises(InputRejectedError, match="tone 4 is empty"):
        read_design(json.dumps(record).encode(), "/inputs/design")


def test_damaged_tones_are_refused() -> None:
    """As damaged ink is."""
    record = json.loads(write_design(composed())) | {"darker": [7]}

    with pytest.raises(InputRejectedError, match="neither our JSON nor our SVG"):
        read_design(json.dumps(record).encode(), "/inputs/design")


def test_tones_on_another_sheet_are_refused() -> None:
    """They would not lie over each other; the field is that of the tone."""
    other = replace(ART, darker=(replace(ART.darker[0], width_mm=120),))

    with pytest.raises(ParameterOutOfRangeError, match=r"100\.00 x 80\.00 mm, and that of its darker") as it:
        composed(other)

    assert it.value.field == "/inputs/art/0/darker/0"


def test_a_tone_without_ink_is_refused() -> None:
    """By its number."""
    nothing = Artwork(ink=Region(MultiPolygon()), width_mm=100, height_mm=80)

    with pytest.raises(NoDrawingFoundError, match="no ink in art 1, its darker tone 2") as refused:
        composed(replace(ART, darker=(ART.darker[0], nothing)))

    assert refused.value.field == "/inputs/art/0/darker/1"


def test_tones_are_drawn_darker_over_all_ink() -> None:
    """A path each, by id, the palest first."""
    drawn = draw_design(composed()).decode()

    assert drawn.index('id="ink"') < drawn.index('id="tone-2"') < drawn.index('id="tone-3"')
    assert 'id="tone-2"' not in draw_design(composed(PLAIN)).decode()
    assert shapely.is_valid(read_design(drawn.encode(), "").darker[1].polygons)
