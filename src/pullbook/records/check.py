"""Check: one question asked of a pull or of the session, and its answer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pullbook.quantities.showing import UnitSystem

__all__ = ["Check", "Level"]


class Level(StrEnum):
    """How bad it is."""

    OK = "ok"
    LOOK = "look"  # the tester should look; the pull is used
    UNFIT = "unfit"  # the pull is left out, visibly


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Answer of one check.

    Attributes
    ----------
    pull : str
        Name of the pull; empty for a check across builds.
    check : str
        Name of the check, stable, as in "power_identity".
    level : Level
        ok, look or unfit.
    says : str
        One sentence with the numbers.
    remedy : str
        What to do; empty when all is well.
    could_explain : float or None
        Size of torque change that this could fake, where it is known. [per cent of torque]
    rpm_low, rpm_high : float or None
        Where in the pull. [rpm]
    says_us : str
        The same sentence in US units; empty where it is the same.
    """

    pull: str
    check: str
    level: Level
    says: str
    remedy: str = ""
    could_explain: float | None = None
    rpm_low: float | None = None
    rpm_high: float | None = None
    says_us: str = ""

    def worded(self, system: UnitSystem) -> str:
        """Sentence in the units of a reader."""
        return self.says_us if system is UnitSystem.US and self.says_us else self.says
