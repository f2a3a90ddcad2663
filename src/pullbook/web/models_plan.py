"""What the routes about planning take, as their OpenAPI description says it."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["LookRequest", "OrderRequest", "PlanRequest"]

_Resolve = Annotated[
    str, Field(max_length=200, description="Difference to tell, as 6 N m over 2500..3500 rpm; empty for the claims.")
]
_Build = Annotated[str, Field(max_length=100, description="A build; both empty for every build from the baseline.")]
_Archive = Annotated[bool, Field(description="Whether earlier sessions in the archive teach the scatter of the bench.")]


class LookRequest(BaseModel):
    """What a look on the way is about."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    resolve: _Resolve = ""
    of: _Build = ""
    from_: Annotated[_Build, Field(alias="from")] = ""
    archive: _Archive = False


class PlanRequest(LookRequest):
    """What is asked of a plan."""

    within: Annotated[str, Field(max_length=40, description="Time there is, as 1 day or 6 h; empty for one day.")] = ""
    odds: Annotated[float, Field(description="Odds of an answer that are wanted, from 50 to 99. [%]")] = 80.0


class OrderRequest(PlanRequest):
    """One order of a plan that was made."""

    offer: Annotated[str, Field(max_length=100, description="Its name, as surest; empty for the first.")] = ""
    revision: Annotated[str, Field(max_length=64, description="Revision of the text that was planned.")]
