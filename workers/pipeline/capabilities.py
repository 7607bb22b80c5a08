"""The list of what may be named in a request: what the API shows and checks names against."""

from __future__ import annotations

import dataclasses
from typing import Any

from workers.cutting_data import tables
from workers.pipeline import bit_words
from workers.registry import offers

_OF_MACHINES = (
    *("travel_x_mm", "travel_y_mm", "travel_z_mm", "max_feed_mm_per_min"),
    *("min_spindle_rpm", "max_spindle_rpm"),
)
_OF_MATERIALS = ("family", "shows_depth_mm", "thinnest_wall_mm")


def capabilities() -> dict[str, list[dict[str, Any]]]:
    """Return bits, materials, machines, fonts, dialects, tracers and patterns: rows with a ``name`` each.

    Beside the line of figures for people, programs find a bit ``in_full``, as a request may describe it, and
    the figures of machines and materials with their units in their names. Plug-ins that were set aside are
    listed with their reason.
    """
    listed: dict[str, list[dict[str, Any]]] = {
        table: [dataclasses.asdict(row) | _figures(table, row.name) for row in tables.rows_of(table)]
        for table in ("bits", "materials", "machines", "fonts")
    }
    listed["materials"] += [
        {"name": name, "title": value.title, "figures": "", "source": "a plug-in"}
        for name, value in offers.materials().items()
        if name not in tables.MATERIALS
    ]
    for group, name in ((offers.DIALECTS, "dialects"), (offers.TRACERS, "tracers")):
        listed[name] = [
            {"name": plugin.name, "title": plugin.summary} for plugin in offers.found(group).accepted.values()
        ]
    listed["patterns"] = [
        {"name": plugin.name, "title": plugin.summary, "figures": plugin.kind.value}
        for plugin in offers.found(offers.STRATEGIES).accepted.values()
    ]
    listed["set_aside"] = [
        {"name": refused.entry_point, "group": refused.group, "reason": refused.reason}
        for group in (offers.TRACERS, offers.STRATEGIES, offers.DIALECTS, offers.MATERIALS)
        for refused in offers.found(group).refused
    ]
    return listed


def _figures(table: str, name: str) -> dict[str, Any]:
    """Return what programs may want to know of an entry, as numbers."""
    if table == "bits":
        words = bit_words.in_full(tables.BITS[name])
        return {"in_full": words.model_dump(mode="json", exclude_none=True)}
    if table == "machines":
        return {key: getattr(tables.MACHINES[name], key) for key in _OF_MACHINES}
    if table == "materials":
        return {key: getattr(tables.MATERIALS[name], key) for key in _OF_MATERIALS}
    return {}
