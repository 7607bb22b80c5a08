"""Where results are written: whole files under their names, and none left from the run before."""

import json
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from api.problem_responses import refused
from schemas.problems import ProblemCode

_WRITTEN_BEFORE = ".triglyph-files.json"


class OutputFolder:
    """A folder that holds the files of one run.

    Args:
        path: Where; made if need be.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._names: list[str] = []

    def clear(self) -> None:
        """Remove what a run before wrote here, so that no old program lies beside a new report."""
        for name in _names_in(self.path / _WRITTEN_BEFORE):
            self._place(name).unlink(missing_ok=True)
        (self.path / _WRITTEN_BEFORE).unlink(missing_ok=True)

    def write(self, name: str, content: Iterable[bytes]) -> Path:
        """Write a file whole: it appears under its name only when all of it is there.

        Args:
            name: A relative name with ``/`` between folders.
            content: Its bytes, in pieces.

        Raises:
            Refusal: The folder cannot be written to.
        """
        place = self._place(name)
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            self._remember(name)
            handle, unfinished = tempfile.mkstemp(prefix=".unfinished-", dir=place.parent)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.writelines(content)
                Path(unfinished).chmod(0o644)
                Path(unfinished).replace(place)
            finally:
                Path(unfinished).unlink(missing_ok=True)
        except OSError as error:
            raise refused(
                ProblemCode.REQUEST_REFUSED,
                f"'{self.path}' cannot be written to: {(error.strerror or 'unknown').lower()}",
                "Choose another folder with --out.",
            ) from None
        return place

    def _remember(self, name: str) -> None:
        self._names.append(name)
        (self.path / _WRITTEN_BEFORE).write_text(json.dumps(self._names), "utf-8")

    def _place(self, name: str) -> Path:
        """Return where a name lies, which may come from a server: never outside the folder."""
        parts = PurePosixPath(name).parts
        if not parts or any(part in ("..", "/") or part.startswith(".") or "\\" in part for part in parts):
            raise ValueError(f"{name!r} is no name of an output")
        return self.path.joinpath(*parts)


def _names_in(listing: Path) -> list[str]:
    try:
        names = json.loads(listing.read_text("utf-8"))
    except (OSError, ValueError):
        return []
    return [name for name in names if isinstance(name, str)] if isinstance(names, list) else []
