"""An open collection of drawings, fetched when asked for and kept outside of the project.

Debian's package ``openclipart-svg`` (1:0.18+dfsg-19, about 25 MB, 8121 files): drawings that many people
dedicated to the public domain (its copyright file: Creative Commons Public Domain Dedication). It is fetched
with ``apt-get download`` and unpacked with ``dpkg-deb``; nothing is installed and nothing is vendored.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path

PACKAGE = "openclipart-svg"
LICENCE = "public domain"
_TREE = Path("usr/share/openclipart/svg")
_TAKEN = (  # things one might carve; not badges, flags, buttons and colour tables
    *("animals", "buildings", "containers", "decorations", "education", "electronics", "food", "office"),
    *("plants", "recreation", "shapes", "tools", "transportation"),
)
_LEFT_OUT = {"CD_Player", "penguin", "vehicles", "weapons"}  # folders with makers' products and mascots
_LARGEST_BYTES = 150_000


def fetched(cache: Path) -> Path:
    """Return the folder with the drawings, fetching the package if it is not there yet.

    Raises:
        subprocess.CalledProcessError: The registry cannot be reached, or there is no apt.
    """
    tree = cache / PACKAGE / _TREE
    if not tree.exists():
        cache.mkdir(parents=True, exist_ok=True)
        if not list(cache.glob(f"{PACKAGE}_*.deb")):
            subprocess.run(["apt-get", "download", PACKAGE], cwd=cache, check=True, capture_output=True)
        archive = next(cache.glob(f"{PACKAGE}_*.deb"))
        subprocess.run(["dpkg-deb", "-x", archive, cache / PACKAGE], check=True)
    return tree


def drawings(tree: Path) -> Iterator[Path]:
    """Yield drawings in an order that goes round the folders, so that any first few are of every kind."""
    folders: dict[Path, list[Path]] = {}
    known = set()
    for path in sorted(path for name in _TAKEN for path in (tree / name).rglob("*.svg")):
        if _LEFT_OUT & set(path.parts) or path.stat().st_size > _LARGEST_BYTES:
            continue
        if (content := path.read_bytes()) in known:
            continue  # some lie in two folders
        known.add(content)
        folders.setdefault(path.parent, []).append(path)
    for row in zip_longest(*folders.values()):
        yield from (path for path in row if path is not None)
