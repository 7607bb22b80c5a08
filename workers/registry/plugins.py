"""Plug-ins: found once, accepted or refused by the same rules as the built-in ones."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from typing import Any

PLUGIN_API = 1  # the contract of workers.contracts that this installation speaks
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Group:
    """One kind of plug-in: its entry-point group and the method it must offer."""

    entry_points: str
    method: str
    built_in: tuple[object, ...]
    objection: Callable[[Any], str] = lambda _plugin: ""  # what else keeps a plug-in out


@dataclass(frozen=True, slots=True)
class Refused:
    """A plug-in that was set aside, and why."""

    group: str
    entry_point: str
    reason: str


@dataclass(frozen=True, slots=True)
class Found:
    """The plug-ins of one group by name, and those refused."""

    accepted: Mapping[str, Any]
    refused: tuple[Refused, ...]


def find(group: Group, offered: Iterable[EntryPoint] | None = None) -> Found:
    """Return a group's plug-ins: the built-in ones, then those of installed packages by name.

    Args:
        group: Which kind.
        offered: Entry points to look at; those of the installation if not given.
    """
    accepted: dict[str, Any] = {}
    refused: list[Refused] = []
    for plugin in group.built_in:
        reason = _objection(plugin, group, accepted)
        if reason:
            raise TypeError(f"a built-in of {group.entry_points}: {reason}")
        accepted[plugin.name] = plugin  # type: ignore[attr-defined]
    candidates = entry_points(group=group.entry_points) if offered is None else offered
    for entry_point in sorted(candidates, key=lambda entry: (entry.name, entry.value)):
        plugin, reason = _loaded(entry_point, group, accepted)
        if reason:
            _log.warning("plug-in %s of %s is set aside: %s", entry_point.name, group.entry_points, reason)
            refused.append(Refused(group.entry_points, entry_point.name, reason))
        else:
            accepted[plugin.name] = plugin
    return Found(accepted, tuple(refused))


def _loaded(entry_point: EntryPoint, group: Group, accepted: Mapping[str, Any]) -> tuple[Any, str]:
    """Return a plug-in, and what keeps it out; whatever a stranger's code raises does, and is shown."""
    failed = "it does not load"
    try:
        plugin = entry_point.load()
        failed = "it fails when it is looked at"
        return plugin, _objection(plugin, group, accepted)
    except Exception as error:  # noqa: BLE001
        return None, f"{failed} ({type(error).__name__})"


def _objection(plugin: Any, group: Group, accepted: Mapping[str, Any]) -> str:
    name = getattr(plugin, "name", None)
    if getattr(plugin, "plugin_api", None) != PLUGIN_API:
        return f"it speaks another contract than {PLUGIN_API}"
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        return "its name is not lower-case letters, digits and hyphens"
    if not isinstance(getattr(plugin, "summary", None), str):
        return "it has no summary for the listings"
    if not callable(getattr(plugin, group.method, None)):
        return f"it has no method '{group.method}'"
    if name in accepted:
        return f"the name '{name}' is taken"
    return group.objection(plugin)
