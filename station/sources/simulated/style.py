"""How steady, strong and punctual a hand is; one dial from careless (0) to careful (1)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Style:
    """A hand. Lengths in % of half travel, times in seconds, angles in degrees; forces in multiples of the snap force.

    All values are common practice without a published source, except where named:
    tremor        rms of the 8…12 Hz tremor
    drift         rms of the slow wander of a hand that holds something free in the air
    aim_deg       rms error of a direction
    reaction_s    from being asked to beginning
    press_s       how long a press lasts: 0.12…0.2; tapping hands manage 5…7 a second (50 to 70 taps in 10 s:
                  an encyclopaedia, weak)
    light         (median, relative spread, least): a press that is only just hard enough
    late_s, spread_s   mean and rms of a press after its beat; tempo of 0.57…3.8 Hz comes
                  naturally (spontaneous tempo: Front. Psychol. 12:677201, 2021)
    forget        share of beats that the hand lets pass
    notice        share of those that it notices
    slip          share of beats at which one finger misses its button
    lead_back     share of flicks that it leads back instead of letting go
    cut_corner    mean number of corners cut in a roll of two turns
    short_of_edge share of pushes, sweeps and pulls that stop short of the edge
    hasty         share of sweeps and pulls done too fast
    speed         1: as asked; above: faster
    sweep_s       (least, most) for one way of a slow sweep at that speed
    """

    tremor: float
    drift: float
    aim_deg: float
    reaction_s: float
    press_s: float
    light: tuple[float, float, float]
    late_s: float
    spread_s: float
    forget: float
    notice: float
    slip: float
    lead_back: float
    cut_corner: float
    short_of_edge: float
    hasty: float
    speed: float
    sweep_s: tuple[float, float] = (1.9, 2.3)


def style_of(skill: float) -> Style:
    """The hand of a given skill, 0 careless … 1 careful."""
    k = 1.0 - min(max(skill, 0.0), 1.0)
    return Style(
        tremor=0.25 + 0.75 * k,
        drift=1.0 + 1.5 * k,
        aim_deg=2.5 + 5.0 * k,
        reaction_s=0.25 + 0.3 * k,
        press_s=0.16 - 0.03 * k,
        light=(1.35, 0.07 + 0.08 * k, 1.1),
        late_s=0.04 - 0.06 * k,
        spread_s=0.018 + 0.05 * k,
        forget=0.005 + 0.06 * k,
        notice=1.0 - 0.6 * k,
        slip=0.0002 + 0.003 * k * k,
        lead_back=0.3 * k * k,
        cut_corner=4.0 * k * k,
        short_of_edge=0.15 * k * k,
        hasty=0.3 * k * k,
        speed=1.0 + 0.5 * k,
    )
