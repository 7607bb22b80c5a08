"""What is said of a drawing that is cut as it is."""

from dataclasses import replace

from shapely.geometry import MultiPolygon, box

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import region_of
from workers.resolvability.examine import examine
from workers.resolvability.repair_notes import notes_unrepaired
from workers.values.finding import Severity

WOOD = replace(BASSWOOD, shows_depth_mm=0.4, thinnest_wall_mm=0.6)
CUT = incise(90, 3, 0.2)  # a stroke shows from 1 mm on
DRAWING = region_of(MultiPolygon([box(0, 0, 30, 2), box(0, 5, 25, 5.6)]))


def test_faint_strokes_are_told_with_their_length_and_place() -> None:
    """A 25 mm stroke of 0.6 mm, where 1 mm shows (0.2 + 2 x 0.4 by the V's geometry), is a warning."""
    (note,) = notes_unrepaired(examine(DRAWING, CUT, WOOD), CUT, WOOD)
    assert (note.code, note.severity) == ("strokes-thin", Severity.WARNING)
    assert "2" in note.message.split(" mm")[0]
    assert note.at_mm is not None
    assert 5 <= note.at_mm[1] <= 5.6


def test_a_drawing_that_shows_is_not_remarked_on() -> None:
    """Silence where all is well."""
    wide = region_of(box(0, 0, 30, 2))
    assert notes_unrepaired(examine(wide, CUT, WOOD), CUT, WOOD) == ()


def test_a_limit_too_shallow_to_show_is_told_by_itself() -> None:
    """Then it is not the strokes that are at fault."""
    shallow = incise(90, 0.3, 0.2)
    (note,) = notes_unrepaired(examine(DRAWING, shallow, WOOD), shallow, WOOD)
    assert note.code == "depth-limit-hides"
