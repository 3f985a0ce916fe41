"""Strap by guide tube: a directional collimator strapped on the pipe, the source sent to it through a guide tube."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.order.equipment import PlacementName
from halflayer.order.guide import GuideTube
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.placements.base import GEOMETRY, KIT
from halflayer.technique.placements.strap import Strap
from halflayer.technique.words import mm

SAME = 0.05  # the head's travel time may differ from length / speed by this share: our choice


class StrapGuided(Strap):
    """Double wall single image with a collimator in contact that a guide tube feeds."""

    name: PlacementName = "strap-guided"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """The geometries of the strap with each guide tube of the kit; none without a guide tube."""
        guides = [g for g in ask.order.kit.guides if g.count > 0]
        for p in super().propose(ask) if guides else ():
            for guide in guides:
                yield replace(
                    p,
                    guide=guide.id,
                    checks=(*p.checks, _length(ask, p, guide), _travel(ask, guide)),
                    settings=_settings(ask, guide),
                )


def way_m(ask: Ask, p: Proposal) -> float | None:
    """Straight way from the container by the stated bends to the collimator, at its farthest clock [m].

    None where the order does not say where the container stands.
    """
    weld = ask.weld
    if weld.guide_from is None:
        return None
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    stations = [weld.guide_from, *weld.guide_by, centre]
    return sum(math.dist(a, b) for a, b in zip(stations, stations[1:], strict=False)) + (
        ask.radius + p.standoff_m
    )


def _length(ask: Ask, p: Proposal, guide: GuideTube) -> Check:
    way = way_m(ask, p)
    if way is None:
        return check(
            "length of the guide tube",
            required="from the container to the collimator",
            reached=f"{guide.id}: {guide.length_m:.3g} m; where the container stands is not stated",
            holds=None,
            source=KIT,
        )
    lack = way - guide.length_m
    return check(
        "length of the guide tube",
        required=f"{way:.3g} m from the container by its bends to the collimator at any clock",
        reached=f"{guide.id}: {guide.length_m:.3g} m",
        holds=lack <= 1e-9,
        source=f"{GEOMETRY}, {KIT}",
        relax=(f"a guide tube {mm(math.ceil(lack * 1e3) / 1e3)} longer, or the container nearer",)
        if lack > 1e-9
        else (),
    )


def _travel(ask: Ask, guide: GuideTube) -> Check:
    """The head's stated travel time is what short exposures are judged by: it must be that of the tube."""
    stated, own = ask.head.travel_s, guide.travel_s
    return check(
        "travel of the source",
        required=f"{own:.3g} s through {guide.id} at {guide.speed_m_s:.3g} m/s",
        reached=f"{ask.head.id} states {stated:.3g} s",
        holds=stated >= own * (1 - SAME),
        source=KIT,
        relax=(f"a travel of {own:.3g} s stated for {ask.head.id}",),
    )


def _settings(ask: Ask, guide: GuideTube) -> tuple[Derived, ...]:
    """guide (id), guide_length [m], guide_travel [s] one way."""
    where = ask.weld.guide_from
    at = (
        "container where the order does not say"
        if where is None
        else "container at site " + ", ".join(f"{c:.3g}" for c in where) + " m"
    )
    return (
        Derived("guide", guide.id, source="the order", basis=f"{guide.material}; {at}"),
        Derived("guide_length", guide.length_m, "m", source="the order", basis="laid as straight as it goes"),
        Derived(
            "guide_travel",
            guide.travel_s,
            "s",
            formula="length / speed",
            inputs=(
                Derived("length", guide.length_m, "m", source="the order"),
                Derived("speed", guide.speed_m_s, "m/s", source="the order"),
            ),
            basis="one way; out and back for each exposure",
        ),
    )
