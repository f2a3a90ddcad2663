"""What a page looked like when a person last looked at it, small, and how far it is from that now."""

from __future__ import annotations

import io
import json
import os
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from PIL import Image
from repo.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

__all__ = ["ARTEFACTS", "difference", "look", "small"]

KEPT: Final = ROOT / "tests" / "browser" / "looks"
ARTEFACTS: Final = ROOT / "tests" / "browser" / "artefacts"
_SCALE: Final = 0.5  # of the screen's points that are kept
_WIDEST: Final = 400  # points of a kept picture
_COLOURS: Final = 24
_PATCH: Final = 16  # points; what is compared is the mean colour of patches
_DIFFERENT: Final = 18.0  # of 255; a word more or less in a patch stays below it, a chart that is gone does not
_SHARE: Final = 0.02  # of the patches that may differ
_TALLER: Final = 0.02  # of the height
_FONTS: Final = """() => { const pen = document.createElement("canvas").getContext("2d");
  const own = getComputedStyle(document.body).fontFamily;
  return [own, "system-ui, sans-serif", "ui-monospace, monospace"].map((family) => {
    pen.font = `40px ${family}`; return Math.round(pen.measureText("Pull 2,400 rpm, torque").width); }); }"""


def small(picture: bytes) -> Image.Image:
    """A screenshot reduced to what is kept."""
    with Image.open(io.BytesIO(picture)) as full:
        scale = min(_SCALE, _WIDEST / full.width)
        size = (round(full.width * scale), round(full.height * scale))
        return full.convert("RGB").resize(size, Image.Resampling.BOX)


def difference(kept: Image.Image, now: Image.Image) -> str:
    """In what a page differs from its kept picture; empty where it looks the same."""
    if kept.width != now.width or abs(kept.height - now.height) > _TALLER * kept.height:
        return f"it is {now.width} x {now.height} points in place of {kept.width} x {kept.height}"
    height = min(kept.height, now.height)
    before, after = (_patches(one.crop((0, 0, one.width, height))) for one in (kept, now))
    far = np.abs(before - after).max(axis=2) > _DIFFERENT
    return f"{far.mean():.1%} of its patches look different" if far.mean() > _SHARE else ""


def _patches(picture: Image.Image) -> np.ndarray:
    size = (max(picture.width // _PATCH, 1), max(picture.height // _PATCH, 1))
    return np.asarray(picture.convert("RGB").resize(size, Image.Resampling.BOX), dtype=float)


def look(page: Page, name: str) -> None:
    """Take a picture of the whole page, keep it as an artefact, and compare it with the kept one.

    With ``PULLBOOK_RENEW=looks`` the kept one is renewed instead.
    """
    ARTEFACTS.mkdir(exist_ok=True)
    picture = page.screenshot(full_page=True, animations="disabled", caret="hide")
    (ARTEFACTS / f"{name}.png").write_bytes(picture)
    now, fonts = small(picture), [int(width) for width in page.evaluate(_FONTS)]
    if os.environ.get("PULLBOOK_RENEW") == "looks":
        _keep(now, name, fonts)
        return
    path = KEPT / f"{name}.png"
    assert path.exists(), f"no kept picture {path.name}: look at the page and run `python3 tasks.py looks`"
    if _fonts()[name] != fonts:
        pytest.skip("this machine has other fonts than the one that the pictures were kept on")
    with Image.open(path) as kept:
        found = difference(kept.convert("RGB"), now)
    assert found == "", (
        f"{name}: {found}; look at {ARTEFACTS / name}.png, and if it is right run `python3 tasks.py looks`"
    )


def _fonts() -> dict[str, list[int]]:
    path = KEPT / "fonts.json"
    return dict(json.loads(path.read_text(encoding="utf-8"))) if path.exists() else {}


def _keep(picture: Image.Image, name: str, fonts: list[int]) -> None:
    KEPT.mkdir(exist_ok=True)
    picture.quantize(_COLOURS, dither=Image.Dither.NONE).save(KEPT / f"{name}.png", optimize=True)
    texts = [f'  "{key}": {json.dumps(value)}' for key, value in sorted({**_fonts(), name: fonts}.items())]
    path: Path = KEPT / "fonts.json"
    path.write_text("{\n" + ",\n".join(texts) + "\n}\n", encoding="utf-8")
