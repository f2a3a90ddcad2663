from __future__ import annotations

import numpy as np
import pytest

from pullbook.compare.design import describe_design, design_matrix, estimability
from pullbook.records.build import Build, Factor
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.pull import TorqueKind

CAM = Factor(name="cam", levels=("1", "2"))
HEADER = Factor(name="header", levels=("4-1", "4-2-1"))
RUNNERS = Factor(name="runners", levels=("340", "260"))
LEVELS = {
    "A": ("1", "4-1", "340"),
    "B": ("2", "4-1", "340"),
    "C": ("1", "4-2-1", "340"),
    "D": ("2", "4-2-1", "340"),
    "E": ("1", "4-1", "260"),
    "F": ("1", "4-2-1", "260"),
    "G": ("2", "4-1", "260"),
    "H": ("2", "4-2-1", "260"),
}


def compared(order: str, *factors: Factor, refits: bool = True) -> Comparison:
    """Session of one pull a letter; a build fits anew where the letter changes, or at every pull."""
    known = ("cam", "header", "runners")
    speed = np.linspace(2000.0, 6500.0, 50)
    pulls, fitting = [], 0
    for index, name in enumerate(order):
        fitting += 1 if refits or index == 0 or name != order[index - 1] else 0
        pulls.append(
            ComparablePull(
                name=f"{name}{index}",
                build=name,
                fitting=fitting,
                time=600.0 * index,
                speed_rpm=speed,
                torque=np.full(50, 200.0),
            )
        )
    builds = tuple(
        Build(name=name, baseline=name == "A", levels=dict(zip(known, LEVELS[name], strict=True)))
        for name in sorted(set(order))
    )
    return Comparison(pulls=tuple(pulls), builds=builds, baseline="A", factors=factors, torque_kind=TorqueKind.MEASURED)


def test_a_complete_square_estimates_both_changes_and_whether_they_act_together() -> None:
    report = describe_design(compared("ABCDABCD", CAM, HEADER))
    assert report.matrix.terms == ("baseline", "cam to 2", "header to 4-2-1", "cam to 2 with header to 4-2-1")
    assert report.estimable == report.matrix.terms[1:]
    assert report.sentences == ()


def test_five_of_eight_builds_bear_three_changes_and_one_pair_that_acts_together() -> None:
    # statistics note, section 5: X = [1, cam, header, collector, cam:header] on 5 of 8 cells
    design = design_matrix(compared("ABCDE" * 2, CAM, HEADER, RUNNERS))
    assert design.matrix.shape == (5, 5)
    assert np.linalg.matrix_rank(design.matrix) == 5
    assert design.terms[-1] == "cam to 2 with header to 4-2-1"


def test_two_changes_made_at_once_are_told_as_one() -> None:
    report = describe_design(compared("ADAD", CAM, HEADER))
    assert report.estimable == ()
    assert report.aliased[0] == (
        "What cam to 2 does cannot be told from header to 4-2-1: no build has the one without the other."
    )
    assert len(report.aliased) == 2


def test_half_of_eight_builds_mixes_each_change_with_the_other_two_acting_together() -> None:
    # half fraction with I = -cam x header x runners: each effect is aliased with a two-factor interaction
    # (Box, Hunter & Hunter, Statistics for Experimenters, 1978, chapter 12, from memory)
    report = describe_design(compared("ADFG" * 2, CAM, HEADER, RUNNERS))
    assert report.aliased == ()
    assert report.mixed == (
        "What cam to 2 does is right only if header and runners do not act together.",
        "What header to 4-2-1 does is right only if cam and runners do not act together.",
        "What runners to 260 does is right only if cam and header do not act together.",
    )
    assert len(report.untested) == 3


def test_all_eight_builds_mix_nothing() -> None:
    report = describe_design(compared("ABCDEFGH" * 2, CAM, HEADER, RUNNERS))
    assert report.sentences == ()
    assert len(report.estimable) == 6


def test_estimable_contrast_is_the_least_squares_row() -> None:
    # unbalanced: A, B, C of the square; cam is B - A, header C - A
    design = design_matrix(compared("ABC" * 2, CAM, HEADER))
    cam = estimability(design.matrix, np.array([0.0, 1.0, 0.0]))
    np.testing.assert_allclose(cam.weights, [-1.0, 1.0, 0.0], atol=1e-12)
    assert cam.aliases.shape == (0, 3)


def test_what_cannot_be_estimated_names_the_null_space() -> None:
    both = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
    found = estimability(both, np.array([0.0, 1.0, 0.0]))
    assert not found.estimable
    assert np.isnan(found.weights).all()
    # the combination that no build sees: cam up, header down
    assert found.aliases[0] / found.aliases[0, 1] == pytest.approx([0.0, 1.0, -1.0])


@pytest.mark.parametrize(
    ("order", "drift", "refit"),
    [("AABB", 1, 1), ("AABBAA", 0, 0), ("ABAB", 0, 0), ("ABB", 1, 1)],
)
def test_one_block_each_is_confounded_with_drift_and_one_fitting_each_with_fitting(
    order: str, drift: int, refit: int
) -> None:
    report = describe_design(compared(order, CAM, refits=False))
    assert len(report.drift) == drift
    assert len(report.refit) == refit
    if drift:
        assert report.drift[0].startswith("Cam was never changed back")
        assert report.refit[0].startswith("Cam was fitted once in each form")


def test_a_session_without_factors_speaks_of_the_builds() -> None:
    report = describe_design(compared("AABB", refits=False))
    assert report.drift[0].startswith("The build was never changed back")


def test_a_factor_can_be_changed_back_while_another_is_not() -> None:
    report = describe_design(compared("AABBCCDD", CAM, HEADER, refits=False))
    assert [sentence.split()[0] for sentence in report.drift] == ["Header"]
