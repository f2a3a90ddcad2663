"""Answers that several routes give: JSON as it was kept, errors in their form, and the questions of an address."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from fastapi import Query, Request
from fastapi.responses import JSONResponse, Response

from pullbook.web.asked import Asked
from pullbook.web.models import ErrorBody
from pullbook.web.notebook import Notebook

__all__ = ["ERRORS", "asked_of", "json_reply", "packed_reply", "shared"]

ERRORS: Final[dict[int | str, dict[str, Any]]] = {
    status: {"model": ErrorBody, "description": says}
    for status, says in (
        (403, "The token is missing, or the request comes from another site."),
        (404, "What is named is not there."),
        (409, "The file holds something else by now; both versions are in the answer."),
        (413, "It is too large."),
        (422, "A value is wrong, or the data cannot answer; nothing was changed."),
        (500, "The work failed or its worker died; it can be asked for again."),
        (503, "The notebook has too much to do."),
        (507, "The disk is full or cannot be written to; nothing was changed."),
    )
}


def shared(request: Request) -> Notebook:
    """What all routes share."""
    found: Notebook = request.app.state.notebook
    return found


def asked_of(
    units: Annotated[Literal["metric", "us"], Query(description="Units of sentences.")] = "metric",
    standard: Annotated[str, Query(max_length=40, description="Standard instead of that of the session.")] = "",
    of: Annotated[str, Query(max_length=100, description="Build that is compared; empty for all.")] = "",
    from_: Annotated[str, Query(alias="from", max_length=100, description="Build it is compared with.")] = "",
    window: Annotated[str, Query(max_length=200, description="Ranges of speed, as 2500..3500,5000..6500.")] = "",
    *, without_bands: Annotated[bool, Query(description="Curves even where no doubt can be stated.")] = False,
) -> Asked:  # fmt: skip
    """Question of an address."""
    return Asked(units=units, standard=standard, of=of, from_=from_, window=window, without_bands=without_bands)


def json_reply(content: object, status: int = 200) -> JSONResponse:
    """Answer that is never kept by a browser."""
    return JSONResponse(content, status_code=status, headers={"Cache-Control": "no-store"})


def packed_reply(packed: bytes, kind: str, request: Request, tag: str, *, for_good: bool = False) -> Response:
    """Kept file as it lies in the cache, packed; a browser that has it is told so."""
    kept = "private, max-age=31536000, immutable" if for_good else "no-cache"
    headers = {"ETag": f'"{tag}"', "Cache-Control": kept, "Vary": "Accept-Encoding"}
    if f'"{tag}"' in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(packed, media_type=kind, headers={**headers, "Content-Encoding": "gzip"})
    import gzip

    return Response(gzip.decompress(packed), media_type=kind, headers=headers)
