"""Which name was meant by one that is not known."""

import difflib
import re
from collections.abc import Iterable

_SHORTEST_PART = 3  # letters: 'pine' is part of a name, 'in' is part of too many


def near_names(meant: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Return the known names that were likely meant, the likeliest first.

    >>> near_names("Vee90", ["vee-90", "vee-60"])
    ['vee-90']
    >>> near_names("pine", ["cherry", "eastern-white-pine"])
    ['eastern-white-pine']
    """
    plain = {_plain(name): name for name in known}
    wanted = _plain(meant)
    if wanted in plain:
        return [plain[wanted]]
    close = difflib.get_close_matches(wanted, plain, n=most, cutoff=0.6)
    parts = [name for name in plain if len(wanted) >= _SHORTEST_PART and wanted in name]
    return [plain[name] for name in dict.fromkeys([*close, *parts])][:most]


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", "", name.casefold())
