"""The luminance that a film asks of its viewer."""

from __future__ import annotations

from halflayer.exposure.result import Exposure
from halflayer.technique.result import Candidate

# Luminance that is to come through a film, up to density 2.5 and above: ISO 5580 (from memory, unverified).
THROUGH_CD_M2, THROUGH_DARK_CD_M2, DARK = 30.0, 10.0, 2.5
SOURCE = "ISO 5580 (from memory, unverified)"


def viewer_needed_cd_m2(density: float) -> float:
    """Luminance of the viewer that shows a density: what must come through times 10 to the density.

    Source: ISO 5580 (from memory, unverified): 30 cd/m2 through the film up to density 2.5, 10 cd/m2 above.

    >>> round(viewer_needed_cd_m2(2.0)), round(viewer_needed_cd_m2(4.0))
    (3000, 100000)
    """
    return float((THROUGH_CD_M2 if density <= DARK else THROUGH_DARK_CD_M2) * 10.0**density)


def viewer_for(darkest: float) -> float:
    """Luminance for all densities up to the darkest: the step at 2.5 makes that one ask more than some above it."""
    return max(viewer_needed_cd_m2(darkest), viewer_needed_cd_m2(min(darkest, DARK)))


def darkest_read(c: Candidate, exposure: Exposure | None) -> float:
    """The darkest density planned that is read, no more than the most that may be."""
    read = [d.most for s in (exposure.shots if exposure else ()) if (d := s.density) is not None]
    read += [s.second.density.most for s in (exposure.shots if exposure else ()) if s.second]
    return min(max(read, default=c.density_max), c.density_max)


def round_up(luminance: float) -> int:
    """A least luminance, rounded up to two digits."""
    step = 10 ** max(len(str(int(luminance))) - 2, 0)
    return int(-(-luminance // step) * step)
