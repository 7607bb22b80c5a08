"""Before and after a repair, place by place."""

import io

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.before_after import MOST_PLACES, counted, draw_before_after, places_of
from workers.resolvability.moves import Move
from workers.resolvability.overlay_style import INK, REPAIRED
from workers.resolvability.repair import Repaired, as_drawn, repair

CUT = incise(90, 3, 0.2)
FRAME = (0.0, 0.0, 90.0, 40.0)


def repaired(thin_mm: float = 0.5) -> Repaired:
    """A thin stroke and a broad one far from it."""
    return repair(region(box(10, 20, 30, 20 + thin_mm), box(60, 5, 80, 15)), CUT, BASSWOOD)


def pixels(done: Repaired) -> np.ndarray:
    """The picture's colours."""
    return np.asarray(Image.open(io.BytesIO(draw_before_after(done, FRAME))))


def test_what_was_added_is_coloured_on_the_right_alone() -> None:
    """The left half has ink as it was drawn, the right half more of it."""
    seen = pixels(repaired())[92:480]  # the first place, its words left out
    added = (seen == REPAIRED).all(axis=2)
    assert not added[:, :700].any()
    assert np.count_nonzero(added[:, 700:]) > 1000


def test_the_added_band_is_as_wide_as_the_stroke_grew() -> None:
    """Down a column through the stroke: (new - old width) in the picture's scale, 660 px for 9 mm."""
    done = repaired()
    grown_mm = done.examination.strokes[0].width_mm - 0.5
    added = (pixels(done)[92:480] == REPAIRED).all(axis=2)[:, 712 : 712 + 660]
    fullest = int(np.median(added.sum(axis=0)[added.any(axis=0)]))
    assert fullest == pytest.approx(grown_mm * 660 / 9.0, abs=8)


def test_nothing_moved_is_said_in_a_small_picture() -> None:
    """A drawing that shows as it is."""
    done = as_drawn(region(box(10, 10, 40, 20)), CUT, BASSWOOD)
    seen = pixels(done)
    assert seen.shape[0] < 100
    assert not (seen == INK).all(axis=2).any()
    assert (seen.min(axis=2) < 100).any()


def test_places_are_the_farthest_and_lie_apart() -> None:
    """Of moves beside one another only the farthest is shown; at most three in all."""
    moves = tuple(
        Move(at_mm=(x_mm, 10.0), moved_mm=moved_mm, area_mm2=1, added=True)
        for x_mm, moved_mm in ((50, 0.5), (52, 0.4), (10, 0.3), (70, 0.2), (30, 0.1))
    )
    chosen = places_of(moves, 9.0)
    assert [move.at_mm[0] for move in chosen] == [50, 10, 70]
    assert len(chosen) == MOST_PLACES


@pytest.mark.parametrize(
    ("lefts_mm", "words"),
    [
        ((50,), "1 place"),
        ((50, 10), "2 places"),
        ((50, 52), "2 places, seen in 1 view"),
        ((50, 10, 52), "3 places, seen in 2 views"),
        ((50, 10, 70, 30), "4 places, the 3 that moved farthest drawn"),
    ],
)
def test_the_title_counts_what_moved_and_what_is_seen_of_it(lefts_mm: tuple[float, ...], words: str) -> None:
    """Two places in one window are one view; of more than three views only the farthest are drawn."""
    moves = tuple(
        Move(at_mm=(x_mm, 10.0), moved_mm=0.5 - number / 10, area_mm2=1, added=True)
        for number, x_mm in enumerate(lefts_mm)
    )
    assert counted(moves, places_of(moves, 9.0), 9.0) == words


def test_the_same_repair_gives_the_same_bytes() -> None:
    """As every file of a bundle."""
    assert draw_before_after(repaired(), FRAME) == draw_before_after(repaired(), FRAME)
