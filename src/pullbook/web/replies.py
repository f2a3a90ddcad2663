"""Answers that several routes give: JSON as it was kept, and files as they lie in the cache."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from pullbook.web.notebook import Notebook

__all__ = ["json_reply", "packed_reply", "shared"]


def shared(request: Request) -> Notebook:
    """What all routes share."""
    found: Notebook = request.app.state.notebook
    return found


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
