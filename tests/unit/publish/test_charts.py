"""The chart specification: what is drawn of a result, before anything draws it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from builders import make_bandless_findings, make_findings, make_pull, make_relative_findings, make_result, torque_of
from builders_crowd import make_crowd

from pullbook.publish.charts import effects_chart, pair_chart, power_chart, torque_chart
from pullbook.publish.palette import Fill, Ink
from pullbook.publish.rows import claim_chart, claims_chart, pulls_chart, scatter_chart, windows_chart
from pullbook.publish.telling import Telling
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import CurveBand


def test_torque_and_every_difference_share_one_axis_of_speed() -> None:
    chart = torque_chart(Telling(result=make_result()))
    assert [panel.key for panel in chart.panels] == ["torque", "B-A", "C-A", "D-A"]
    assert len({panel.x for panel in chart.panels}) == 1
    assert (chart.panels[0].x.low, chart.panels[0].x.high) == (2000.0, 6500.0)


def test_differences_share_one_scale_that_holds_zero_and_all_bands() -> None:
    result = make_crowd()
    axes = {panel.y for panel in torque_chart(Telling(result=result)).panels[1:]}
    assert len(axes) == 1
    axis = axes.pop()
    assert axis.low < 0.0 < axis.high
    for difference in result.findings.differences:
        assert axis.low <= np.nanmin(difference.torque.low)
        assert axis.high >= np.nanmax(difference.torque.high)


def test_gain_loss_and_not_decided_differ_in_fill_and_not_in_colour_alone() -> None:
    findings = make_findings(names="AB")
    mean = np.repeat([-6.0, 0.5, 9.0], (30, 31, 30))
    band = CurveBand(mean=mean, low=mean - 2.0, high=mean + 2.0)
    one = replace(findings, differences=(replace(findings.differences[0], torque=band),))
    panel = torque_chart(Telling(result=make_result(names="AB", findings=one))).panels[1]
    assert [(part.ink, part.fill) for part in panel.bands] == [
        (Ink.LOSS, Fill.STRIPED),
        (Ink.OPEN, Fill.HOLLOW),
        (Ink.GAIN, Fill.SOLID),
    ]
    # The decided parts end where they are decided; the open part closes the gap on both sides.
    assert [(part.x[0], part.x[-1]) for part in panel.bands] == [(2000, 3450), (3450, 5050), (5050, 6500)]


def test_curves_are_shown_in_the_readers_unit() -> None:
    for system, factor in (
        (UnitSystem.METRIC, 1.0),
        (UnitSystem.US, 1.3558179483314004),
    ):  # N m in a lb ft, NIST SP 811
        line = torque_chart(Telling(result=make_result(), system=system)).panels[0].lines[1]
        assert line.y == pytest.approx(torque_of("B", line.x) / factor)


def test_bands_of_differences_are_in_the_readers_unit_too() -> None:
    result = make_result(names="AB")
    band = result.findings.differences[0].torque
    for system, factor in ((UnitSystem.METRIC, 1.0), (UnitSystem.US, 1.3558179483314004)):
        panel = torque_chart(Telling(result=result, system=system)).panels[1]
        for part in panel.bands:
            at = np.searchsorted(result.findings.grid_rpm, part.x)
            assert part.low == pytest.approx(band.low[at] / factor)
            assert part.high == pytest.approx(band.high[at] / factor)


def test_without_bands_no_band_is_drawn_anywhere() -> None:
    telling = Telling(result=make_result(names="AB", findings=make_bandless_findings()))
    for chart in (torque_chart(telling), power_chart(telling)):
        assert chart is not None
        assert all(not panel.bands and not panel.markers for panel in chart.panels)
        assert "no uncertainty can be stated" in chart.says
    assert scatter_chart(telling) is None
    assert windows_chart(telling) is None


def test_a_relative_session_has_no_power_and_per_cent_on_the_axis() -> None:
    telling = Telling(result=make_result(names="AB", findings=make_relative_findings()))
    assert power_chart(telling) is None
    assert torque_chart(telling).panels[0].y.title == "torque, % of the baseline"
    assert torque_chart(telling).panels[1].y.title == "%"


def test_a_gap_in_a_curve_is_a_gap_in_its_band() -> None:
    findings = make_findings(names="AB")
    build = findings.builds[1]
    hole = np.arange(91) == 40
    curve = CurveBand(*(), **{
        name: np.where(hole, np.nan, getattr(build.torque, name)) for name in ("mean", "low", "high")
    })  # fmt: skip
    holed = replace(findings, builds=(findings.builds[0], replace(build, torque=curve)))
    panel = torque_chart(Telling(result=make_result(names="AB", findings=holed))).panels[0]
    parts = [(band.x[0], band.x[-1]) for band in panel.bands if band.key == "B"]
    assert parts == [(2000, 3950), (4050, 6500)]


def test_crossovers_are_marked_on_zero_with_their_interval() -> None:
    result = make_result(names="AB")
    crossover = result.findings.differences[0].crossovers[0]
    marker = torque_chart(Telling(result=result)).panels[1].markers[0]
    assert (marker.x, marker.y, marker.low, marker.high) == (crossover.rpm, 0.0, crossover.low, crossover.high)


def test_builds_differ_in_colour_line_style_and_label() -> None:
    lines = torque_chart(Telling(result=make_crowd())).panels[0].lines
    assert len({line.ink for line in lines}) == len(lines)
    assert len({line.label for line in lines}) == len(lines)
    assert all(one.dash is not other.dash for one, other in pairwise(lines))


def test_a_pair_chart_shows_the_two_builds_alone() -> None:
    result = make_result()
    chart = pair_chart(Telling(result=result), result.findings.differences[1])
    assert [line.key for line in chart.panels[0].lines] == ["A", "C"]
    assert chart.panels[1].key == "C-A"


def test_the_limit_of_a_claim_and_its_interval_are_on_the_axis() -> None:
    result = make_result()
    panel = claim_chart(Telling(result=result), 0).panels[0]
    assert [rule.at for rule in panel.rules] == [0.0, 8.0]  # kW, as claimed
    assert (panel.markers[0].low, panel.markers[0].x, panel.markers[0].high) == pytest.approx((8.2, 9.1, 10.0))
    assert panel.x.low < 0.0
    assert panel.x.high > 10.0


def test_a_claim_of_sameness_has_a_limit_on_both_sides() -> None:
    result = make_result()
    claims = tuple(replace(claim, at_least=None, within=3.0) for claim in result.session.claims)
    same = replace(result, session=replace(result.session, claims=claims))
    assert [rule.at for rule in claim_chart(Telling(result=same), 1).panels[0].rules] == [0.0, -3.0, 3.0]


def test_verdicts_stand_beside_their_claims() -> None:
    chart = claims_chart(Telling(result=make_result()))
    assert chart is not None
    assert [panel.aside for panel in chart.panels] == ["supported", "refuted", "not decided"]


def test_every_pull_is_in_the_strip_and_one_left_out_is_struck() -> None:
    result = make_result()
    panels = pulls_chart(Telling(result=result)).panels
    assert [panel.title for panel in panels] == [status.build for status in result.pulls]
    assert [panel.struck for panel in panels if panel.struck] == ["torque jumps at 4180 rpm"]


def test_a_glitch_of_one_sample_shows_in_the_small_picture() -> None:
    result = make_result()
    status = result.pulls[0]
    torque = status.corrected.torque.copy()
    torque[377] = 350.0
    pull = make_pull(channels={Channel.TORQUE: torque})
    spiked = replace(status, pull=pull, corrected=replace(status.corrected, torque=torque))
    panel = pulls_chart(Telling(result=replace(result, pulls=(spiked, *result.pulls[1:])))).panels[0]
    assert panel.lines[0].y.max() == 350.0


def test_text_alternatives_say_what_the_curves_say() -> None:
    chart = torque_chart(Telling(result=make_result(names="AB")))
    # torque_of("A"): 172 + 38 exp(-((2000-4600)/2300)^2) = 182.6 at 2000 rpm; its peak, 210 N m, is at 4600 rpm.
    assert "A: 183 at 2,000 rpm, highest 210 near 4,600 rpm" in chart.says


def test_effects_and_interactions_are_drawn_and_absent_where_none_can_be_estimated() -> None:
    result = make_result()
    chart = effects_chart(Telling(result=result))
    assert chart is not None
    assert len(chart.panels) == 3
    nothing = replace(result, findings=replace(result.findings, effects=(), interactions=()))
    assert effects_chart(Telling(result=nothing)) is None
