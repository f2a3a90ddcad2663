"""What the routes about the virtual engine take, as their OpenAPI description says it."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["EngineTextRequest", "NewEngine", "RunRequest", "WavesRequest"]

_EngineId = Annotated[str, Field(max_length=200, description="Id of an engine file of the session.")]


class _Strict(BaseModel):
    """A body with exactly the fields that are named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class NewEngine(_Strict):
    """An engine file to be made."""

    like: Annotated[
        str, Field(max_length=200, description="An example, as inline-four, or the id of an engine file to begin from.")
    ]
    build: Annotated[str, Field(max_length=100, description="Build that it is about; empty for engine.toml.")] = ""


class EngineTextRequest(_Strict):
    """The whole of an engine file."""

    text: Annotated[str, Field(max_length=200_000)]
    revision: Annotated[str, Field(max_length=64, description="Revision of the text that was edited.")]


class RunRequest(_Strict):
    """Curves that are wanted."""

    engines: Annotated[list[_EngineId], Field(min_length=1, max_length=6, description="The first is compared with.")]
    rpm: Annotated[str, Field(max_length=2_000, description="Engine speeds, as 2000:6500:250 or 2000,3500.")]
    fine: Annotated[bool, Field(description="Cells of 10 mm instead of 20 mm.")] = False


class WavesRequest(_Strict):
    """Waves that are wanted."""

    at_rpm: Annotated[float, Field(ge=300, le=20_000, description="Engine speed. [rpm]")]
