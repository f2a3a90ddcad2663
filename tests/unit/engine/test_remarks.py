"""Remarks about an engine that no single key calls for."""

from __future__ import annotations

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.remarks import remarks_on
from pullbook.engine.templates import TEMPLATES, template_text


def test_a_usual_engine_has_none() -> None:
    assert remarks_on(parse_engine("")) == ()


@pytest.mark.parametrize("name", TEMPLATES)
def test_shipped_lobes_are_like_ground_ones(name: str) -> None:
    assert remarks_on(parse_engine(template_text(name))) == ()


def test_a_lobe_that_is_too_fast_is_told_with_its_side_and_what_is_usual() -> None:
    found = remarks_on(parse_engine('[exhaust_cam]\nvalve_lift = "15 mm"\n'))
    assert found[0].startswith("exhaust_cam: velocity 0.")
    assert found[0].endswith("mm a cam degree is more than 0.22")
    assert all(one.startswith("exhaust_cam: ") for one in found)


def test_a_pointed_nose_with_too_little_area_is_told() -> None:
    # Too narrow at 5.08 mm for a lift of 10.4 mm: it comes to a point.
    durations = ", ".join(
        f'{{ at = "{at} mm", lasts = "{lasts} deg" }}' for at, lasts in ((0.15, 274), (1.27, 232), (5.08, 142))
    )
    text = f'[intake_cam]\ndurations = [{durations}]\nvalve_lift = "10.4 mm"\nlash = "0.25 mm"\n'
    found = " ".join(remarks_on(parse_engine(text)))
    assert "deceleration at the nose" in found
    assert "the area is too small" in found


def test_what_a_lobe_was_assumed_to_be_is_told() -> None:
    found = remarks_on(parse_engine('[intake_cam]\ndurations = [{ at = "1 mm", lasts = "236 deg" }]\n'))
    assert "intake_cam: shape of the lobe (only one duration is known) was assumed" in found


@pytest.mark.parametrize(("model", "count"), [("chen-flynn", 0), ("components", 0), ("barnes-moss", 1)])
def test_friction_that_holds_pumping_is_told(model: str, count: int) -> None:
    found = [one for one in remarks_on(parse_engine(f'[friction]\nmodel = "{model}"\n')) if "pumping" in one]
    assert len(found) == count
