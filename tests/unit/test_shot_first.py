"""Which exposure is shot first, where only another than exposure 1 tells what may be lost of a shield.

Cases by hand, common practice (the survey comes before the films), no source.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

from halflayer.exposure.result import FirstSurvey
from halflayer.sheet import first_survey_words
from halflayer.shielding import shot_first as module
from halflayer.shielding.shot_first import in_sequence, shot_first


def first(
    monkeypatch: pytest.MonkeyPatch,
    *,
    looked_at: int = 3,
    told: dict[int, list[int]] | None = None,
    anew: bool = False,
    seconds: float = 200.0,
    again: object = None,
    in_first: bool = False,
) -> int:
    monkeypatch.setattr(module, "read_in", lambda *_: {3: [7]} if told is None else told)
    monkeypatch.setattr(module, "laid_anew", lambda *_: anew)
    shots = [SimpleNamespace(seconds=SimpleNamespace(value=s)) for s in (200.0, 200.0, seconds, 200.0)]
    survey = FirstSurvey(8, 60.0, 180.0, in_first=in_first)
    exposure = SimpleNamespace(shots=shots, read_again=again, first_survey=survey)
    some = cast(Any, SimpleNamespace(shot=looked_at))
    return shot_first(some, some, some, cast(Any, exposure), some, some, some)


def test_the_exposure_that_tells_a_lost_plate_is_shot_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plate out shows at point 7 in exposure 3 alone: it is shot first; where exposure 1 tells it, that is."""
    assert first(monkeypatch) == 3
    assert first(monkeypatch, looked_at=1, told={1: [7]}) == 1


def test_exposure_1_stays_first_where_another_tells_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """No point tells it; the shield is laid anew, so that each exposure is read; the head is read before each."""
    assert first(monkeypatch, told={0: [0]}) == 1
    assert first(monkeypatch, anew=True) == 1
    assert first(monkeypatch, again=object()) == 1


def test_a_survey_in_the_exposure_asks_for_as_long_a_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """180 s of survey go into 200 s of exposure, not into 150 s."""
    assert first(monkeypatch, in_first=True) == 3
    assert first(monkeypatch, in_first=True, seconds=150.0) == 1
    assert first(monkeypatch, seconds=150.0) == 3  # without film before it: as long as it takes


def test_the_others_follow_by_their_numbers() -> None:
    """Numbers and clocks stay those of the marking plan: after the last comes exposure 1."""
    assert in_sequence(8, 10) == [8, 9, 10, 1, 2, 3, 4, 5, 6, 7]
    assert in_sequence(1, 3) == [1, 2, 3]


def test_the_first_survey_names_the_exposure_that_the_head_stands_for() -> None:
    """Said only where it is not exposure 1; the other points are read as the exposures are shot."""
    survey = FirstSurvey(8, 60.0, 180.0, (2, 1))
    assert first_survey_words.head(survey, None, 1, opened=False) == "first survey, no film"
    told = first_survey_words.head(survey, None, 8, opened=False)
    assert told == "first survey, no film, head as for exposure 8, shot first"
    within = first_survey_words.head(replace(survey, in_first=True), None, 8, opened=False)
    assert within == "first survey, in exposure 8, shot first (left over: again, no film)"
    assert first_survey_words.later(survey, in_sequence(10, 10)) == ["others in exposures 10 and 1"]
    assert first_survey_words.later(survey, ()) == ["others in exposures 1 and 2"]
