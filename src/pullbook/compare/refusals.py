"""What the data cannot answer, as refusals: each one sentence that a tester understands."""

from __future__ import annotations

from pullbook.records.verdict import Refusal

__all__ = ["claim_refused", "crossover_in_gap", "itself", "no_bands", "not_run", "peaks_with_gap", "window_outside"]


def no_bands() -> Refusal:
    """One pull of each build and no history."""
    return Refusal(
        what="bands",
        why="One pull each and no history: the difference curve is shown, no uncertainty can be stated, "
        "no claim is decided.",
    )


def not_run(what: str, missing: tuple[str, ...]) -> Refusal:
    """A difference with a build that has no pulls."""
    names = " and ".join(missing)
    return Refusal(what=what, why=f"There are no pulls of {names} to compare.")


def itself(build: str) -> Refusal:
    """A difference of a build with itself."""
    return Refusal(what=f"{build} - {build}", why="A build cannot be compared with itself.")


def window_outside(what: str, window: tuple[float, float], span: tuple[float, float], *, gap: bool) -> Refusal:
    """A window that is not measured throughout."""
    within = "without a gap " if gap else ""
    return Refusal(
        what=f"{what} over {window[0]:,.0f} to {window[1]:,.0f} rpm",
        why=f"The pulls do not share this range {within}(they share {span[0]:,.0f} to {span[1]:,.0f} rpm), "
        "so that no mean over it can be stated.",
    )


def crossover_in_gap(pair: tuple[str, str], low_rpm: float, high_rpm: float) -> Refusal:
    """The sign is certain on both sides of a gap, and differs."""
    return Refusal(
        what=f"crossover of {pair[0]} and {pair[1]}",
        why=f"The sign of the difference changes between {low_rpm:,.0f} and {high_rpm:,.0f} rpm, where not all builds "
        "were measured, so that the crossover cannot be placed.",
    )


def peaks_with_gap() -> Refusal:
    """A peak may hide in a gap."""
    return Refusal(
        what="peaks", why="Not all speeds of the range were measured, and the highest point may lie between them."
    )


def claim_refused(claim: str, why: str) -> Refusal:
    """A claim that this session cannot be asked."""
    return Refusal(what=f"claim {claim}", why=why)
