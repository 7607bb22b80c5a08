"""However much a page must say, nothing runs out of it and no words lie over others."""

import dataclasses
import itertools

import pypdfium2
import pytest
from shapely.geometry import box

from tests.support.specimens import design, region
from tests.workers.setup_sheet.test_page import WARNING, program, sheet
from workers.cutting_data.tables import MACHINES, MATERIALS
from workers.setup_sheet.figures import Figures
from workers.setup_sheet.page import draw_setup_sheet
from workers.setup_sheet.sheet import ProgramRow
from workers.values.finding import Severity
from workers.values.keep_out import KeepOut

LINK = "https://boatyard.example/harbour-office/name-boards/" + "a" * 120
LONG = dataclasses.replace(
    WARNING,
    message="strokes of the second line are narrower than the tip of vee-60 over 123.4 mm, see " + LINK,
    remedy="Take a finer bit, a larger cap height or another font; see " + LINK,
)
WAIVED = dataclasses.replace(
    LONG, severity=Severity.ERROR, waived="the yard agreed in writing that the board is held by vacuum"
)
ZONES = tuple(
    KeepOut(left_mm=-28 + 10 * place, bottom_mm=95, right_mm=-20 + 10 * place, top_mm=108, height_mm=18)
    for place in range(9)
)
INK = region(box(20, 20, 100, 70))
SCRIPTS = "Общественная верфь Καλή 鶴 "  # Cyrillic, Greek, and one that the face lacks
_EDGE_PT, _TOUCHING_PT = 10.0, 1.2  # from the paper's edge; that tight boxes of words may share


def rows(count: int) -> tuple[ProgramRow, ...]:
    """Programs of bits with long names, each another."""
    made = []
    for number in range(1, count + 1):
        row = program(number, "vee-90" if number % 2 else "flat-1/8in", 1.0)
        cutter = dataclasses.replace(
            row.cutter, name=f"my-own-bit-{number}-of-a-very-long-name-with-an-upcut"
        )
        made.append(dataclasses.replace(row, cutter=cutter, file=f"{number:02d}-incise-{cutter.name}.ngc"))
    return tuple(made)


CROWDED: dict[str, dict[str, object]] = {
    "usual": {},
    "five programs": {"programs": rows(5)},
    "twenty programs": {"programs": rows(20)},
    "many warnings": {"notes": (LONG,) * 20},
    "waivers": {"notes": (WAIVED,) * 3, "programs": rows(4)},
    "a link for a title": {"title": LINK},
    "other scripts": {"title": SCRIPTS * 3},
    "a low board": {"programs": rows(4), "design": design(INK, 320, 140, 12)},
    "a square board": {"programs": rows(4), "design": design(INK, 150, 150, 12)},
    "an upright board": {"programs": rows(4), "design": design(INK, 110, 300, 12)},
    "clamps": {"keep_outs": ZONES},
    "a long machine": {
        "machine": dataclasses.replace(
            MACHINES["bench-600"], title="The long bench router of the yard, " * 4
        ),
        "material": MATERIALS["foamed-pvc"],
    },
    "all at once": {
        "programs": rows(20),
        "notes": (WAIVED, *(LONG,) * 20),
        "title": LINK,
        "keep_outs": ZONES,
        "material": MATERIALS["foamed-pvc"],
    },
}


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("inches", [False, True])
@pytest.mark.parametrize("crowd", CROWDED)
def test_nothing_overflows_or_overlaps(crowd: str, inches: bool, paper: str) -> None:
    """Boxes of words as a general PDF library (pdfium) finds them: within the paper and apart."""
    data = draw_setup_sheet(sheet(**CROWDED[crowd], paper=paper, figures=Figures(inches=inches)))

    document = pypdfium2.PdfDocument(data)
    for page in document:
        width, height = page.get_size()
        words = page.get_textpage()
        boxes = [words.get_rect(number) for number in range(words.count_rects())]
        for left, bottom, right, top in boxes:
            assert left > _EDGE_PT
            assert right < width - _EDGE_PT
            assert bottom > _EDGE_PT
            assert top < height - _EDGE_PT
        for one, other in itertools.combinations(boxes, 2):
            across = min(one[2], other[2]) - max(one[0], other[0])
            along = min(one[3], other[3]) - max(one[1], other[1])
            assert min(across, along) < _TOUCHING_PT, (
                words.get_text_bounded(*one),
                words.get_text_bounded(*other),
            )
    document.close()


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_usual_sign_has_one_page(paper: str) -> None:
    """Up to five programs with a few remarks."""
    data = draw_setup_sheet(
        sheet(programs=tuple(program(n, "vee-90", 1.0) for n in range(1, 6)), paper=paper)
    )
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 1
    document.close()
