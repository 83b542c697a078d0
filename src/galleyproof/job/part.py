"""What every block of a job file is made from."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """Base of every block of a job file."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=False)
