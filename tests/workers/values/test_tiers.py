"""Tones of a design and their depth limits."""

from dataclasses import replace

import pytest

from tests.support.specimens import design, disc, incise, region
from workers.errors import ParameterOutOfRangeError
from workers.values.region import Region
from workers.values.tiers import tiers_of

DARKER = (region(disc(60, 40, 20)), region(disc(60, 40, 10)))
SIGN = replace(design(region(disc(60, 40, 30))), darker=DARKER)
CUT = incise(90, 3.0)


def test_tones_are_cut_in_equal_steps_unless_told_otherwise() -> None:
    """Three tones down to 3 mm: 1, 2 and 3 mm; the palest first, each with its own ink."""
    tiers = tiers_of(SIGN, CUT)

    assert [tier.depth_limit_mm for tier in tiers] == pytest.approx([1, 2, 3])
    assert [tier.ink for tier in tiers] == [SIGN.ink, *DARKER]


def test_tones_are_cut_to_their_own_limits() -> None:
    """As the order says; the darkest to the depth limit."""
    tiers = tiers_of(SIGN, replace(CUT, paler_limits_mm=(0.5, 2.5)))

    assert [tier.depth_limit_mm for tier in tiers] == [0.5, 2.5, 3.0]


def test_ink_of_one_tone_is_one_tier() -> None:
    """The cut itself."""
    (tier,) = tiers_of(replace(SIGN, darker=()), CUT)

    assert tier.cut == CUT


@pytest.mark.parametrize(
    ("darker", "limits_mm", "said"),
    [
        (DARKER, (1.0,), "1 depth limits of paler tones, and the design has 2"),
        (DARKER[:1], (1.0, 2.0), "2 depth limits of paler tones, and the design has 1"),
        ((), (1.0,), "the design has 0"),
    ],
)
def test_another_number_of_limits_is_refused(
    darker: tuple[Region, ...], limits_mm: tuple[float, ...], said: str
) -> None:
    """The field is named, and how many it takes."""
    with pytest.raises(ParameterOutOfRangeError, match=said) as refused:
        tiers_of(replace(SIGN, darker=darker), replace(CUT, paler_limits_mm=limits_mm))

    assert refused.value.field == "/inputs/incise/paler_limits"
    assert refused.value.remedy
