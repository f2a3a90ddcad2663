"""A visit to the notebook in a real browser: what the page asked for and complained about is a matter of the test."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, ConsoleMessage, Dialog, Page, Request, Response

__all__ = ["Visit"]

_OWN: Final = ("data:", "blob:", "about:")
_LOUD: Final = frozenset({"error", "warning"})


class Visit:
    """A page of the notebook.

    Parameters
    ----------
    context : BrowserContext
        Where the page is opened.
    home : str
        Address of the server; a request to anywhere else is a fault.
    """

    def __init__(self, context: BrowserContext, home: str) -> None:
        self.home = home
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.changes: list[str] = []  # requests that were to change something, and what was answered
        self._forgiven: list[re.Pattern[str]] = []
        self.page: Page = context.new_page()
        self.page.on("request", self._asked)
        self.page.on("response", self._answered)
        self.page.on("console", self._heard)
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.page.on("dialog", self._refuse)

    def go(self, path: str = "/") -> Page:
        """Open an address of the notebook."""
        self.page.goto(self.home + path)
        return self.page

    def forgive(self, *patterns: str) -> None:
        """Complaints that a test provokes, as when it kills the server."""
        self._forgiven += [re.compile(pattern) for pattern in patterns]

    def faults(self) -> list[str]:
        """Everything that must not happen: requests to elsewhere, errors, warnings, refused content."""
        outside = [f"asked for {url}" for url in self.requests if not url.startswith((self.home, *_OWN))]
        loud = [one for one in self.complaints if not any(pattern.search(one) for pattern in self._forgiven)]
        return outside + loud

    def _asked(self, request: Request) -> None:
        self.requests.append(request.url.replace("ws://", "http://", 1))

    def _answered(self, response: Response) -> None:
        if response.request.method != "GET":
            self.changes.append(f"{response.status} {response.request.method} {response.url.removeprefix(self.home)}")
        if response.status >= 500:
            self.complaints.append(f"{response.status} for {response.request.method} {response.url}")

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in _LOUD:
            self.complaints.append(f"{message.type}: {message.text} ({message.location.get('url', '')})")

    def _refuse(self, dialog: Dialog) -> None:
        self.complaints.append(f"a dialog opened: {dialog.message}")
        dialog.dismiss()
