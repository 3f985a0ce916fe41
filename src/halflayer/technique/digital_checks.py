"""The code's verdicts on an imaging plate or a panel: form, basic spatial resolution, signal-to-noise ratio."""

from __future__ import annotations

import math
from typing import Any

from halflayer.order.digital import DigitalDetector
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.rules import LARGEST_PLAIN_MAGNIFICATION, OURS, Answer, double_image
from halflayer.technique.words import mm


def magnification(p: Proposal) -> float:
    """Magnification of the source side of the object on the detector: (f + b) / f."""
    return (p.source_to_object_m + p.object_to_detector_m) / p.source_to_object_m


def image_resolution_m(*, resolution_m: float, unsharpness_m: float, magnification: float) -> float:
    """Basic spatial resolution of the image at the object [m].

    Half of sqrt(Ug^2 + (2 SRb)^2) / M: geometric unsharpness and detector in quadrature, brought back to the
    object. Source: usual sum of unsharpnesses, form of ISO 17636-2 (from memory, unverified).

    >>> round(1e6 * image_resolution_m(resolution_m=1e-4, unsharpness_m=0.0, magnification=1.0), 6)
    100.0
    """
    return math.hypot(unsharpness_m, 2 * resolution_m) / magnification / 2


def digital_checks(
    ask: Ask, p: Proposal, detector: DigitalDetector, *, thickness_m: float, unsharpness_m: float
) -> list[Check]:
    """Verdicts that a digital code asks for beside those shared with film."""
    return [
        _form(p, detector),
        _resolution(ask, p, detector, thickness_m, unsharpness_m),
        _signal_to_noise(ask, detector, thickness_m),
    ]


def _form(p: Proposal, detector: DigitalDetector) -> Check:
    bent = not double_image(p.technique)
    return check(
        "detector laid on the pipe",
        required="bent round the pipe" if bent else "flat under the pipe",
        reached=f"{detector.id}: {detector.kind}" + ("" if detector.bends else ", does not bend"),
        holds=detector.bends if bent else True,
        source="geometry",
        relax=("an imaging plate",),
    )


def _no_row(rule: str, answer: Answer[Any]) -> Check:
    """What the code's table says nothing of is not judged to hold."""
    return check(rule, required="a row in the table", reached=answer.note, holds=False, source=answer.source)


def _resolution(
    ask: Ask, p: Proposal, detector: DigitalDetector, thickness_m: float, unsharpness_m: float
) -> Check:
    answer = ask.rules.resolution(thickness_m=thickness_m)
    if answer.value is None:
        return _no_row("basic spatial resolution", answer)
    need, m = answer.value, magnification(p)
    relax: tuple[str, ...] = (f"a detector with a resolution of {need.most_m * 1e6:.0f} um",)
    if m <= LARGEST_PLAIN_MAGNIFICATION + 1e-9:
        reached_m, how = detector.basic_resolution_m, f"detector, magnification {m:.2f}"
    else:
        reached_m = image_resolution_m(
            resolution_m=detector.basic_resolution_m, unsharpness_m=unsharpness_m, magnification=m
        )
        how = f"image, magnification {m:.2f}, Ug {unsharpness_m * 1e3:.2f} mm"
        plain = p.object_to_detector_m / (LARGEST_PLAIN_MAGNIFICATION - 1.0)
        farther = f"a source {mm(plain)} off the object, at magnification {LARGEST_PLAIN_MAGNIFICATION:g}"
        fine = detector.basic_resolution_m <= need.most_m + 1e-12
        relax = (farther,) if fine else (*relax, farther)
    return check(
        "basic spatial resolution",
        required=f"SRb <= {need.most_m * 1e6:.0f} um (duplex element {need.element})",
        reached=f"{reached_m * 1e6:.0f} um ({how})",
        holds=reached_m <= need.most_m + 1e-12,
        source=f"{answer.source}; compensation by contrast: not covered",
        relax=relax,
    )


def _signal_to_noise(ask: Ask, detector: DigitalDetector, thickness_m: float) -> Check:
    answer = ask.rules.signal_to_noise(ask.source.nuclide, metal=ask.metal, thickness_m=thickness_m)
    if answer.value is None:
        return _no_row("signal-to-noise ratio", answer)
    return check(
        "signal-to-noise ratio",
        required=f"SNR_N >= {answer.value:g} beside the weld",
        reached=f"{detector.id} reaches up to {detector.snr_n_most:g}; the time is set for it",
        holds=detector.snr_n_most > answer.value,
        source=f"{answer.source}; growth with dose: {OURS}, see the detector's figures",
        relax=(f"a detector that reaches more than {answer.value:g}",),
    )
