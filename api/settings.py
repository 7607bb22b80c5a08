"""What an operator may set of the front desk."""

from pathlib import Path
from typing import Annotated

from pydantic import Field

from schemas.environment import EnvironmentSettings

MIB = 1024 * 1024


class Settings(EnvironmentSettings):
    """Limits and doors of the front desk."""

    title: Annotated[str, Field(description="name of this service on its landing page")] = "Triglyph"
    max_request_bytes: Annotated[int, Field(gt=0, description="of a JSON body")] = 2 * MIB
    max_upload_bytes: Annotated[int, Field(gt=0, description="of one uploaded file")] = 64 * MIB
    max_wait_s: Annotated[float, Field(ge=0, description="the longest hold of 'Prefer: wait'")] = 30.0
    max_event_streams: Annotated[int, Field(gt=0, description="event streams open at once")] = 200
    keys_file: Annotated[
        Path | None, Field(description="JSON of `triglyph key`; without it only this very machine is let in")
    ] = None
    allow_anyone: Annotated[
        bool, Field(description="without keys, let other machines in too: for a network that is trusted")
    ] = False
    web_origins: Annotated[
        str, Field(description="origins of web pages that may call from a browser, by commas (CORS)")
    ] = ""
    callback_hosts: Annotated[str, Field(description="hosts and origins to be called back, by commas")] = ""
    callback_secret: Annotated[
        str | None,
        Field(pattern=r"^whsec_[A-Za-z0-9+/]{32,88}={0,2}$", description="signs what is called out"),
    ] = None
    public_url: Annotated[str, Field(description="where clients see this service, for links called out")] = ""

    @property
    def callback_host_list(self) -> list[str]:
        return _entries(self.callback_hosts)

    @property
    def web_origin_list(self) -> list[str]:
        return _entries(self.web_origins)


def _entries(text: str) -> list[str]:
    return [entry.strip().lower() for entry in text.split(",") if entry.strip()]
