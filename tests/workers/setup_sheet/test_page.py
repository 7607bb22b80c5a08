"""One page that says everything a person at the machine needs."""

import dataclasses

import cv2
import numpy as np
import pypdfium2
import pytest
from shapely.geometry import box

from tests.support.specimens import cutout, design, mill, region, vee
from workers.cutting_data.tables import MACHINES, MATERIALS
from workers.setup_sheet.blank import blank_of
from workers.setup_sheet.figures import Figures
from workers.setup_sheet.page import ProgramRow, SetupSheet, draw_setup_sheet
from workers.values.cuts import CutoutSide
from workers.values.design import Hole, Opening, OpeningShape
from workers.values.finding import Finding, Severity
from workers.values.keep_out import KeepOut
from workers.values.proof import BitRecord, Deviation, ProgramRecord, Proof

WARNING = Finding(
    code="tabs-narrow",
    severity=Severity.WARNING,
    message="one tab is 5.4 mm wide",
    remedy="Ask for wider tabs",
)


def program(number: int, bit: str, deepest_mm: float) -> ProgramRow:
    """A row of the table of programs."""
    return ProgramRow(
        file=f"{number:02d}-{bit.replace('/', '-')}.ngc",
        cutter=vee(90, 0.1, 12.7, 6.3) if bit == "vee-90" else mill(length_mm=22.2, name=bit),
        spindle_rpm=18000,
        feed_mm_per_min=2430,
        plunge_mm_per_min=810,
        deepest_mm=deepest_mm,
        seconds_s=125,
        sha256="ab12cd34ef56" + "0" * 52,
    )


def sheet(**changes: object) -> SetupSheet:
    """What the page of a small sign says, with some of it changed."""
    programs = (program(1, "vee-90", 2.5), program(2, "flat-1/8in", 19.35))
    record = ProgramRecord(
        name="01-vee-90.ngc",
        sha256="ab12cd34ef56" + "0" * 52,
        bits=(BitRecord(number=None, bit="vee-90", seconds_s=125),),
        seconds_s=125,
        feed_length_mm=1,
        traverse_length_mm=1,
        low_mm=(0, 0, -2.5),
        high_mm=(1, 1, 5),
    )
    measures: dict[str, object] = {
        "title": "TERN QUAY",
        "design": design(
            region(box(20, 20, 100, 70).difference(box(40, 30, 80, 60))),
            240,
            90,
            19.05,
            holes=(Hole(x_mm=120, y_mm=80, diameter_mm=5),),
        ),
        "machine": MACHINES["bench-600"],
        "material": MATERIALS["basswood"],
        "programs": programs,
        "proof": Proof(
            passed=True,
            findings=(WARNING,),
            overcut=Deviation(max_mm=0.0123, p999_mm=0.006, area_mm2=0),
            undercut=Deviation(max_mm=0.0342, p999_mm=0.011, area_mm2=0.4),
            carved_volume_mm3=18234,
            programs=(record,),
            seconds_s=250,
        ),
        "cutout": cutout(),
        "order_digest": "0123456789abcdef" * 4,
    }
    return SetupSheet(**(measures | changes))  # type: ignore[arg-type]


def read(data: bytes) -> tuple[int, str, tuple[float, float]]:
    """How many pages a PDF has, its words, and the first page's size."""
    document = pypdfium2.PdfDocument(data)
    page = document[0]
    text = " ".join(page.get_textpage().get_text_range().split())
    found = len(document), text, page.get_size()
    document.close()
    return found


def text_of(made: SetupSheet) -> str:
    """The words of a page."""
    return read(draw_setup_sheet(made))[1]


def test_it_is_one_page_of_a4() -> None:
    """210 x 297 mm (ISO 216) in points of 1/72 in."""
    pages, _, size = read(draw_setup_sheet(sheet()))
    assert pages == 1
    assert size == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.1)


def test_letter_paper_is_one_page_too() -> None:
    """8.5 x 11 in (ANSI/ASME Y14.1, size A)."""
    pages, text, size = read(draw_setup_sheet(sheet(paper="letter")))
    assert pages == 1
    assert size == pytest.approx((8.5 * 72, 11 * 72), abs=0.1)
    assert "TERN QUAY" in text


def test_figures_are_in_inches_where_the_order_says_so() -> None:
    """1 in = 25.4 mm: 240 x 90 mm, 2430 and 810 mm/min, 19.35 and 2.5 mm; mm only beside the thickness."""
    text = text_of(sheet(figures=Figures(inches=True)))
    for said in ("9.449 x 3.543 in", "0.750 in", "19.05 mm: measure it", "95.7", "plunge 31.9", "-0.762 in"):
        assert said in text
    assert "240 x 90 mm" not in text


def test_the_depths_of_several_tones_are_listed() -> None:
    """The palest first, in the page's unit; of one tone there is nothing to list."""
    limits_mm = (1.0, 2.0, 3.0)

    assert "floors 1, 2 and 3 mm deep, the palest first" in text_of(sheet(tone_limits_mm=limits_mm))
    inches = text_of(sheet(tone_limits_mm=limits_mm, figures=Figures(inches=True)))
    assert "floors 0.039, 0.079 and 0.118 in deep" in inches
    assert "the palest first" not in text_of(sheet(tone_limits_mm=(3.0,)))


def picture(made: SetupSheet, dots_per_mm: float) -> np.ndarray:
    """The page as pixels."""
    document = pypdfium2.PdfDocument(draw_setup_sheet(made))
    pixels = document[0].render(scale=dots_per_mm * 25.4 / 72).to_numpy()[:, :, :3].copy()
    document.close()
    return pixels


def test_the_symbol_holds_the_orders_digest() -> None:
    """Read by a general library's decoder (OpenCV) at 300 dots to the inch."""
    pixels = picture(sheet(), 300 / 25.4)
    corner = np.ascontiguousarray(pixels[: pixels.shape[0] // 8, pixels.shape[1] * 3 // 4 :])
    said, _, _ = cv2.QRCodeDetector().detectAndDecode(corner)
    assert said == "sha256:" + "0123456789abcdef" * 4


def test_tabs_are_drawn_where_they_stand() -> None:
    """Each is a green bar: two more of them, more green."""

    def green(made: SetupSheet) -> int:
        pixels = picture(made, 4)
        red, green, blue = (pixels[180:700, :, channel].astype(int) for channel in (2, 1, 0))
        return int(np.count_nonzero((green > red + 40) & (green > blue + 20)))

    none, two, four = (
        green(sheet(tabs_mm=places[:count]))
        for places in [((60.0, 91.6), (180.0, 91.6), (60.0, -1.6), (180.0, -1.6))]
        for count in (0, 2, 4)
    )
    assert none == 0
    assert two > 20
    assert four == pytest.approx(2 * two, rel=0.3)


def test_each_speed_has_its_reason_once() -> None:
    """2430 mm/min at 18000 rpm with two flutes: 2430 / 36000 = 0.0675 mm a tooth (feed formula)."""
    twice = (program(1, "flat-1/8in", 2.5), program(2, "flat-1/8in", 19.35))
    text = text_of(sheet(programs=twice))
    assert text.count("each tooth takes 0.068 mm") == 1
    assert "as program 1: the same bit, speed and feed" in text


def test_the_same_sign_gives_the_same_bytes() -> None:
    """No clock, no random file id."""
    assert draw_setup_sheet(sheet()) == draw_setup_sheet(sheet())


@pytest.mark.parametrize(
    "said",
    [
        "TERN QUAY",
        "PROVEN",
        "240 x 90 mm",
        "19.05 mm",
        "0.750 in: measure it",
        "lower left, top face",
        "35 mm inside both edges of the blank",
        "Basswood",
        "01-vee-90.ngc",
        "change to flat-1/8in",
        "2430",
        "plunge 810",
        "end mill 3.175 mm, cuts 22.2 mm deep, 2 flutes",
        "19.35",
        "2 min 05 s",
        "4 min 10 s",
        "of running, and 1 change of bit",
        "Z 0",
        "carved 2.5 mm deep",
        "lowest Z -19.35 mm",
        "grain",
        "set its dial by hand; 10000 to 30000 rpm",
        "cut 0.30 mm deep: a spoilboard of 7 mm or more",
        "4, 6 mm wide, 2 mm high",
        "one tab is 5.4 mm wide. Ask for wider tabs.",
        "at most 0.012 mm",
        "at most 0.034 mm",
        "clamps and screws outside this line only",
        "ab12cd34ef56",
        "job 0123 4567 89ab",
        "the machine's manual come first",
        "Never leave a running machine",
        "ANSI/ISEA Z87.1",
        "hearing protection from 85 dBA",
        "embers in the dust",
    ],
)
def test_the_page_says(said: str) -> None:
    """Every figure that matters at the machine."""
    assert said in text_of(sheet())


def test_a_failed_proof_is_said_across_the_top() -> None:
    """Nobody may take it for a good one."""
    failed = dataclasses.replace(sheet().proof, passed=False)
    text = text_of(sheet(proof=failed))
    assert "DO NOT RUN" in text
    assert "PROVEN" not in text


def test_each_bit_of_one_program_has_its_row_and_number() -> None:
    """Which T is which bit, in the order in which they run."""
    bits = ((1, "vee-90", 2.5), (2, "flat-1/8in", 19.35))
    rows = tuple(
        dataclasses.replace(program(number, bit, deepest), file="01-all-bits.ngc", bit_number=number)
        for number, bit, deepest in bits
    )
    text = text_of(sheet(programs=rows))
    assert "01-all-bits.ngc, T1" in text
    assert "01-all-bits.ngc, T2" in text


def test_z_is_set_once_where_the_machine_knows_the_bits_lengths() -> None:
    """Set again as well, it would count the length twice."""
    assert text_of(sheet()).count("Z again after each change of bit") == 2
    text = text_of(sheet(lengths_known=True))
    assert "Z again" not in text
    assert text.count("each bit's length in the machine's table (G43): Z is not set again") == 2


def test_the_materials_cautions_are_printed() -> None:
    """PVC: hydrogen chloride (S-08), never in a laser or a flame."""
    text = text_of(sheet(material=MATERIALS["foamed-pvc"]))
    assert "hydrogen chloride" in text
    assert "laser" in text


def test_errors_come_before_notes() -> None:
    """The gravest first, and what does not fit is counted."""
    notes = tuple(
        Finding(code="n", severity=Severity.NOTE, message=f"note {number}", remedy="") for number in range(8)
    )
    error = Finding(code="e", severity=Severity.ERROR, message="the worst", remedy="Stop")
    text = text_of(sheet(notes=(*notes, error)))
    assert text.index("the worst") < text.index("one tab") < text.index("note 0")
    assert "and 4 more" in text


def test_a_waived_error_is_printed_with_the_orders_reason() -> None:
    """In the place of the remedy, so that whoever stands at the machine knows what was let pass."""
    waived = Finding(
        code="tabs-too-weak",
        severity=Severity.ERROR,
        message="no tab holds the board",
        remedy="add tabs",
        waived="held by a vacuum bed",
    )
    text = text_of(sheet(notes=(waived,)))
    assert "no tab holds the board. WAIVED by the order: held by a vacuum bed." in text
    assert "add tabs" not in text


def test_text_is_printed_as_it_stands() -> None:
    """Markup in a title is text, and Greek is there: the face is embedded."""
    assert "<b>Slip</b> & Καλή" in text_of(sheet(title="<b>Slip</b> & Καλή"))


def test_without_a_cutout_there_is_no_blank_and_no_clamp_line() -> None:
    """The board is clamped as it is, and the bed stays whole."""
    text = text_of(sheet(cutout=None, programs=(program(1, "vee-90", 2.5),)))
    assert "the board itself" in text
    assert "this line only" not in text
    assert "not touched" in text


def test_what_does_not_fit_goes_overleaf_and_nothing_is_left_out() -> None:
    """Thirty programs: each has its row somewhere, and what follows says where it is."""
    many = tuple(program(number, "vee-90", 1.0) for number in range(1, 31))
    document = pypdfium2.PdfDocument(draw_setup_sheet(sheet(programs=many)))
    texts = [document[number].get_textpage().get_text_range() for number in range(len(document))]
    document.close()
    assert 2 <= len(texts) <= 3
    assert all(f"{number:02d}-vee-90.ngc" in "".join(texts) for number in range(1, 31))
    assert "page 1, goes on overleaf" in texts[0]
    assert all("PROVEN" in text and "TERN QUAY" in text for text in texts)
    assert "Never leave a running machine" in texts[-1]


def test_foreign_programs_without_a_design_compare_nothing() -> None:
    """Then the page says so."""
    proof = dataclasses.replace(sheet().proof, overcut=None, undercut=None)
    assert "not compared" in text_of(sheet(proof=proof))


def test_the_blank_leaves_room_for_clamps() -> None:
    """P-11: 5 mm clear of the cut, with its leads: 1.75 x 3.175 + 5 from the board; blanks in steps of 5."""
    blank = blank_of(sheet().design, sheet().cutout)
    assert blank.keep_clear_mm == pytest.approx(10.55625)
    assert blank.margin_mm == 35
    assert (blank.width_mm, blank.height_mm) == (310, 160)


def test_clamps_are_drawn_and_told_where_the_order_put_them() -> None:
    """The zones' places and their height are among the checks."""
    zones = (
        KeepOut(left_mm=-28, bottom_mm=20, right_mm=-9, top_mm=45, height_mm=18),
        KeepOut(left_mm=250, bottom_mm=20, right_mm=275, top_mm=45, height_mm=12),
    )
    text = text_of(sheet(keep_outs=zones))

    assert "none higher than 18 mm over the face" in text
    assert "X -28 to -9, Y 20 to 45; X 250 to 275, Y 20 to 45" in text


def test_a_cut_on_the_line_says_how_small_the_board_becomes() -> None:
    """Half a bit of 3.175 mm all round; tabs that are counted are told by their number."""
    cut = dataclasses.replace(cutout(), side=CutoutSide.ON, tabs_sloped=True, tabs_count=None)
    text = text_of(sheet(cutout=cut))

    assert "the bit takes 1.5875 mm all round: 236.825 x 86.825 mm are left" in text
    assert "4, 6 mm wide, 2 mm high, sloped" in text


@pytest.mark.parametrize(
    ("grain_deg", "said"),
    [(0.0, "along X:"), (270.0, "along Y:"), (30.0, "30 degrees from X, anticlockwise:")],
)
def test_the_grain_is_told_where_floors_are_cleared_along_it(grain_deg: float, said: str) -> None:
    """The blank must lie so; without lines nothing is said of grain."""
    assert f"{said} floors are cleared in lines along it" in text_of(sheet(grain_deg=grain_deg))
    assert "cleared in lines" not in text_of(sheet())


def test_tabs_in_openings_are_drawn_and_counted() -> None:
    """Two bars at the piece inside, none without it; the facts say how many."""
    opening = Opening(
        shape=OpeningShape.RECTANGLE, x_mm=180, y_mm=45, length_mm=60, width_mm=40, corner_radius_mm=4
    )
    opened = dataclasses.replace(sheet().design, openings=(opening,))
    made = sheet(design=opened, opening_tabs_mm=((180.0, 63.4), (180.0, 26.6)))
    assert "2 more in openings; green in the drawing" in text_of(made)
    counts = []
    for one in (made, sheet(design=opened)):
        red, green, blue = (picture(one, 4)[180:700, :, channel].astype(int) for channel in (2, 1, 0))
        counts.append(np.count_nonzero((green > red + 40) & (green > blue + 20)))
    assert counts[0] > 20
    assert counts[1] == 0


def test_each_bit_is_drawn_in_its_collet_with_the_length_that_stands_out() -> None:
    """What the bit's own figure says, in the page's unit: 28.2 mm is 1.110 in."""
    bit = dataclasses.replace(program(1, "flat-1/8in", 2.5).cutter, stick_out_mm=28.2)
    row = dataclasses.replace(program(1, "flat-1/8in", 2.5), cutter=bit)
    assert "28.2" in text_of(sheet(programs=(row,)))
    assert "1.110" in text_of(sheet(programs=(row,), figures=Figures(inches=True)))


def test_the_blank_lies_as_the_pictures_show_its_grain() -> None:
    """An order may say how; floors cleared along it come first; else it is the longer side."""
    assert "along X, as in the picture" in text_of(sheet())
    assert "along Y, as in the picture" in text_of(sheet(picture_grain_deg=90.0))
    assert "along X: floors are cleared" in text_of(sheet(grain_deg=0.0, picture_grain_deg=90.0))
