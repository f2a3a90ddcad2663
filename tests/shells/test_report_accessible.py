"""The published report as an accessibility checker sees it, light and dark, as pictures and live."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from browser.accessibility import violations

if TYPE_CHECKING:
    from collections.abc import Callable

    from opened_report import Opened

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["plain", "crowd"])
def test_the_checker_finds_no_violation_in_the_report(
    open_report: Callable[..., Opened], name: str, scheme: str
) -> None:
    page = open_report(name, color_scheme=scheme, reduced_motion="reduce").live()
    assert violations(page) == []


def test_the_checker_would_find_an_image_without_words(open_report: Callable[..., Opened]) -> None:
    page = open_report("plain pictures").page
    page.evaluate("document.querySelector('main').append(document.createElement('img'))")
    assert [found.split(":")[0] for found in violations(page)] == ["image-alt"]
