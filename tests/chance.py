"""How far a share may be off by chance, where a study of so many tries is held to a promised rate."""

from __future__ import annotations

from scipy.stats import binom

__all__ = ["least", "most"]


def most(tries: int, percent: float) -> float:
    """Rate in per cent that 999 of 1,000 studies keep below or at where the true one is `percent`."""
    return 100.0 * float(binom.ppf(0.999, tries, percent / 100.0)) / tries


def least(tries: int, percent: float) -> float:
    """Rate in per cent that 999 of 1,000 studies keep above or at where the true one is `percent`."""
    return 100.0 * float(binom.ppf(0.001, tries, percent / 100.0)) / tries
