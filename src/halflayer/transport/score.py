"""Next-event scores: what a photon leaving a collision is expected to bring to every point, ring and area."""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined
from halflayer.scene.rays import cast, way_out
from halflayer.transport import constants as c
from halflayer.transport.flight import fading, left_after
from halflayer.transport.forward import (
    ACROSS,
    aim_aside,
    bent,
    coherent_depth,
    depth,
    near_area,
    scored_before,
)  # fmt: skip
from halflayer.transport.interactions import (
    circle,
    klein_nishina,
    node,
    ray_at,
    shapes_at,
)
from halflayer.transport.layout import (
    AT_POINT,
    BANDS,
    E1X,
    E1Y,
    E1Z,
    E2X,
    E2Y,
    E2Z,
    GATE,
    KIND,
    MEAN,
    NEAR2,
    ON_AREA,
    ON_RING,
    SCORING_RAYS,
    SHARES,
    X,
    Y,
    Z,
)  # fmt: skip
from halflayer.transport.rng import draw
from halflayer.transport.stakes import band_of

_PER_SR = 1.0 / c.FOUR_PI
_DRAW_SCORE = c.DRAW_SCORE
_DRAWS = c.DRAWS_PER_SCORE
_PAIR_LAM = c.PAIR_LAM
_BANDS = BANDS
# K photons deeper than this bring nothing (e^-40); weak coherent scatter is scored one time in SELDOM where the way is
# no deeper than CLEAR for what Compton scatter sends there.
_BLACK = 40.0
_SELDOM = 50.0
_CLEAR = 2.0
_LEAST_R2 = 0.0005**2
# Compton scatter brings a target up to this many times what it would if it were even in all directions; scoring
# rays are rouletted on that guess alone when it stays under a part 1 / GENEROUS of the gate.
_FOCUS = 3.0
_GENEROUS = 0.2


@compiled
def target(rows, p, state, collision):
    """The place that a score looks at this time: x, y, z."""
    x = rows[p, X]
    y = rows[p, Y]
    z = rows[p, Z]
    if rows[p, KIND] == AT_POINT:
        return x, y, z
    if rows[p, KIND] == ON_RING:
        b, a = circle(draw(state, collision, _DRAW_SCORE + _DRAWS * p))
    else:
        a = 2.0 * draw(state, collision, _DRAW_SCORE + _DRAWS * p) - 1.0
        b = 2.0 * draw(state, collision, _DRAW_SCORE + _DRAWS * p + 1) - 1.0
    return (
        x + a * rows[p, E1X] + b * rows[p, E2X],
        y + a * rows[p, E1Y] + b * rows[p, E2Y],
        z + a * rows[p, E1Z] + b * rows[p, E2Z],
    )


@compiled
def _spectrum(edges, bins, spectrum, p, lam, kerma):
    for b in range(bins):
        if edges[b] >= lam > edges[b + 1]:
            spectrum[p * bins + b] += kerma


@inlined
def put(rules, tables, targets, tally, p, solid, fluence, i, f, lam):
    """Add fluence of photons of lam (grid place i, f) to a score; returns its air kerma."""
    kerma = fluence * ray_at(tables, i, f, 0)
    tally.history[2 * p] += kerma
    tally.history[2 * p + 1] += fluence * ray_at(tables, i, f, 1)
    tally.scores[p * tally.columns + SHARES + solid] += kerma
    if rules.bins > 0 and targets.rows[p, KIND] == ON_AREA:
        _spectrum(rules.edges, rules.bins, tally.spectrum, p, lam, kerma)
    return kerma


@inlined
def outlook(tables, lam, weight, inc, kph, ann, k_lam):
    """What one collision offers to all targets: air kerma per fluence before it; what K and annihilation photons would
    bring without attenuation; grid places of these; what a target at 1 m would get, by a generous guess."""
    i0, f0 = node(tables, lam)
    kerma_0 = ray_at(tables, i0, f0, 0)
    flat = 0.0
    ik = 0
    fk = 0.0
    ip = 0
    fp = 0.0
    if kph > 0.0:
        ik, fk = node(tables, k_lam)
        flat += ray_at(tables, ik, fk, 0) * kph * _PER_SR
    if ann > 0.0:
        ip, fp = node(tables, _PAIR_LAM)
        flat += ray_at(tables, ip, fp, 0) * ann * _PER_SR
    rough = weight * (inc * kerma_0 * _PER_SR * _FOCUS + flat) * (1.0 / _GENEROUS)
    return i0, f0, kerma_0, flat, ik, fk, ip, fp, rough


@inlined
def glance(rules, targets, p, state, collision, x, y, z, lam, solid, rough):
    """Whether target p is worth a closer look: chance with which it is taken (0: it is not), what the collision is then
    taken to bring, the place looked at, and the way there."""
    rows = targets.rows
    luck = 1.0
    useful = 0.0
    tx = rows[p, X]
    ty = rows[p, Y]
    tz = rows[p, Z]
    if near_area(rows, p, x, y, z):
        # Only crossings score from here. So that the roulette does not take the photon for useless: what a
        # point at half the patch's reach would get of even scatter.
        luck = 0.0
        if rows[p, MEAN] > 0.0:
            useful = 4.0 * rough * _GENEROUS / (rows[p, NEAR2] * rows[p, MEAN])
    elif rows[p, KIND] != AT_POINT:
        tx, ty, tz = target(rows, p, state, collision)
    vx = tx - x
    vy = ty - y
    vz = tz - z
    # A point on a face takes what lies within half a millimetre as if it lay at that distance.
    r2 = max(vx * vx + vy * vy + vz * vz, _LEAST_R2)
    gate = rows[p, GATE]
    if luck > 0.0:
        if gate <= 0.0:
            if rules.sample < 1.0:
                luck = rules.sample
                if draw(state, collision, _DRAW_SCORE + _DRAWS * p + 6) > luck:
                    luck = 0.0
        else:
            guess = rough * targets.reach[(p * targets.places + solid) * _BANDS + band_of(lam)]
            if guess < gate * r2:
                # Even a generous guess promises little.
                luck = max(guess / (gate * r2), rules.least_ray)
                if draw(state, collision, _DRAW_SCORE + _DRAWS * p + 6) > luck:
                    useful = guess / (r2 * rows[p, MEAN]) * _GENEROUS
                    luck = 0.0
    return luck, useful, tx, ty, tz, vx, vy, vz, r2


@inlined
def angle(tables, material, dx, dy, dz, lam, f_inc, f_coh, vx, vy, vz, r2):
    """The scatter towards a target: unit vector and distance, cosine, lam after a Compton scatter and its grid
    place, and both cross sections per solid angle."""
    length = math.sqrt(r2)
    inv = 1.0 / length
    vx *= inv
    vy *= inv
    vz *= inv
    cosine = dx * vx + dy * vy + dz * vz
    lam_c = lam + 1.0 - cosine
    ic, fc = node(tables, lam_c)
    compton, coherent = shapes_at(tables.shape, material, lam, cosine)
    compton *= f_inc * klein_nishina(lam, cosine)
    if lam_c > tables.last:
        compton = 0.0
    coherent *= f_coh * 0.5 * (1.0 + cosine * cosine)
    return vx, vy, vz, length, inv, cosine, lam_c, ic, fc, compton, coherent


@inlined
def weigh(
    rules, tables, scene, targets, p, state, collision, x, y, z, vx, vy, vz, length, inv, weight, solid, material,
    luck, lam_c, ic, fc, compton, coherent, kerma_0, flat,
):  # fmt: skip
    """Whether a scoring ray to target p is worth casting: chance so far (0: it is not), what the collision is then
    taken to bring, and the ray's promise without attenuation but that of the solid which it leaves."""
    useful = 0.0
    spread = inv * inv
    crude = weight * spread * (compton * ray_at(tables, ic, fc, 0) + coherent * kerma_0 + flat)
    if solid > 0:
        # A first guess of the attenuation: that of the solid it is in.
        local = min(way_out(scene, solid, x, y, z, vx, vy, vz), length) * ray_at(tables, ic, fc, 2 + material)
        crude *= fading(local)
    gate = targets.rows[p, GATE]
    hope = crude * targets.reach[(p * targets.places + solid) * _BANDS + band_of(lam_c)]
    if hope < gate * luck:
        chance = max(hope / (gate * luck), rules.least_ray)
        if draw(state, collision, _DRAW_SCORE + _DRAWS * p + 2) > chance:
            useful = hope / targets.rows[p, MEAN]
            luck = 0.0
        else:
            luck *= chance
    return luck, useful, crude


@inlined
def ray(
    rules, tables, scene, targets, s, tally, p, state, collision, x, y, z, dx, dy, dz, lam, weight, solid, material,
    kph, ann, f_inc, f_coh, k_lam, nodes, place, way, scatter, luck, crude,
):  # fmt: skip
    """Cast the scoring ray to target p and score; returns contribution / expected score.

    nodes: grid places of lam, k_lam and annihilation photons, air kerma per fluence (`outlook`); place: where it
    goes; way: unit vector, distance and its inverse; scatter: lam after a Compton scatter, its grid place, cross
    sections (`angle`).
    """
    i0, f0, ik, fk, ip, fp, kerma_0 = nodes
    tx, ty, tz = place
    vx, vy, vz, length, inv = way
    lam_c, ic, fc, compton, coherent = scatter
    rows = targets.rows
    gate = rows[p, GATE]
    share = weight / luck
    spread = inv * inv * share
    m = cast(scene, x, y, z, vx, vy, vz, length, s)
    tally.counts[SCORING_RAYS] += 1
    got = 0.0
    got_c = 0.0
    got_k = 0.0
    got_p = 0.0
    got_r = 0.0
    useful = 0.0
    # Coherent scatter from here may have been scored before; a second one on the way was not. Of two the first turns by
    # half the whole angle at least.
    cosine = dx * vx + dy * vy + dz * vz
    _, form = shapes_at(tables.shape, material, lam, cosine)
    _, form_half = shapes_at(tables.shape, material, lam, math.sqrt(max(0.5 * (1.0 + cosine), 0.0)))
    twice = f_coh * max(form, 0.25 * form_half)
    rare = 1.0
    deep = 0.0
    # What gas scatters straight to a target is scored along the whole flight (`thin`), what goes on from there by
    # forward scatter only here.
    plain = tables.thin[material] == 0
    for channel in range(4):
        if channel == 0:
            sigma, i, f, out_lam = compton, ic, fc, lam_c
        elif channel == 1:
            # Behind a shield what kept its energy may be most of what arrives, however weak.
            if twice < 1e-3 * compton and deep < _CLEAR:
                rare = _SELDOM
                if draw(state, collision, _DRAW_SCORE + _DRAWS * p + 7) * _SELDOM > 1.0:
                    rare = 0.0
                coherent *= rare
                twice *= rare
            sigma, i, f, out_lam = twice, i0, f0, lam
        elif channel == 2:
            sigma, i, f, out_lam = kph * _PER_SR, ik, fk, k_lam
        else:
            sigma, i, f, out_lam = ann * _PER_SR, ip, fp, _PAIR_LAM
        if sigma > 0.0:
            deep = depth(tables, scene, s, m, i, f)
            if deep < _BLACK:
                out = spread * sigma * left_after(deep)
                if channel == 1:
                    got_r = out * kerma_0
                    out *= coherent / twice
                if plain:
                    out = put(rules, tables, targets, tally, p, solid, out, i, f, out_lam)
                else:
                    out *= ray_at(tables, i, f, 0)
                got += out
                if channel == 0:
                    got_c = out
                elif channel == 2:
                    got_k = out
                elif channel == 3:
                    got_p = out
    if rules.learn > 0 and plain:
        at_reach = (p * targets.places + solid) * _BANDS + band_of(lam_c)
        tally.promised[at_reach] += crude * crude
        tally.kept[at_reach] += (got * luck) ** 2
    if rows[p, MEAN] > 0.0:
        useful = got * (luck if gate > 0.0 else 1.0) / rows[p, MEAN]
    # A scatter (or a K or annihilation photon) from here, then forward coherent scatter on the way: one of the
    # four, by what each brings straight.
    whole = got_c + got_k + got_p
    got_r = min(got_r, 4.0 * whole) if whole > 0.0 else got_r
    whole += got_r
    pick = whole * draw(state, collision, _DRAW_SCORE + _DRAWS * p + 9)
    way_lam, iw, fw = lam_c, ic, fc
    sigma, part = compton, got_c
    if pick > got_c:
        way_lam, iw, fw = k_lam, ik, fk
        sigma, part = kph * _PER_SR, got_k
        if pick > got_c + got_k:
            way_lam, iw, fw = _PAIR_LAM, ip, fp
            sigma, part = ann * _PER_SR, got_p
            if pick > got_c + got_k + got_p:
                way_lam, iw, fw = lam, i0, f0
                part = got_r
    if part > 0.0:
        total = coherent_depth(tables, scene, s, m, iw, fw)
        chance = min(1.0, 0.5 * total)
        if gate > 0.0:
            # Where little comes straight, little comes by forward scatter.
            chance *= min(1.0, max(whole / gate, 0.3))
        if draw(state, collision, _DRAW_SCORE + _DRAWS * p + 8) < chance:
            share *= whole / (part * chance)
            factor, ux, uy, uz, b_solid, nth, part_b, longest = aim_aside(
                tables, scene, s, state, collision, p, m, vx, vy, vz, length, iw, fw, way_lam, total
            )  # fmt: skip
            lam_b = way_lam
            least = ACROSS
            if pick > got_c + got_k + got_p:
                cosine = dx * ux + dy * uy + dz * uz
                _, form = shapes_at(tables.shape, material, lam, cosine)
                sigma = f_coh * 0.5 * (1.0 + cosine * cosine) * form * rare
                least = max(least, cosine)
            elif pick <= got_c:
                cosine = dx * ux + dy * uy + dz * uz
                lam_b = lam + 1.0 - cosine
                sigma, _ = shapes_at(tables.shape, material, lam, cosine)
                sigma *= f_inc * klein_nishina(lam, cosine)
            if factor > 0.0 and lam_b <= tables.last:
                out = sigma * share * factor
                out *= bent(
                    tables, scene, rows, s, p, x, y, z, ux, uy, uz, length, b_solid, nth, part_b, longest, tx, ty,
                    tz, lam_b, least,
                )  # fmt: skip
                ib, fb = node(tables, lam_b)
                put(rules, tables, targets, tally, p, b_solid, out, ib, fb, lam_b)
    return useful


@inlined
def chosen(state, collision, p, more, total, pick):
    """The target remembered once target p brought `more` of the `total` so far: each by its part of the whole."""
    if more > 0.0 and draw(state, collision, _DRAW_SCORE + _DRAWS * p + 10) * total < more:
        pick = p
    return pick


@inlined
def collide(
    rules, tables, scene, targets, s, tally, state, collision, x, y, z, dx, dy, dz, lam, weight, solid,
    inc, kph, ann, f_inc, f_coh, k_lam, ax, ay, az, before, nth, begin, stop,
):  # fmt: skip
    """Score one collision on every target; returns the mean over targets of contribution / expected score, and a
    target chosen by its part of that (-1: none).

    weight: photon weight per path length [m], that is weight / mu; kph, ann, f_inc, f_coh: columns 2 to 5 of
    `Tables.process` at the collision; k_lam: lam of the K photon drawn for this collision; a: place of the last
    emission, before: cosine of a turn above which forward scatter was scored from there; nth, begin, stop: the stretch
    of the flight that the collision is in (`stretch_at`).
    """
    material = scene.material[solid]
    useful = 0.0
    pick = -1
    i0, f0, kerma_0, flat, ik, fk, ip, fp, rough = outlook(tables, lam, weight, inc, kph, ann, k_lam)
    for p in range(targets.count):
        luck, more, tx, ty, tz, vx, vy, vz, r2 = glance(
            rules, targets, p, state, collision, x, y, z, lam, solid, rough
        )
        if luck > 0.0:
            vx, vy, vz, length, inv, cosine, lam_c, ic, fc, compton, coherent = angle(
                tables, material, dx, dy, dz, lam, f_inc, f_coh, vx, vy, vz, r2
            )
            luck, more, crude = weigh(
                rules, tables, scene, targets, p, state, collision, x, y, z, vx, vy, vz, length, inv, weight, solid,
                material, luck, lam_c, ic, fc, compton, coherent, kerma_0, flat,
            )  # fmt: skip
            if luck > 0.0:
                if cosine > before and scored_before(
                    scene, targets.rows, s, p, ax, ay, az, x, y, z, tx, ty, tz, solid, nth, begin, stop
                ):
                    coherent = 0.0
                more = ray(
                    rules, tables, scene, targets, s, tally, p, state, collision, x, y, z, dx, dy, dz, lam, weight,
                    solid, material, kph, ann, f_inc, f_coh, k_lam, (i0, f0, ik, fk, ip, fp, kerma_0), (tx, ty, tz),
                    (vx, vy, vz, length, inv), (lam_c, ic, fc, compton, coherent), luck, crude,
                )  # fmt: skip
        useful += more
        pick = chosen(state, collision, p, more, useful, pick)
    return useful / targets.count, pick
