"""What the routes take and give, as their OpenAPI description says it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "AssignRequest",
    "ChangeSet",
    "ColumnWord",
    "EditRequest",
    "ErrorBody",
    "FileRequest",
    "NewSession",
    "ReportRequest",
    "SettleRequest",
    "TextRequest",
]


class _Strict(BaseModel):
    """A body with exactly the fields that are named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ErrorBody(BaseModel):
    """One mistake: what it is, where, with which value, and what to do about it."""

    what: str
    where: str = ""
    value: str = ""
    remedy: str = ""


class NewSession(_Strict):
    """A session to be made."""

    title: Annotated[str, Field(max_length=300)]
    question: Annotated[str, Field(max_length=5_000)] = ""


class EditRequest(_Strict):
    """One change of ``session.toml``."""

    do: Literal["set", "unset", "add", "remove", "move", "rename"]
    at: Annotated[str, Field(max_length=300, description="Key path, entries from 1, as in pull[3].air.pressure.")]
    value: object = None
    was: object = Field(default=None, description="What the page showed; another value in the file is a conflict.")
    knows_was: bool = Field(default=False, description="Whether 'was' is stated; null is then an absent key.")


class ChangeSet(_Strict):
    """Changes that are made together, or not at all."""

    edits: Annotated[list[EditRequest], Field(min_length=1, max_length=500)]
    revision: Annotated[str, Field(max_length=64, description="Revision of the text that places count in.")] = ""


class TextRequest(_Strict):
    """The whole of ``session.toml``."""

    text: Annotated[str, Field(max_length=1_000_000)]
    revision: Annotated[str, Field(max_length=64, description="Revision of the text that was edited.")]


class ColumnWord(_Strict):
    """Column and unit of a channel."""

    column: Annotated[str, Field(max_length=500)]
    unit: Annotated[str, Field(max_length=40)] = ""


class SettleRequest(_Strict):
    """The tester's word on columns of one file."""

    file: Annotated[str, Field(max_length=300)]
    columns: Annotated[dict[str, ColumnWord], Field(max_length=40)] = {}
    received: Annotated[str, Field(max_length=40, description="Standard that its numbers were corrected to.")] = ""
    remember: bool = True


class FileRequest(_Strict):
    """One file of the session."""

    file: Annotated[str, Field(max_length=300)]


class AssignRequest(_Strict):
    """Pulls of a file that belong to a build."""

    file: Annotated[str, Field(max_length=300)]
    build: Annotated[str, Field(max_length=100)]
    which: Annotated[int, Field(ge=0, le=10_000, description="Which pull of the file, from 1; 0 for all.")] = 0


class ReportRequest(_Strict):
    """What is to be drawn up; the question stands in the address."""

    quick: Annotated[bool, Field(description="Only light stills of 1920 by 1080 pixels.")] = True
