"""The ground every topic of the brief stands on: frozen, and no key it does not know."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Topic(BaseModel):
    """A table of the brief. Unknown keys are faults, so that a slip of the pen never goes unseen."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, allow_inf_nan=False)
