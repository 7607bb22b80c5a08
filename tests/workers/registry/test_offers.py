"""What this installation offers is found by its name."""

from collections.abc import Callable

import pytest

from workers.errors import UnknownNameError
from workers.registry import offers
from workers.values.cutting_plan import OperationKind


@pytest.mark.parametrize(
    ("lookup", "wrong", "right"),
    [(offers.dialect, "Metric-Line", "metric-lines"), (offers.material, "basswod", "basswood")],
)
def test_an_unknown_name_offers_close_ones_and_all_there_are(
    lookup: Callable[[str, str], object], wrong: str, right: str
) -> None:
    """A dialect is refused like a bit, so plug-ins are among what is offered."""
    with pytest.raises(UnknownNameError, match=f"called '{wrong}'") as caught:
        lookup(wrong, "/inputs/here")

    assert caught.value.field == "/inputs/here"
    assert caught.value.remedy is not None
    assert caught.value.remedy.startswith(f"Did you mean {right}")
    assert "of this installation: " in caught.value.remedy


@pytest.mark.parametrize(("lookup", "name"), [(offers.dialect, "inch-lines"), (offers.material, "basswood")])
def test_what_has_the_name_is_given(lookup: Callable[[str, str], object], name: str) -> None:
    """And nothing else."""
    assert getattr(lookup(name, "/inputs/here"), "name", None) == name


def test_a_strategy_is_found_by_name_and_kind() -> None:
    """What clears floors does not incise."""
    assert offers.strategy("lines", OperationKind.CLEAR, "/inputs/clear/pattern").name == "lines"
    with pytest.raises(UnknownNameError, match="no pattern called 'lines'") as caught:
        offers.strategy("lines", OperationKind.INCISE, "/inputs/incise/pattern")
    assert caught.value.remedy is not None
    assert caught.value.remedy.endswith("All patterns of this installation: middles.")
