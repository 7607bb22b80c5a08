"""What lies on something else is told, with a size that clears it where one does."""

from collections.abc import Sequence

import pytest
from shapely.geometry import box

from tests.workers.layout.test_compose import BOARD, WALL_MM, art, text
from workers.errors import ParameterOutOfRangeError
from workers.layout.compose import compose
from workers.values.finding import Finding, Severity
from workers.values.placement import BorderLine, LetteringLine, PlacedArt

BORDER = BorderLine(inset_mm=8, width_mm=3)


def remarks(
    pictures: Sequence[PlacedArt], lines: Sequence[LetteringLine], border: BorderLine | None = None
) -> list[Finding]:
    """What is remarked while a board is composed."""
    found: list[Finding] = []
    compose(BOARD, pictures, lines, border, [], remark=found.append)
    return found


def test_what_stands_apart_is_no_matter() -> None:
    """Nor is what only meets along a line."""
    side_by_side = [art(box(0, 0, 20, 20), x_mm=100, y_mm=90), art(box(0, 0, 20, 20), x_mm=120, y_mm=90)]

    assert remarks(side_by_side, [text()], BORDER) == []


def test_lettering_across_the_border_is_a_warning_whose_remedy_holds() -> None:
    """The size that it names lies inside the border, the thinnest wall that stands between."""
    [found] = remarks([], [text("QUAY QUAY QUAY", 32)], BORDER)

    assert (found.code, found.severity) == ("ink-overlaps", Severity.WARNING)
    assert found.message.startswith("'QUAY QUAY QUAY' lies on the border near x ")
    largest_mm = float(found.remedy.partition(" inside the border is ")[2].partition(" mm")[0])
    design = compose(BOARD, [], [text("QUAY QUAY QUAY", largest_mm)], None, [])
    left, _, right, _ = design.ink.polygons.bounds
    assert min(left, 400 - right) == pytest.approx(11 + WALL_MM, abs=0.5)
    assert min(left, 400 - right) >= 11 + WALL_MM - 0.01


def test_what_is_refused_at_the_edge_is_told_a_size_inside_the_border() -> None:
    """Who follows the remedy shall not be told of the border next."""
    with pytest.raises(ParameterOutOfRangeError, match="too far") as refused:
        compose(BOARD, [], [text("QUAY QUAY QUAY", 60)], BORDER, [])
    assert refused.value.remedy is not None
    largest_mm = float(refused.value.remedy.partition(" that fits is ")[2].partition(" mm")[0])

    assert remarks([], [text("QUAY QUAY QUAY", largest_mm)], BORDER) == []


def test_art_on_art_is_a_note_at_the_place_they_share() -> None:
    """Drawings may well be meant to be one."""
    one, other = art(box(0, 0, 20, 20), x_mm=100, y_mm=90), art(box(0, 0, 20, 20), x_mm=110, y_mm=90)

    [found] = remarks([one, other], [])

    assert found.severity is Severity.NOTE
    assert found.at_mm == pytest.approx((105, 90), abs=1)
