"""Settings by environment variables: ``TRIGLYPH_`` and the field's name in capitals."""

import os
from collections.abc import Mapping
from typing import Self

from schemas.base import WireModel

PREFIX = "TRIGLYPH_"


class EnvironmentSettings(WireModel):
    """Settings with a default each; what is set to nothing counts as not set."""

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] = os.environ) -> Self:
        """Return the settings that the environment gives, defaults elsewhere.

        Raises:
            pydantic.ValidationError: A setting cannot be read.
        """
        given = {
            name: environment[PREFIX + name.upper()]
            for name in cls.model_fields
            if environment.get(PREFIX + name.upper())
        }
        return cls.model_validate(given)

    def environment(self) -> dict[str, str]:
        """Return the variables that give these settings to another process."""
        return {
            PREFIX + name.upper(): str(value)
            for name, value in self.model_dump().items()
            if value is not None
        }
