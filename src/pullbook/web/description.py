"""The OpenAPI description of the routes, with the token that stands before those that change something."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from fastapi import FastAPI

from pullbook.web.guard import TOKEN_HEADER, TOKEN_PATH
from pullbook.web.origins import SAFE

if TYPE_CHECKING:
    from collections.abc import Callable

    from fastapi.routing import APIRoute

__all__ = ["Routes", "described", "operation_of"]

_SCHEME: Final = "token"
_TOKEN: Final[dict[str, Any]] = {
    "get": {
        "tags": ["token"],
        "summary": "Token of this start",
        "description": "What a request that changes something carries in its header; another one at each start.",
        "operationId": "token-give",
        "responses": {
            "200": {
                "description": "The token.",
                "content": {"application/json": {"schema": {
                    "type": "object", "properties": {"token": {"type": "string"}}, "required": ["token"],
                }}},
            },
            "401": {"description": "Guests only read."},
        },
    }
}  # fmt: skip


def operation_of(route: APIRoute) -> str:
    """Name of what a route does, unique among them.

    Parameters
    ----------
    route : APIRoute
        The route.
    """
    tag = str(route.tags[-1]) if route.tags else "page"
    return f"{tag}-{route.name}".replace("_", "-")


def described(app: FastAPI, plain: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Description of all routes.

    Parameters
    ----------
    app : FastAPI
        The application, which keeps the description.
    plain : callable
        Gives what the routes say of themselves.
    """
    if app.openapi_schema and _SCHEME in app.openapi_schema["components"].get("securitySchemes", {}):
        return app.openapi_schema
    found = plain()
    found["components"].setdefault("securitySchemes", {})[_SCHEME] = {
        "type": "apiKey", "in": "header", "name": TOKEN_HEADER, "description": f"From {TOKEN_PATH}.",
    }  # fmt: skip
    for ways in found["paths"].values():
        for method, operation in ways.items():
            if method.upper() not in SAFE:
                operation["security"] = [{_SCHEME: []}]
    found["paths"][TOKEN_PATH] = _TOKEN
    app.openapi_schema = found
    return found


class Routes(FastAPI):
    """Routes whose description names the token."""

    def openapi(self) -> dict[str, Any]:
        """Describe all routes."""
        return described(self, super().openapi)
