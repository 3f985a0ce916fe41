"""A step of the crew as an opened figure: its rate, its seconds, how often."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.shielding.safety_result import CrewStep


def as_figure(s: CrewStep) -> Derived:
    """A step's dose as an opened figure: rate, seconds, how often."""
    where = "" if s.distance_m is None else f" at {s.distance_m:.3g} m"
    rate = Derived("dose rate" + where, s.rate_Sv_s, "Sv/s", basis=s.basis)
    return Derived(
        s.what,
        s.dose_Sv,
        "Sv",
        formula=f"rate x {s.seconds:.4g} s x {s.times}",
        inputs=(rate,),
        basis=s.basis if s.dose_Sv is None else "upper value",
    )
