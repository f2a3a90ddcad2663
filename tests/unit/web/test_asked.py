from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from unit_web import Asking

LONG = "x" * 41  # characters; one more than the name of a standard may have


@pytest.mark.parametrize(
    ("query", "word"),
    [
        ("units=parsec", "units"),
        ("units=", "units"),
        (f"standard={LONG}", "standard"),
        (f"of={LONG}{LONG}{LONG}", "of"),
        (f"from={LONG}{LONG}{LONG}", "from"),
        (f"window={LONG * 5}", "window"),
        ("without_bands=perhaps", "without_bands"),
    ],
)
def test_a_word_that_an_address_cannot_say_is_refused_by_pages_and_routes_alike(
    asking: Asking, query: str, word: str
) -> None:
    page, route = asking.get(f"/?{query}"), asking.get(f"/api/sessions?{query}")
    assert (page.status_code, route.status_code) == (422, 422)
    assert route.json()["where"] == f"query.{word}"
    assert f"{word}:" in page.text or f">{word}<" in page.text
    assert "take it out of the address" in page.text.lower()


@pytest.mark.parametrize(
    "query",
    ["", "units=us", "of=B&from=A", "window=2500..3500", "without_bands=1", "without_bands=False", "without_bands=on",
     "units=parsec&units=metric", "more=1"],
)  # fmt: skip
def test_a_word_that_an_address_can_say_is_taken_by_pages_and_routes_alike(asking: Asking, query: str) -> None:
    assert (asking.get(f"/?{query}").status_code, asking.get(f"/api/sessions?{query}").status_code) == (200, 200)


def test_an_address_that_is_no_page_is_told_on_a_page_and_a_route_that_is_none_in_the_form_of_scripts(
    asking: Asking,
) -> None:
    page, route = asking.get("/nowhere"), asking.get("/api/nowhere")
    assert (page.status_code, route.status_code) == (404, 404)
    assert page.headers["content-type"].startswith("text/html")
    assert route.json() == {
        "what": "there is no such page", "where": "", "value": "/api/nowhere",
        "remedy": "begin at the list of sessions",
    }  # fmt: skip


def test_a_page_cannot_be_sent_to(asking: Asking) -> None:
    assert asking.client.post("/", content=b"x").status_code == 405
