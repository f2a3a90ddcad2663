"""What a page looked like when a person last looked at it, small, and how far it is from that now."""

from __future__ import annotations

import io
import json
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from PIL import Image
from repo.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

__all__ = ["ARTEFACTS", "LOOKS", "TOUR", "Album", "difference"]

ARTEFACTS: Final = ROOT / "tests" / "browser" / "artefacts"
_PATCHES: Final = 25  # across; what is compared is the mean colour of patches
_DIFFERENT: Final = 18.0  # of 255; a word more or less in a patch stays below it, a chart that is gone does not
_SHARE: Final = 0.02  # of the patches that may differ
_TALLER: Final = 0.02  # of the height
_FONTS: Final = """() => { const pen = document.createElement("canvas").getContext("2d");
  const own = getComputedStyle(document.body).fontFamily;
  return [own, "system-ui, sans-serif", "ui-monospace, monospace"].map((family) => {
    pen.font = `40px ${family}`; return Math.round(pen.measureText("Pull 2,400 rpm, torque").width); }); }"""


def difference(kept: Image.Image, now: Image.Image) -> str:
    """In what a page differs from its kept picture; empty where it looks the same."""
    if kept.width != now.width or abs(kept.height - now.height) > _TALLER * kept.height:
        return f"it is {now.width} x {now.height} points in place of {kept.width} x {kept.height}"
    height = min(kept.height, now.height)
    before, after = (_patches(one.crop((0, 0, one.width, height))) for one in (kept, now))
    far = np.abs(before - after).max(axis=2) > _DIFFERENT
    return f"{far.mean():.1%} of its patches look different" if far.mean() > _SHARE else ""


def _patches(picture: Image.Image) -> np.ndarray:
    size = (_PATCHES, max(round(_PATCHES * picture.height / picture.width), 1))
    return np.asarray(picture.convert("RGB").resize(size, Image.Resampling.BOX), dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True)
class Album:
    """Pictures that are kept together.

    Attributes
    ----------
    name : str
        Recipe of the task file that renews them.
    folder : Path
        Where they are.
    widest : int
        Most points across of a picture that is kept.
    scale : float
        Most of the screen's points that are kept, as a share.
    colours : int
        Colours of a picture that is kept.
    """

    name: str
    folder: Path
    widest: int
    scale: float
    colours: int

    def small(self, picture: bytes) -> Image.Image:
        """A screenshot reduced to what is kept."""
        with Image.open(io.BytesIO(picture)) as full:
            scale = min(self.scale, self.widest / full.width)
            size = (round(full.width * scale), round(full.height * scale))
            return full.convert("RGB").resize(size, Image.Resampling.BOX)

    def hold(self, page: Page, name: str, picture: bytes) -> None:
        """Keep a picture as an artefact, and compare it with the one of that name in the album.

        With the album's name in ``PULLBOOK_RENEW`` the album takes it instead.
        """
        ARTEFACTS.mkdir(exist_ok=True)
        (ARTEFACTS / f"{name}.png").write_bytes(picture)
        now, fonts = self.small(picture), [int(width) for width in page.evaluate(_FONTS)]
        if os.environ.get("PULLBOOK_RENEW") == self.name:
            self._keep(now, name, fonts)
            return
        path = self.folder / f"{name}.png"
        assert path.exists(), f"no kept picture {path.name}: look at the page and run `python3 tasks.py {self.name}`"
        if self._fonts()[name] != fonts:
            pytest.skip("this machine has other fonts than the one that the pictures were kept on")
        with Image.open(path) as kept:
            found = difference(kept.convert("RGB"), now)
        remedy = f"look at {ARTEFACTS / name}.png, and if it is right run `python3 tasks.py {self.name}`"
        assert found == "", f"{name}: {found}; {remedy}"

    def _fonts(self) -> dict[str, list[int]]:
        path = self.folder / "fonts.json"
        return dict(json.loads(path.read_text(encoding="utf-8"))) if path.exists() else {}

    def _keep(self, picture: Image.Image, name: str, fonts: list[int]) -> None:
        self.folder.mkdir(exist_ok=True)
        reduced = picture.quantize(self.colours, dither=Image.Dither.NONE)
        reduced.save(self.folder / f"{name}.png", optimize=True)
        lines = [f'  "{key}": {json.dumps(value)}' for key, value in sorted({**self._fonts(), name: fonts}.items())]
        text = "{\n" + ",\n".join(lines) + "\n}\n"
        (self.folder / "fonts.json").write_text(text, encoding="utf-8")


LOOKS: Final = Album(name="looks", folder=ROOT / "tests" / "browser" / "kept-looks", widest=200, scale=0.3, colours=16)
TOUR: Final = Album(name="tour", folder=ROOT / "docs" / "tour", widest=1000, scale=1.0, colours=48)
