"""The list of what may be named in a request: what the API shows and checks names against."""

from __future__ import annotations

import dataclasses
from typing import Any

from workers.cutting_data import tables
from workers.registry import offers


def capabilities() -> dict[str, list[dict[str, Any]]]:
    """Return bits, materials, machines, fonts, dialects, tracers and patterns: rows with a ``name`` each.

    Plug-ins that were set aside are listed with their reason.
    """
    listed: dict[str, list[dict[str, Any]]] = {
        table: [dataclasses.asdict(row) for row in tables.rows_of(table)]
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
