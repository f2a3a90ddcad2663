"""A report opened in a browser, with everything it asked for and complained about."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Dialog, Page

__all__ = ["Opened"]


class Opened:
    """A page with everything it asked for and complained about."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page: Page = context.new_page()
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", self._refuse)
        self.page.goto(address)

    def _refuse(self, dialog: Dialog) -> None:
        self.complaints.append("a dialog opened")
        dialog.dismiss()

    def live(self) -> Page:
        """The page once its first chart can be hovered over."""
        self.page.locator("#chart-torque").scroll_into_view_if_needed()
        self.page.wait_for_selector("#chart-torque.is-live .plot .main-svg")
        return self.page
