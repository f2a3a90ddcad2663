"""A crowded session for tests of pictures and pages: eight builds, long labels, six windows, hostile names."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from builders import make_corrected, make_pull, make_result
from builders_findings import GRID_RPM, make_findings, torque_of

from pullbook.records.build import Build
from pullbook.records.curve import CurveBand
from pullbook.records.result import PullStatus, SessionResult

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.finding import BuildFinding, Difference

__all__ = ["HOSTILE", "make_crowd"]

HOSTILE: Final = '<script>alert("x")</script> & "quoted" \'name\''
_NAMES: Final = "ABCDEFGH"
_LABELS: Final = (
    "as delivered", "short runners with the long plenum", "4-2-1 header", "both", "camshaft 4 degrees advanced",
    HOSTILE, "larger throttle, long runners, 4-2-1", "everything",
)  # fmt: skip


def _build(number: int, name: str, full: BuildFinding) -> BuildFinding:
    shift = 0.35 * number + 4.0 * np.sin(GRID_RPM / 700.0 + number)
    torque = CurveBand(mean=full.torque.mean + shift, low=full.torque.low + shift, high=full.torque.high + shift)
    return replace(full, name=name, torque=torque)


def _shifted(band: CurveBand, shift: FloatArray) -> CurveBand:
    return CurveBand(mean=band.mean + shift, low=band.low + shift, high=band.high + shift)


def _difference(number: int, name: str, full: Difference) -> Difference:
    shift = np.asarray(3.0 * np.sin(GRID_RPM / 500.0 + number))
    return replace(full, of=name, torque=_shifted(full.torque, shift), percent=_shifted(full.percent, shift))


def make_crowd() -> SessionResult:
    """Eight builds with one pull each, seven differences; the curves have many crossings."""
    result = make_result()
    findings = make_findings()
    full, gain = findings.builds[1], findings.differences[0]
    windows = tuple(
        replace(gain.windows[0], from_rpm=low, to_rpm=low + 750.0) for low in np.arange(2000.0, 6000.0, 750.0).tolist()
    )
    builds = tuple(
        Build(name=name, label=label, baseline=name == "A", levels={"runners": "340 mm"})
        for name, label in zip(_NAMES, _LABELS, strict=True)
    )
    pulls = []
    for number, name in enumerate(_NAMES):
        speed = np.arange(1950.0, 6551.0, 6.0)
        pull = make_pull(f"pulls/{name.lower()}.csv", speed_rpm=speed, build="B")
        corrected = make_corrected(pull, torque=torque_of("B", speed) + number)
        pulls.append(
            PullStatus(
                pull=pull, corrected=corrected, build=name, fitting=number + 1, time=600.0 * number, clock="",
                used=name != "F", because=HOSTILE if name == "F" else "",
            )
        )  # fmt: skip
    crowd = replace(
        findings,
        builds=tuple(_build(number, name, full) for number, name in enumerate(_NAMES)),
        differences=tuple(
            replace(_difference(number, name, gain), windows=windows)
            for number, name in enumerate(_NAMES)
            if name != "A"
        ),
        claims=tuple(replace(claim, id=f"{claim.id}-{n}") for n in range(2) for claim in findings.claims),
        assumptions=(HOSTILE,),
    )  # fmt: skip
    session = replace(
        result.session, title=HOSTILE, question=HOSTILE, notes=HOSTILE, builds=builds,
        claims=tuple(
            replace(claim, id=f"{claim.id}-{n}", says=HOSTILE) for n in range(2) for claim in result.session.claims
        ),
    )  # fmt: skip
    return replace(result, session=session, pulls=tuple(pulls), findings=crowd, findings_with_all=None)
