"""Plug-ins come through one door, and a bad one is set aside."""

from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import EntryPoint
from types import SimpleNamespace
from typing import Any

import pytest

from tests.support.example_plugin import FURROWS, TERSE_LINES
from workers import plugin_api
from workers.cutting_data import tables
from workers.registry import offers
from workers.registry.plugins import PLUGIN_API, Group, find
from workers.values.material import Material


class Plain:
    """A built-in stand-in."""

    plugin_api = PLUGIN_API
    name = "plain-lines"
    summary = "for tests"

    def write(self) -> None:
        """Write nothing."""


class OtherContract(Plain):
    """Written for a contract to come."""

    plugin_api = PLUGIN_API + 1
    name = "other-contract"


class NoMethod:
    """Cannot do what the group asks."""

    plugin_api = PLUGIN_API
    name = "no-method"
    summary = "for tests"


class Shouting(Plain):
    """Has a name that is none."""

    name = "SHOUTING"


class LineEnd(Plain):
    """Has a name with more to it than meets the eye."""

    name = "plain-name\n"


class Wordless(Plain):
    """Says nothing for the listings."""

    name = "wordless"
    summary = None


class Failing(Plain):
    """Cannot even say its name."""

    @property
    def name(self) -> str:
        raise KeyError("no settings file")


PLAIN, OTHER_CONTRACT, NO_METHOD, SHOUTING, TWIN = Plain(), OtherContract(), NoMethod(), Shouting(), Plain()
LINE_END, WORDLESS, FAILING = LineEnd(), Wordless(), Failing()
GROUP = Group("triglyph.dialects", "write", (PLAIN,))


def entry(name: str, value: str) -> EntryPoint:
    """A plug-in as an installed package announces it."""
    return EntryPoint(name, value, GROUP.entry_points)


def test_a_good_plugin_is_taken_beside_the_built_in() -> None:
    """The example of DEVELOPERS.md loads and is found under its own name."""
    found = find(GROUP, [entry("terse", "tests.support.example_plugin:TERSE_LINES")])
    assert list(found.accepted) == ["plain-lines", "terse-lines"]
    assert found.accepted["terse-lines"] is TERSE_LINES
    assert found.refused == ()


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("tests.support.nowhere:X", "does not load"),
        ("OTHER_CONTRACT", "another contract"),
        ("NO_METHOD", "no method 'write'"),
        ("SHOUTING", "lower-case"),
        ("TWIN", "taken"),
        ("LINE_END", "lower-case"),
        ("WORDLESS", "no summary"),
        ("FAILING", "looked at (KeyError)"),
    ],
)
def test_a_bad_plugin_is_set_aside_with_its_reason(
    value: str, reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each rule refuses alone, and the built-in stays."""
    offered = entry("stranger", value if ":" in value else f"here:{value}")
    if ":" not in value:
        monkeypatch.setattr(EntryPoint, "load", lambda self: globals()[value])
    found = find(GROUP, [offered])
    assert list(found.accepted) == ["plain-lines"]
    assert reason in found.refused[0].reason
    assert found.refused[0].entry_point == "stranger"


def test_a_bad_built_in_is_our_own_fault() -> None:
    """What we ship must pass the same rules, loudly."""
    with pytest.raises(TypeError, match="another contract"):
        find(Group("triglyph.dialects", "write", (OTHER_CONTRACT,)), [])


def test_the_plugin_api_promises_just_these_names() -> None:
    """What strangers may import is pinned; adding is allowed, in order."""
    assert " ".join(plugin_api.__all__) == (
        "PLUGIN_API BallNose ConversionError CutPath Cutter CuttingData CuttingPlan CuttingTask "
        "DeviationNotMetError Dialect Drill EndMill Finding "
        "InkCoverage InputRejectedError KeyholeCutter Machine Material MaterialSource NoDrawingFoundError "
        "NotCuttableError OneFileDialect Operation OperationKind Outlines ParameterOutOfRangeError Region "
        "Reporter Severity Strategy Traced Tracer VeeCutter Ways"
    )
    assert plugin_api.PLUGIN_API == PLUGIN_API


def test_the_example_of_a_strategy_is_taken_and_one_of_no_kind_is_set_aside(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A strategy says whether it clears or incises."""
    group = offers.STRATEGIES
    offered = [EntryPoint(name, name, group.entry_points) for name in ("FURROWS", "KINDLESS")]
    given = {
        "FURROWS": FURROWS,
        "KINDLESS": SimpleNamespace(plugin_api=1, name="kindless", summary="", ways=print),
    }
    monkeypatch.setattr(EntryPoint, "load", lambda self: given[self.name])

    found = find(group, offered)

    assert list(found.accepted) == ["rings", "lines", "outwards", "middles", "furrows"]
    assert [(each.entry_point, each.reason) for each in found.refused] == [
        ("KINDLESS", "its kind is not clear or incise")
    ]


def _unwritten() -> list[Material]:
    raise OSError("the table is not there")


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        (_unwritten, "looked at (OSError)"),
        (lambda: [{"name": "balsa"}], "not all of its rows are materials"),
        (lambda: [replace(tables.MATERIALS["basswood"], title="Another")], "the name 'basswood' is taken"),
    ],
)
def test_a_source_of_materials_that_cannot_be_used_is_set_aside(
    rows: Callable[[], list[Any]], reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is asked for its rows once, when it is found: no listing and no order stumbles over it later."""
    group = offers.MATERIALS
    source = SimpleNamespace(plugin_api=1, name="odd-woods", summary="for tests", materials=rows)
    monkeypatch.setattr(EntryPoint, "load", lambda self: source)

    found = find(group, [EntryPoint("odd", "odd", group.entry_points)])

    assert not found.accepted
    assert reason in found.refused[0].reason
