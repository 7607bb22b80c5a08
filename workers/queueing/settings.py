"""Settings of the queue, the store and the workers: environment variables named TRIGLYPH_*."""

from __future__ import annotations

import os
from pathlib import Path

from pydantic import Field

from schemas.environment import PREFIX, EnvironmentSettings

DAY_S = 24 * 3600.0


class Settings(EnvironmentSettings):
    """How this installation queues and keeps. ``redis_url`` is variable TRIGLYPH_REDIS_URL, and so on."""

    data: Path = Field(default=Path("triglyph-data"), description="folder of everything that is kept")
    redis_url: str | None = Field(
        default=None, description="a server of your own, instead of the embedded one"
    )
    key_prefix: str = Field(default="triglyph:", description="before every key: one for each deployment")
    workers: int = Field(default=0, ge=0, le=256, description="slots for steps; 0: one for each core")
    step_runner: str = Field(
        default="workers.pipeline.run_step:run_step", description="what runs a step, as module:function"
    )

    lease_s: float = Field(
        default=30.0, gt=0, description="a silent step is given to another worker after this"
    )
    beat_s: float = Field(default=10.0, gt=0, description="a running step says so this often")
    attempts: int = Field(default=3, ge=1, le=10, description="tries of one step before its job fails")
    step_limit_s: float = Field(default=600.0, gt=0, description="longest run of one step")
    child_memory_mb: int = Field(
        default=4096, ge=0, description="address space of a worker child; 0: no limit"
    )
    stop_s: float = Field(default=20.0, ge=0, description="grace for running steps when the service stops")

    resend_s: float = Field(
        default=5.0, gt=0, description="first wait before an unclaimed step is sent again"
    )
    resend_limit_s: float = Field(default=60.0, gt=0, description="longest such wait")
    depth: int = Field(default=16, ge=1, le=512, description="messages of one queue on their way at once")
    keeper_s: float = Field(default=1.0, gt=0, description="the keeper looks round this often")

    keep_interactive_s: float = Field(
        default=7 * DAY_S, gt=0, description="ended interactive jobs stay so long"
    )
    keep_bulk_s: float = Field(default=30 * DAY_S, gt=0, description="ended bulk jobs stay so long")
    keep_upload_s: float = Field(default=7 * DAY_S, gt=0, description="uploaded files stay so long")
    keep_stage_s: float = Field(default=7 * DAY_S, gt=0, description="results of stages are reused so long")
    idempotency_s: float = Field(default=DAY_S, gt=0, description="idempotency keys hold at least so long")
    gone_s: float = Field(default=DAY_S, gt=0, description="erased jobs answer 'gone' so long")
    file_grace_s: float = Field(default=3600.0, gt=0, description="files nobody may see lie so long")

    @property
    def server_url(self) -> str:
        """Address of the server.

        Raises:
            ValueError: None is set: the embedded stack sets it for its processes.
        """
        if self.redis_url is None:
            raise ValueError(f"no server: set {PREFIX}REDIS_URL, or start the embedded stack")
        return self.redis_url

    @property
    def slots(self) -> int:
        """How many steps run at once."""
        return self.workers or os.cpu_count() or 1

    @property
    def artifacts_folder(self) -> Path:
        return self.data / "artifacts"

    @property
    def broker_folder(self) -> Path:
        return self.data / "broker"
