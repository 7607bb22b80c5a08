"""How a sign is cut: from the words on the wire to values."""

from __future__ import annotations

import math

from schemas import cuts, requests
from workers.contracts.strategy import Strategy
from workers.errors import ParameterOutOfRangeError
from workers.geometry.vee import reach_mm
from workers.pipeline import bit_words
from workers.registry import offers
from workers.resolvability.wishes import RepairWishes, Walls
from workers.values.cuts import USUAL_ENGAGEMENT_DEG, ClearCut, CutoutCut, CutoutSide, DrillCut, InciseCut
from workers.values.cutter import EndMill, VeeCutter
from workers.values.cutting_plan import OperationKind
from workers.values.keep_out import KeepOut


def incise_cuts(incise: cuts.Incise, field: str = "/inputs/incise") -> list[InciseCut]:
    """Return how grooves are cut with each bit on offer, the limit lowered to what the bit can reach.

    Raises:
        ParameterOutOfRangeError: One of them is no V-bit, or too short to cut tones at depths of their own.
    """
    if isinstance(incise.bit, list):
        found = [bit_words.vee_cutter(bit, f"{field}/bit/{place}") for place, bit in enumerate(incise.bit)]
    else:
        found = [bit_words.vee_cutter(incise.bit, f"{field}/bit")]
    return [
        InciseCut(
            cutter=cutter,
            depth_limit_mm=min(incise.depth_limit, reach_mm(cutter)),
            paler_limits_mm=_reached(incise.paler_limits, cutter, field),
        )
        for cutter in found
    ]


def _reached(paler_limits: list[float] | None, cutter: VeeCutter, field: str) -> tuple[float, ...] | None:
    """Return the depth limits of paler tones, which a bit must reach and have depth to spare.

    Raises:
        ParameterOutOfRangeError: It would cut two tones equally deep.
    """
    if not paler_limits:
        return None
    if paler_limits[-1] >= reach_mm(cutter):
        raise ParameterOutOfRangeError(
            f"'{cutter.name}' reaches {reach_mm(cutter):.2f} mm, so a tone at {paler_limits[-1]:g} mm would "
            "be no shallower than the darkest",
            field=f"{field}/paler_limits",
            remedy="lower the limits of the paler tones, or take a wider or longer bit",
        )
    return tuple(paler_limits)


def incise_cut(incise: cuts.Incise, chosen: str = "", field: str = "/inputs/incise") -> InciseCut:
    """Return how grooves are cut: with the one bit, or of several with the one chosen for the design.

    Raises:
        ParameterOutOfRangeError: Several are on offer, and none of them was chosen.
    """
    offered = incise_cuts(incise, field)
    if len(offered) == 1:
        return offered[0]
    for cut in offered:
        if cut.cutter.name == chosen:
            return cut
    raise ParameterOutOfRangeError(
        f"{len(offered)} bits are on offer, and the design does not say which of them was chosen for it",
        field=f"{field}/bit",
        remedy="name one bit; 'sign', and 'resolvability' with the same bits, choose one",
    )


def clear_cut(clear: cuts.Clear, field: str = "/inputs/clear") -> ClearCut:
    """Return how floors are milled.

    Raises:
        ParameterOutOfRangeError: A bit is no end mill, or no thinner than the one before it.
    """
    mills: list[EndMill] = []
    places = [f"{field}/bit", *(f"{field}/finer/{number}" for number in range(len(clear.finer)))]
    for bit, place in zip([clear.bit, *clear.finer], places, strict=True):
        found = bit_words.cutter(bit, place)
        if not isinstance(found, EndMill):
            raise ParameterOutOfRangeError(
                f"floors are cleared with an end mill, and '{found.name}' is none",
                field=place,
                remedy="choose a flat end mill, or leave 'clear' out",
            )
        if mills and found.diameter_mm >= mills[-1].diameter_mm:
            raise ParameterOutOfRangeError(
                f"'{found.name}' is {found.diameter_mm:.3f} mm, no thinner than '{mills[-1].name}' before it",
                field=place,
                remedy="name the bits from the thickest to the thinnest",
            )
        mills.append(found)
    return ClearCut(
        mills=tuple(mills),
        grain_deg=None if clear.pattern in ("rings", "outwards") else clear.grain,
        climb=clear.direction == "climb",
        pass_depth_mm=clear.pass_depth,
        engagement_deg=clear.engagement or (USUAL_ENGAGEMENT_DEG if clear.pattern == "outwards" else None),
    )


def cutout_cut(cutout: cuts.Cutout, field: str = "/inputs/cutout") -> CutoutCut:
    """Return how the board is cut free.

    Raises:
        ParameterOutOfRangeError: The bit is a V-bit or a drill.
    """
    found = bit_words.cutter(cutout.bit, f"{field}/bit")
    if not isinstance(found, EndMill):
        raise ParameterOutOfRangeError(
            f"'{found.name}' cannot cut a board out: its sides are not straight or do not cut",
            field=f"{field}/bit",
            remedy="choose a flat end mill",
        )
    return CutoutCut(
        cutter=found,
        past_mm=cutout.past,
        tabs_count=cutout.tabs.count,
        tab_width_mm=cutout.tabs.width,
        tab_height_mm=cutout.tabs.height,
        tabs_sloped=cutout.tabs.shape == "sloped",
        side=CutoutSide(cutout.side),
        climb=cutout.direction == "climb",
        pass_depth_mm=cutout.pass_depth,
        last_layer_mm=cutout.last_layer,
        wall_allowance_mm=cutout.wall_allowance,
    )


def drill_cut(drill: cuts.Drilling, field: str = "/inputs/drill") -> DrillCut:
    """Return how holes are drilled."""
    return DrillCut(
        cutter=bit_words.cutter(drill.bit, f"{field}/bit"), peck_mm=drill.peck, dwell_s=drill.dwell
    )


def keep_outs(zones: list[cuts.KeepOut]) -> tuple[KeepOut, ...]:
    """Return where clamps stand."""
    return tuple(
        KeepOut(
            left_mm=zone.left,
            bottom_mm=zone.bottom,
            right_mm=zone.right,
            top_mm=zone.top,
            height_mm=zone.height,
        )
        for zone in zones
    )


def patterns(incise: cuts.Incise, clear: cuts.Clear | None) -> dict[OperationKind, Strategy]:
    """Return the strategies that the order names, by kind of operation.

    Raises:
        UnknownNameError: There is none of that name and kind.
    """
    chosen = {
        OperationKind.INCISE: offers.strategy(incise.pattern, OperationKind.INCISE, "/inputs/incise/pattern")
    }
    if clear:
        chosen[OperationKind.CLEAR] = offers.strategy(
            clear.pattern, OperationKind.CLEAR, "/inputs/clear/pattern"
        )
    return chosen


def repair_wishes(repair: bool | requests.Repair) -> RepairWishes | None:
    """Return how a drawing is repaired; None where it is cut as it is."""
    if isinstance(repair, bool):
        return RepairWishes() if repair else None
    at_most_mm = math.inf if repair.at_most is None else repair.at_most
    return RepairWishes(walls=Walls(repair.walls), at_most_mm=at_most_mm)
