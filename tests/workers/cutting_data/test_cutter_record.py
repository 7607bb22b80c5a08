"""Bits as JSON objects."""

import pytest

from tests.support.specimens import drill, keyhole, mill, vee
from workers.cutting_data.cutter_record import cutter_of, cutter_record
from workers.values.cutter import BallNose, Cutter


@pytest.mark.parametrize(
    "cutter",
    [
        vee(60),
        mill(),
        drill(),
        keyhole(),
        BallNose(name="ball", diameter_mm=3, cutting_length_mm=9, flutes_count=2),
    ],
)
def test_every_kind_comes_back(cutter: Cutter) -> None:
    """With all its dimensions; a sharp tip is 0."""
    assert cutter_of(cutter_record(cutter)) == cutter


def test_a_missing_dimension_is_an_error() -> None:
    """Nothing is guessed."""
    record = cutter_record(mill())
    del record["diameter_mm"]

    with pytest.raises(KeyError):
        cutter_of(record)


def test_a_negative_dimension_is_an_error() -> None:
    """No bit is minus three millimetres thick."""
    with pytest.raises(ValueError, match="positive"):
        cutter_of(cutter_record(mill()) | {"diameter_mm": -3})
