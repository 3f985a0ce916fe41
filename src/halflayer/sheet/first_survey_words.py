"""The first survey of a weld in words: how long, in which exposure or with which head, and when the rest is read."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.exposure.result import FirstSurvey
from halflayer.sheet.figures import Show

LEFT_OVER = "(left over: again, no film)"


def head(survey: FirstSurvey, show: Show | None, shot: int, *, opened: bool) -> str:
    """What stands before its points: the time it takes, the walk in it, and the exposure that it is made in or set for.

    `shot`: the exposure that is shot first, named where it is not exposure 1; `opened`: what lies about the film is
    laid without it and opened for it after the survey.
    """
    takes = f"{show.up(survey.out_s, 'time')}, " if show is not None else ""
    alone = "before film" if opened else "no film"
    out_of_turn = f"head as for exposure {shot}, shot first" if shot > 1 else ""
    if survey.in_first:
        return f"first survey, {takes}in exposure {shot}{', shot first' * (shot > 1)} {LEFT_OVER}"
    return f"first survey, {takes}{alone}{', ' * bool(out_of_turn)}{out_of_turn}"


def later(survey: FirstSurvey, sequence: Sequence[int]) -> list[str]:
    """In which exposures the points beside its own are read; empty where there is none.

    `sequence`: numbers of the exposures as they are shot; none: by their numbers.
    """
    at = [str(sequence[n] if sequence else n + 1) for n, m in enumerate(survey.others) if m]
    if not at:
        return []
    when = f"exposure {at[0]}" if len(at) == 1 else f"exposures {', '.join(at[:-1])} and {at[-1]}"
    return [f"others in {when}"]
