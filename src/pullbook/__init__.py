"""pullbook: from a folder of dynamometer pulls to a comparison that can be defended.

The way of the data, in order::

    plan      Session without pulls -> Plan: orders, their cost, the odds of an answer
    capture   bytes of a file -> RawTable -> Log -> Pull
    check     Pull -> Check: is it fit to compare?
    correct   Pull -> CorrectedPull: same air, no acceleration
    compare   CorrectedPulls and claims -> Findings
    explain   Findings -> flow restriction or pressure waves          (not yet)
    predict   calibrated engine -> an untested build                  (not yet)
    decide    curves -> which build suits a use                       (not yet)
    publish   Findings -> sentences, charts, page, stills, tables
    remember  Session -> archive; question -> the sessions that answer
"""

from __future__ import annotations

from typing import Final

__all__ = ["STAGES", "__version__"]

__version__ = "0.1.0"

STAGES: Final = (
    "plan", "capture", "check", "correct", "compare", "explain", "predict", "decide", "publish", "remember",
)  # fmt: skip
