"""The ground all wire models stand on."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9 ./_-]*$"

Name = Annotated[str, Field(min_length=1, max_length=64, pattern=NAME_PATTERN)]


class WireModel(BaseModel):
    """Strict about names, finite in numbers, frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True)
