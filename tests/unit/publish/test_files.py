"""What `publish_files` gives: names, order, contents, and one at a time."""

from __future__ import annotations

import json
import re
from itertools import islice

import pytest
from builders import make_result
from builders_crowd import make_crowd

from pullbook.publish.charts import torque_chart
from pullbook.publish.files import file_name, publish_files, still_charts
from pullbook.publish.telling import Telling
from pullbook.quantities.showing import UnitSystem


@pytest.fixture(autouse=True)
def two_stills(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two charts are enough to see what is made of each; which there are is tested below and in test_stills."""
    monkeypatch.setattr(
        "pullbook.publish.files.still_charts", lambda telling: (torque_chart(telling), *still_charts(telling)[-1:])
    )


def test_the_stills_are_curves_pairs_windows_claims_effects_and_pulls() -> None:
    keys = [chart.key for chart in still_charts(Telling(result=make_result(names="AB")))]
    assert keys == ["torque", "power", "B-minus-A", "windows", "claims", "effects", "pulls"]


def test_what_is_too_much_for_one_still_is_spread_over_several() -> None:
    charts = {chart.key: chart for chart in still_charts(Telling(result=make_crowd()))}
    assert {"claims-1", "claims-2", "windows-1", "windows-4"} <= set(charts)
    assert len(charts["torque"].panels) == 1  # seven differences have a still each
    rows = sum(len(panel.markers) for key, chart in charts.items() if "windows" in key for panel in chart.panels)
    assert rows == 7 * 6


def test_a_report_is_a_page_findings_curves_and_stills_in_every_appearance() -> None:
    files = dict(publish_files(make_result(names="AB")))
    assert list(files)[:3] == ["report.html", "findings.json", "curves.csv"]
    stems = {re.sub(r"-(light|dark|transparent).*", "", name) for name in list(files)[3:]}
    assert stems == {"stills/torque", "stills/pulls"}
    for stem in stems:
        for appearance in ("light", "dark", "transparent"):
            for end in ("-1920x1080.png", "-3840x2160.png", ".svg", ".pdf"):
                assert f"{stem}-{appearance}{end}" in files
    assert json.loads(files["findings.json"])["schema"] == "pullbook.findings/1"
    assert files["curves.csv"].count(b"\r\n") > 180
    assert all(len(content) > 1000 for content in files.values())


def test_a_quick_report_has_light_stills_of_one_size() -> None:
    names = [name for name, _ in publish_files(make_result(names="AB"), quick=True)]
    assert names[3:] == ["stills/torque-light-1920x1080.png", "stills/pulls-light-1920x1080.png"]


def test_files_come_one_by_one_so_that_progress_can_be_shown() -> None:
    assert [name for name, _ in islice(publish_files(make_crowd()), 3)] == [
        "report.html",
        "findings.json",
        "curves.csv",
    ]


@pytest.mark.parametrize("key", ["CON: 4/2\\1 *?-minus-A", "größer", "..", "a b", "x\ny"])
def test_names_are_good_on_every_system_whatever_the_builds_are_called(key: str) -> None:
    assert re.fullmatch(r"[A-Za-z0-9-]+", file_name(key))


def test_the_readers_units_are_on_the_stills_and_the_tables_stay_in_si() -> None:
    one = dict(islice(publish_files(make_result(), system=UnitSystem.US), 3))
    other = dict(islice(publish_files(make_result(), system=UnitSystem.METRIC), 3))
    assert one["findings.json"] == other["findings.json"]
    assert one["curves.csv"] == other["curves.csv"]
    assert one["report.html"] != other["report.html"]
