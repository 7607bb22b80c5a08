"""What a client would like (RFC 7240, Prefer): read leniently, unknown wishes ignored."""

import re
from collections.abc import Iterable

_WISH = re.compile(
    r'^\s*(?P<name>[!#$%&\'*+.^_`|~\w-]+)\s*(?:=\s*(?:"(?P<quoted>[^"]*)"|(?P<plain>[^;,\s]*)))?'
)


def preferences(lines: Iterable[str]) -> dict[str, str]:
    """Return the wishes of all ``Prefer`` lines; the first of a repeated one counts.

    >>> preferences(["respond-async, wait=10", "wait=20"])
    {'respond-async': '', 'wait': '10'}
    """
    wishes: dict[str, str] = {}
    for line in lines:
        for part in line.split(","):
            if wish := _WISH.match(part):
                wishes.setdefault(wish["name"].lower(), wish["quoted"] or wish["plain"] or "")
    return wishes


def wait_s(wishes: dict[str, str], longest_s: float) -> float:
    """Return how long the client would wait for the end of a job, capped; 0 if it did not say.

    >>> wait_s({"wait": "600"}, longest_s=30.0)
    30.0
    """
    given = wishes.get("wait", "")
    return min(float(given), longest_s) if given.isascii() and given.isdigit() and len(given) < 10 else 0.0
