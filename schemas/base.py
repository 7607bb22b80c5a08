"""The ground all wire models stand on."""

from pydantic import BaseModel, ConfigDict


class WireModel(BaseModel):
    """Strict about names, finite in numbers, frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True)
