"""What this installation offers: tables and plug-ins together."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from workers.contracts.dialect import Dialect
from workers.contracts.strategy import Strategy
from workers.contracts.tracer import Tracer
from workers.cutting_data import tables
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.inch_one_file import INCH_ONE_FILE
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.metric_one_file import METRIC_ONE_FILE
from workers.registry.plugins import Found, Group, find
from workers.toolpaths.clearing_strategies import LINES, OUTWARDS, RINGS
from workers.toolpaths.middles import MIDDLES
from workers.tracing.edge_tracer import EDGE_TRACER
from workers.values.cutting_plan import OperationKind
from workers.values.material import Material

STRATEGY_KINDS = (OperationKind.CLEAR, OperationKind.INCISE)

TRACERS = Group("triglyph.tracers", "trace", (EDGE_TRACER,))
DIALECTS = Group(
    "triglyph.dialects",
    "write",
    (METRIC_LINES, INCH_LINES, METRIC_ARCS, INCH_ARCS, METRIC_ONE_FILE, INCH_ONE_FILE),
)
STRATEGIES = Group(
    "triglyph.strategies",
    "ways",
    (RINGS, LINES, OUTWARDS, MIDDLES),
    lambda plugin: (
        "" if getattr(plugin, "kind", None) in STRATEGY_KINDS else "its kind is not clear or incise"
    ),
)


def _objection_to_rows(source: Any) -> str:
    rows = list(source.materials())
    if not all(isinstance(row, Material) for row in rows):
        return "not all of its rows are materials"
    taken = [row.name for row in rows if row.name in tables.MATERIALS]
    return f"the name '{taken[0]}' is taken" if taken else ""


MATERIALS = Group("triglyph.materials", "materials", (), _objection_to_rows)


@cache
def found(group: Group) -> Found:
    """Return a group's plug-ins, looked for once a process."""
    return find(group)


def dialect(name: str, field: str) -> Dialect:
    """Return the dialect of this name.

    Raises:
        UnknownNameError: There is none.
    """
    chosen: Dialect = tables.named(found(DIALECTS).accepted, name, "dialect", field)
    return chosen


def tracer() -> Tracer:
    """Return the tracer in use: the built-in one."""
    chosen: Tracer = found(TRACERS).accepted[EDGE_TRACER.name]
    return chosen


def strategy(name: str, kind: OperationKind, field: str) -> Strategy:
    """Return the strategy of this name for one kind of operation.

    Raises:
        UnknownNameError: There is none of that kind.
    """
    of_kind = {name: plugin for name, plugin in found(STRATEGIES).accepted.items() if plugin.kind == kind}
    chosen: Strategy = tables.named(of_kind, name, "pattern", field)
    return chosen


@cache
def materials() -> Mapping[str, Material]:
    """Return every material: the table's, then those of plug-ins; of two with one name the first."""
    known = dict(tables.MATERIALS)
    for source in found(MATERIALS).accepted.values():
        for material in source.materials():
            known.setdefault(material.name, material)
    return known


def material(name: str, field: str) -> Material:
    """Return the material of this name.

    Raises:
        UnknownNameError: There is none.
    """
    return tables.named(materials(), name, "material", field)
