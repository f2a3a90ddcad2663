"""Cam-card arithmetic: durations and centrelines to valve events, and back.

It holds for symmetric lobes, all angles taken at the same checking lift; the events of an asymmetric lobe are read
from its card or from its measured table, not from centrelines. An event on the other side of a dead centre is negative.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CamCard", "card_from_events"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CamCard:
    """Durations and phasing of a pair of lobes, with the events that follow.

    Attributes
    ----------
    intake_duration_deg : float
        Duration of the intake lobe at the checking lift. [crank deg]
    exhaust_duration_deg : float
        Duration of the exhaust lobe at the same lift. [crank deg]
    separation_deg : float
        Lobe separation angle: half the crank angle between the two noses. [deg]
    intake_centreline_deg : float
        Nose of the intake lobe after top dead centre. [crank deg]

    References
    ----------
    .. [1] Trade practice; for symmetric lobes it is plane geometry.

    Examples
    --------
    >>> card = CamCard(intake_duration_deg=280, exhaust_duration_deg=280, separation_deg=110, intake_centreline_deg=106)
    >>> card.intake_opens_deg, card.intake_closes_deg, card.exhaust_opens_deg, card.exhaust_closes_deg, card.overlap_deg
    (34.0, 66.0, 74.0, 26.0, 60.0)
    """

    intake_duration_deg: float
    exhaust_duration_deg: float
    separation_deg: float
    intake_centreline_deg: float

    @property
    def exhaust_centreline_deg(self) -> float:
        """Nose of the exhaust lobe before top dead centre. [crank deg]."""
        return 2.0 * self.separation_deg - self.intake_centreline_deg

    @property
    def intake_opens_deg(self) -> float:
        """Before top dead centre. [crank deg]."""
        return self.intake_duration_deg / 2.0 - self.intake_centreline_deg

    @property
    def intake_closes_deg(self) -> float:
        """After bottom dead centre. [crank deg]."""
        return self.intake_duration_deg / 2.0 + self.intake_centreline_deg - 180.0

    @property
    def exhaust_opens_deg(self) -> float:
        """Before bottom dead centre. [crank deg]."""
        return self.exhaust_duration_deg / 2.0 + self.exhaust_centreline_deg - 180.0

    @property
    def exhaust_closes_deg(self) -> float:
        """After top dead centre. [crank deg]."""
        return self.exhaust_duration_deg / 2.0 - self.exhaust_centreline_deg

    @property
    def overlap_deg(self) -> float:
        """Both valves above the checking lift; negative where there is a gap. [crank deg]."""
        return self.intake_opens_deg + self.exhaust_closes_deg

    @property
    def advance_deg(self) -> float:
        """Camshaft ahead of straight up. [crank deg]."""
        return self.separation_deg - self.intake_centreline_deg

    def advanced(self, by_deg: float) -> CamCard:
        """Turn both lobes of the shaft forward.

        Parameters
        ----------
        by_deg : float
            Advance added. [crank deg]

        Returns
        -------
        CamCard
            Same durations and separation, earlier intake centreline.
        """
        return CamCard(
            intake_duration_deg=self.intake_duration_deg, exhaust_duration_deg=self.exhaust_duration_deg,
            separation_deg=self.separation_deg, intake_centreline_deg=self.intake_centreline_deg - by_deg,
        )  # fmt: skip


def card_from_events(
    intake_opens_deg: float, intake_closes_deg: float, exhaust_opens_deg: float, exhaust_closes_deg: float
) -> CamCard:
    """Durations and centrelines from the four events.

    Parameters
    ----------
    intake_opens_deg : float
        Before top dead centre. [crank deg]
    intake_closes_deg : float
        After bottom dead centre. [crank deg]
    exhaust_opens_deg : float
        Before bottom dead centre. [crank deg]
    exhaust_closes_deg : float
        After top dead centre. [crank deg]

    Returns
    -------
    CamCard
        The card.

    Examples
    --------
    >>> card = card_from_events(34, 66, 70, 30)
    >>> card.separation_deg, card.intake_centreline_deg, card.exhaust_centreline_deg
    (108.0, 106.0, 110.0)
    """
    intake = 180.0 + intake_opens_deg + intake_closes_deg
    exhaust = 180.0 + exhaust_opens_deg + exhaust_closes_deg
    intake_centre = intake / 2.0 - intake_opens_deg
    exhaust_centre = exhaust / 2.0 - exhaust_closes_deg
    return CamCard(
        intake_duration_deg=intake, exhaust_duration_deg=exhaust,
        separation_deg=0.5 * (intake_centre + exhaust_centre), intake_centreline_deg=intake_centre,
    )  # fmt: skip
