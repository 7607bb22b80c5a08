"""What an order says about cutting becomes the values of the planner, or an error that names the bit."""

import pytest

from schemas.bits import KeyholeBit, RoundBit, VeeBit
from schemas.cuts import Clear, Cutout, Incise
from workers.errors import ParameterOutOfRangeError, UnknownNameError
from workers.pipeline.bit_words import cutter, wire_bit
from workers.pipeline.cut_words import clear_cut, cutout_cut, incise_cut, incise_cuts, patterns
from workers.values.cuts import CutoutSide


def test_mills_are_taken_in_order() -> None:
    """The coarse one first; lines along the grain only where they are asked for."""
    rings = clear_cut(Clear.model_validate({"bit": "flat-1/4in", "finer": ["flat-1/8in"], "grain": "30 deg"}))
    lines = clear_cut(
        Clear.model_validate(
            {"bit": "flat-1/4in", "pattern": "lines", "grain": "30 deg", "direction": "conventional"}
        )
    )

    eased = clear_cut(Clear.model_validate({"bit": "flat-1/8in", "engagement": "100 deg"}))

    assert (rings.engagement_deg, eased.engagement_deg) == (None, 100.0)
    assert [mill.name for mill in rings.mills] == ["flat-1/4in", "flat-1/8in"]
    assert (rings.grain_deg, rings.climb) == (None, True)
    assert (lines.grain_deg, lines.climb) == (30.0, False)


@pytest.mark.parametrize(
    ("said", "field", "words"),
    [
        ({"bit": "vee-90"}, "/inputs/clear/bit", "'vee-90' is none"),
        ({"bit": "flat-1/4in", "finer": ["vee-60"]}, "/inputs/clear/finer/0", "'vee-60' is none"),
        (
            {"bit": "flat-1/4in", "finer": ["flat-1/8in", "flat-1/4in"]},
            "/inputs/clear/finer/1",
            "no thinner than 'flat-1/8in'",
        ),
    ],
)
def test_a_bit_that_cannot_clear_is_named_by_its_field(
    said: dict[str, object], field: str, words: str
) -> None:
    """V-bits leave no floor, and a bit no thinner reaches no farther."""
    with pytest.raises(ParameterOutOfRangeError, match=words) as refused:
        clear_cut(Clear.model_validate(said))
    assert refused.value.field == field


def test_limits_of_tones_arrive_with_the_bit() -> None:
    """Left out they stay open: how many tones there are is known with the design."""
    said = {"bit": "vee-90", "depth_limit": "3 mm"}

    assert incise_cut(Incise.model_validate(said)).paler_limits_mm is None
    assert incise_cut(Incise.model_validate(said | {"paler_limits": ["1 mm", 2]})).paler_limits_mm == (
        1.0,
        2.0,
    )


def test_a_bit_too_short_for_a_tone_is_refused() -> None:
    """6 mm wide at 90 degrees it reaches 3 mm: a tone at 3.5 would be as deep as the darkest."""
    short = {"kind": "vee", "included_angle": 90, "tip": 0, "diameter": 6, "cutting_length": 20}
    said = {"bit": ["vee-90", short], "depth_limit": 5, "paler_limits": [1, 3.5]}

    with pytest.raises(ParameterOutOfRangeError, match=r"reaches 3\.00 mm, so a tone at 3\.5 mm") as refused:
        incise_cuts(Incise.model_validate(said))

    assert refused.value.field == "/inputs/incise/paler_limits"


def test_every_word_about_the_cutout_arrives() -> None:
    """None of them is lost on the way."""
    cut = cutout_cut(
        Cutout.model_validate(
            {
                "bit": "flat-1/8in",
                "past": "1/64 in",
                "side": "on",
                "direction": "conventional",
                "pass_depth": 2,
                "last_layer": 0.4,
                "wall_allowance": 0.2,
                "tabs": {"width": 8, "height": 3, "shape": "sloped"},
            }
        )
    )

    assert (cut.past_mm, cut.side, cut.climb) == (0.396875, CutoutSide.ON, False)
    assert (cut.pass_depth_mm, cut.last_layer_mm, cut.wall_allowance_mm) == (2, 0.4, 0.2)
    assert (cut.tabs_count, cut.tab_width_mm, cut.tab_height_mm, cut.tabs_sloped) == (None, 8, 3, True)


def test_the_patterns_named_are_the_strategies_used() -> None:
    """The built-in ones if none is named; an unknown one is refused at its place."""
    incise = Incise.model_validate({"bit": "vee-60", "depth_limit": 3})
    chosen = patterns(incise, Clear.model_validate({"bit": "flat-1/8in", "pattern": "lines"}))

    assert {kind: strategy.name for kind, strategy in chosen.items()} == {
        "incise": "middles",
        "clear": "lines",
    }
    assert list(patterns(incise, None)) == ["incise"]
    with pytest.raises(UnknownNameError, match="no pattern called 'spirals'") as refused:
        patterns(incise, Clear.model_validate({"bit": "flat-1/8in", "pattern": "spirals"}))
    assert refused.value.field == "/inputs/clear/pattern"


@pytest.mark.parametrize(
    ("bit", "shank_mm", "stick_out_mm"),
    [
        (RoundBit(kind="flat", diameter=2, cutting_length=8), 3.175, 20),
        (RoundBit(kind="ball", diameter=6, cutting_length=25), 6, 31),
        (RoundBit(kind="drill", diameter=5, cutting_length=52, shank=5, stick_out=60), 5, 60),
        (VeeBit(kind="vee", included_angle=90, diameter=40), 8, 26),
        (VeeBit(kind="vee", included_angle=90, diameter=40, shank=6.35, stick_out=30), 6.35, 30),
        (KeyholeBit(kind="keyhole", diameter=9.5, head_height=4, neck=5, cutting_length=13), 8, 20),
    ],
)
def test_a_bit_in_full_says_how_it_is_held_or_is_held_as_usual(
    bit: RoundBit | VeeBit | KeyholeBit, shank_mm: float, stick_out_mm: float
) -> None:
    """By the next collet (trade.md E-05, memory), 6 mm above its edges, 20 mm at least (common practice)."""
    found = cutter(bit, "/inputs/bit")

    assert (found.shank_mm, found.stick_out_mm) == (shank_mm, stick_out_mm)
    assert cutter(wire_bit(found), "/inputs/bit") == found
