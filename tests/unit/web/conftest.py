"""A notebook in the process of the test, with workers of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient
from unit_web import Asking

from pullbook.web.application import make_app
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asking]:
    """A notebook on an empty folder, shared by the tests of a file; each makes sessions of its own."""
    folder = tmp_path_factory.mktemp("notebook")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PULLBOOK_CACHE_HOME", str(folder / "cache"))
        patch.setenv("PULLBOOK_CONFIG_HOME", str(folder / "config"))
        patch.setenv("PULLBOOK_DATA_HOME", str(folder / "data"))
        patch.delenv("PULLBOOK_ARCHIVE", raising=False)
        root = folder / "sessions"
        root.mkdir()
        settings = Settings(root=root, port=8420)
        headers = {"X-Pullbook-Token": settings.token}
        with TestClient(make_app(settings), base_url="http://127.0.0.1:8420", headers=headers) as client:
            yield Asking(client, root)
