"""Strap by guide tube: a directional collimator strapped on the pipe, the source sent to it through a guide tube."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.order.equipment import PlacementName
from halflayer.order.guide import STRAIGHT_M, GuideTube
from halflayer.technique import tube_room
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.placements.base import GEOMETRY, KIT
from halflayer.technique.placements.strap import Strap
from halflayer.technique.tube_way import TubeWay, straight_way_m, tube_way
from halflayer.technique.words import deg, listed, mm

LENGTH = "length of the guide tube"
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
                    checks=(
                        *p.checks,
                        _length(ask, p, guide),
                        *_bends(ask, p, guide),
                        *_room(ask, p, guide),
                        _travel(ask, guide),
                    ),
                    settings=(*_settings(ask, guide), *_way_settings(ask, p, guide)),
                )


def ways(ask: Ask, p: Proposal, guide: GuideTube) -> list[TubeWay | None]:
    """How the tube lies at each exposure; None where the container's place or the tube's least radius is not stated."""
    if guide.bend_radius_m is None:
        return [None for _ in p.shots]
    return [
        tube_way(ask.weld, s.source_clock_rad, from_axis_m=_back_m(ask, p), radius_m=guide.bend_radius_m)
        for s in p.shots
    ]


def _back_m(ask: Ask, p: Proposal) -> float:
    """Where the tube meets the collimator: its back, off the pipe's axis."""
    return ask.radius + p.standoff_m - ask.head.source_to_face_m + ask.head.body[2]


def _length(ask: Ask, p: Proposal, guide: GuideTube) -> Check:
    """Whether the tube is as long as its way at every exposure; by straight distances where no radius is stated."""
    straight = [straight_way_m(ask.weld, s.source_clock_rad, from_axis_m=_back_m(ask, p)) for s in p.shots]
    known = [d for d in straight if d is not None]
    if not known:
        return check(
            LENGTH,
            required="from the container to the collimator",
            reached=f"{guide.id}: {guide.length_m:.3g} m; where the container stands is not stated",
            holds=None,
            source=KIT,
        )
    laid = [w.length_m for w in ways(ask, p, guide) if w is not None]
    needed = laid or known
    way, short = max(needed), [n for n, d in enumerate(needed, start=1) if d > guide.length_m + 1e-9]
    how = (
        f"with {STRAIGHT_M:g} m straight off the collimator and bends of {mm(guide.bend_radius_m or 0.0)}"
        if laid
        else "straight; the tube's least bend radius is not stated, so its bends are not counted"
    )
    lack = way - guide.length_m
    reached = f"{guide.id}: {guide.length_m:.3g} m; " + listed(
        f"exposure {n} {d:.2f} m" for n, d in enumerate(needed, start=1)
    )
    return check(
        LENGTH,
        required=f"{way:.3g} m from the container by its bends to the collimator at any clock, {how}",
        reached=reached + (f"; it does not reach exposure {listed(map(str, short))}" if short else ""),
        holds=False if short else (True if laid else None),
        source=f"{GEOMETRY}, {KIT}",
        relax=(
            f"a guide tube {mm(math.ceil(lack * 1e3) / 1e3)} longer, or the container nearer or along the pipe",
        )
        if short
        else (),
    )


def _bends(ask: Ask, p: Proposal, guide: GuideTube) -> tuple[Check, ...]:
    """Whether the tube can be laid so: no bend in the floor, none tighter than it may be, no more than stated."""
    found = [(n, w) for n, w in enumerate(ways(ask, p, guide), start=1) if w is not None]
    if not found:
        return ()
    outer = guide.bore_m / 2 + guide.wall_m
    low = [n for n, w in found if w.lowest_m < outer]
    tight = [n for n, w in found if w.tight]
    many = [n for n, w in found if guide.bends is not None and w.bends > guide.bends]
    words = [
        f"{what} at exposure {listed(map(str, which))}"
        for what, which in (
            ("its bend lies in the floor", low),
            ("a bend tighter than that", tight),
            ("more bends", many),
        )
        if which
    ]
    most = f", at most {guide.bends} bends" if guide.bends is not None else ""
    return (
        check(
            "bends of the guide tube",
            required=f"none tighter than {mm(guide.bend_radius_m or 0.0)}{most}, above the floor",
            reached="; ".join(words) or listed(f"exposure {n} {deg(w.turn_rad)}" for n, w in found),
            holds=not words,
            source=f"{GEOMETRY}, {KIT}",
            relax=(
                "the container elsewhere (along the pipe, the tube turns least)",
                "stations by which it goes",
            )
            if words
            else (),
        ),
    )


def _room(ask: Ask, p: Proposal, guide: GuideTube) -> tuple[Check, ...]:
    """Whether the laid tube keeps out of what the order states: doses rest on that way, so it must be one."""
    outer = guide.bore_m / 2 + guide.wall_m
    paths = [(f"exposure {n}", w.path) for n, w in enumerate(ways(ask, p, guide), start=1) if w is not None]
    if not paths:
        return ()
    return (
        tube_room.room_check(ask.order, ask.weld, paths, outer_m=outer),
        tube_room.beside_check(ask.weld, paths, outer_m=outer),
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


def _way_settings(ask: Ask, p: Proposal, guide: GuideTube) -> tuple[Derived, ...]:
    """guide_way_N [m]: the least length of tube at each exposure, with its parts."""
    parts = ("straight off the collimator", "bend", "straight on to the container")
    return tuple(
        Derived(
            f"guide_way_{n}",
            w.length_m,
            "m",
            formula="straight + radius x turn + straight",
            inputs=(
                *(
                    Derived(name, value, "m")
                    for name, value in zip(parts, (w.straight_m, w.bend_m, w.rest_m), strict=True)
                ),
                Derived("turn", w.turn_rad, "rad"),
                Derived("least bend radius", guide.bend_radius_m, "m", source="the order"),
            ),
            source=GEOMETRY,
            basis=f"exposure {n}, {w.bends} bends",
        )
        for n, w in enumerate(ways(ask, p, guide), start=1)
        if w is not None
    )
