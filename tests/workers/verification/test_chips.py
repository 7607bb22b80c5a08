"""What each tooth takes, against the tables of the trade.

Source: trade.md 2.1 and 2.2: chip = feed / (speed x flutes); in hardwood light routers begin at 0.001 in and
industrial figures for 1/8 in end at 0.005 in: 914.4 and 4572 mm/min with two teeth at 18,000 rpm.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    board,
    clearing,
    cutout,
    design,
    drill,
    mill,
    region,
    vee,
)
from workers.cutting_data.tables import BITS, MACHINES, MATERIALS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, CutoutCut, DrillCut, InciseCut
from workers.values.cutter import Cutter, Drill, EndMill, VeeCutter
from workers.values.design import Hole
from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.program import Program
from workers.verification.verify import verify

FAST = replace(MACHINE, max_feed_mm_per_min=12000, max_plunge_mm_per_min=12000)
CODES = ("chip-too-thick", "chip-too-thin")
SLOT = "G0 X10 Y20\nG1 Z-2 F300\nG1 X50 F{}\n"
WARNING, ERROR = Severity.WARNING, Severity.ERROR


def told(
    cutter: Cutter,
    lines: str,
    rpm: float = 18000,
    machine: Machine = FAST,
    material: Material | None = BASSWOOD,
) -> list[Finding]:
    """What is said of chips when a program runs."""
    text = f"G21 G90 G94\nG0 Z5\nS{rpm:.0f} M3\n{lines}\nG0 Z5\nM5\nM2\n"
    program = Program(name="x.ngc", cutter=cutter, text=text)
    proof = verify([program], board(60, 40, 25), machine, material=material).proof
    return [finding for finding in proof.findings if finding.code in CODES]


@pytest.mark.parametrize(
    ("feed", "code", "severity"),
    [
        (9600, "chip-too-thick", ERROR),
        (9000, "chip-too-thick", WARNING),
        (5000, "chip-too-thick", WARNING),
        (4500, None, None),
        (950, None, None),
        (800, "chip-too-thin", WARNING),
        (200, "chip-too-thin", WARNING),
        (170, "chip-too-thin", ERROR),
    ],
)
def test_a_slot_in_hardwood(feed: float, code: str | None, severity: Severity | None) -> None:
    """914.4 to 4572 mm/min; errors from 9144 on, and below 182.9."""
    found = told(mill(), SLOT.format(feed))

    assert [(finding.code, finding.severity) for finding in found] == ([(code, severity)] if code else [])


def test_how_far_it_is_off_is_told_and_what_would_do() -> None:
    """5,486 mm/min are 1.2 times 4,572; 457 are half of 914."""
    thick, thin = (told(mill(), SLOT.format(feed))[0] for feed in (5486, 457))

    assert "takes 0.152 mm, 1.2 times the 0.127 mm" in thick.message
    assert "feed at 4572 mm/min or less" in thick.remedy
    assert "takes 0.013 mm, 50% of the 0.025 mm" in thin.message
    assert "feed at 914 mm/min or more" in thin.remedy


@pytest.mark.parametrize("cutter", [mill(), vee(90, 0.1, 12.7, 6.3)], ids=lambda cutter: cutter.name)
def test_slopes_ramps_and_an_even_load_may_be_slow(cutter: Cutter) -> None:
    """Nine tenths of the way at a crawl, and the program's own feed on the rest."""
    crawl = "G0 X10 Y20\nG1 Z-2 F120\nG1 X46 Z-2.5 F150\nG1 X50 F1500\n"
    assert told(cutter, crawl) == []


def test_straight_down_a_mill_may_be_slow_and_not_too_fast() -> None:
    """A plunge alone says nothing of the feed across; one at 9,600 mm/min breaks the bit."""
    assert told(mill(), "G0 X10 Y20\nG1 Z-2 F100\n") == []
    assert [finding.code for finding in told(mill(), "G0 X10 Y20\nG1 Z-2 F9600\n")] == ["chip-too-thick"]


@pytest.mark.parametrize(("feed", "codes"), [(900, []), (200, ["chip-too-thin"]), (9000, ["chip-too-thick"])])
def test_of_a_drill_the_way_down_counts(feed: float, codes: list[str]) -> None:
    """5 mm at 10,000 rpm with two edges: from 508 mm/min on; G0 down the hole does not count."""
    pecks = f"G0 X10 Y20\nG1 Z-5 F{feed}\nG0 Z1\nG0 Z-4.5\nG1 Z-10 F{feed}\n"
    assert [finding.code for finding in told(drill(5), pecks, rpm=10000)] == codes


def test_the_limits_of_the_machine_are_told_where_they_force_it() -> None:
    """2,000 mm/min at 30,000 rpm with 14 teeth is 0.005 mm: this machine can do no better."""
    slow = replace(MACHINE, max_feed_mm_per_min=2000, min_spindle_rpm=30000)
    (found,) = told(replace(mill(), flutes_count=14), SLOT.format(2000), rpm=30000, machine=slow)

    assert found.severity is WARNING
    assert found.message.endswith("feeds no faster and turns no slower")
    assert "fewer flutes" in found.remedy


def test_without_a_material_nothing_is_said() -> None:
    """What a tooth may take depends on it."""
    assert told(mill(), SLOT.format(9600), material=None) == []


@pytest.mark.parametrize("machine", MACHINES.values(), ids=lambda machine: machine.name)
@pytest.mark.parametrize("material", ["basswood", "hard-maple", "foamed-pvc"])
def test_our_own_programs_are_in_the_range(machine: Machine, material: str) -> None:
    """Grooves, floors with an even load, a drilled hole and a cutout, each material at its own feeds.

    One thing the trim routers' limits force: in plastic, where a chip of 0.076 mm is the least, a drill of
    two edges is too slow at 1000 mm/min and 10,000 rpm, and that is told.
    """
    sign = design(
        region(box(12, 10, 40, 22), box(50, 10, 52, 35)),
        70,
        45,
        8,
        0,
        (Hole(x_mm=60, y_mm=38, diameter_mm=5),),
    )
    grooving, clear, free = (BITS[name] for name in ("vee-90", "flat-1/16in", "flat-1/8in"))
    assert isinstance(grooving, VeeCutter)
    assert isinstance(clear, EndMill)
    assert isinstance(free, EndMill)
    assert isinstance(BITS["drill-5mm"], Drill)
    order = InciseCut(cutter=grooving, depth_limit_mm=2.0)
    leave: CutoutCut = replace(cutout(), cutter=free)
    clearing_cut: ClearCut = replace(clearing(clear), engagement_deg=100.0)
    planned = plan(
        sign, order, clearing_cut, leave, DrillCut(cutter=BITS["drill-5mm"]), MATERIALS[material], machine
    )
    programs = write_programs(planned.plan, machine, METRIC_LINES)

    proof = verify(programs, sign.board, machine, sign, order, leave, material=MATERIALS[material]).proof

    assert {program.name[3:9] for program in programs} >= {"clear-", "incise", "drill-", "cutout"}
    chips = [finding for finding in proof.findings if finding.code in CODES]
    drilled = (
        "03-drill-drill-5mm.ngc, line 24: 1000 mm/min at 10000 rpm, each tooth of drill-5mm takes 0.050 mm"
    )
    is_slow = material == "foamed-pvc" and not machine.spindle_commanded
    assert [finding.message.partition(", 66%")[0] for finding in chips] == [drilled] * is_slow
    assert all(finding.message.endswith("turns no slower") for finding in chips)
