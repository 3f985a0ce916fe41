"""The GPU's items: what is to be scored from the flights and collisions of all lanes, one thread for each piece."""

from __future__ import annotations

import math

from halflayer.scene.rays import Scratch, cast, sphere_exit
from halflayer.transport.cuda_base import cuda, floats, int32, whole
from halflayer.transport.flight import lay_out
from halflayer.transport.forward import scored_before, stretch_at
from halflayer.transport.interactions import node
from halflayer.transport.lanes import (
    ANN,
    AX,
    AY,
    AZ,
    BEFORE,
    BEGAN,
    BEGUN,
    BLOCK,
    CHUNK,
    COLLISION,
    DX,
    DY,
    DZ,
    FCOH,
    FINC,
    FIRST,
    GAS,
    HEAVY,
    HISTORY,
    HIT,
    IN_GAS,
    INC,
    KLAM,
    KPH,
    LAM,
    LENGTH,
    MET,
    NX,
    NY,
    NZ,
    OX,
    OY,
    OZ,
    PHASE,
    PROMISE,
    RAYS,
    SOLID,
    WEIGHT,
    X,
    Y,
    Z,
)  # fmt: skip
from halflayer.transport.layout import POINT, S_KIND, SOURCE_COLUMNS, Tally
from halflayer.transport.score import angle, glance, outlook, ray, weigh
from halflayer.transport.straight import forward_of_source, leakage_to
from halflayer.transport.thin import choose_place, gas_key, score_place, worth_it

_BLOCK, _CHUNK, _ROOM, _POINT = BLOCK, CHUNK, BLOCK * CHUNK, POINT


def item_kernels(size, sizes):
    """The kernels of items by name. size, sizes: entries of the work space of a ray, floats and others."""

    def first(
        rules, tables, scene, sources, targets, n, columns, job, f, q, r, scores, spectrum, counts, history, none,
        nothing, begun, counters,
    ):  # fmt: skip
        """What leaves the source of lanes that began a history straight, or by one forward scatter."""
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        s = Scratch(numbers, integers, numbers[5 * scene.n + 4 :], integers[8 * scene.n + 8 :], tau)
        thread = cuda.grid(1)
        lanes = q.shape[1]
        for k in range(thread, counters[BEGUN], cuda.gridsize(1)):
            item = int(begun[k])
            p = item // lanes
            t = item - p * lanes
            tally = Tally(
                columns, scores[:, t], spectrum[:, t], counts[:, thread], history[:, t], none, none, none, none,
                none, none, none, nothing, none, none, none,
            )  # fmt: skip
            state = r[0, t]
            lam = f[LAM, t]
            weight = f[BEGAN, t]
            if sources.rows[n * SOURCE_COLUMNS + S_KIND] == _POINT:
                number = job[FIRST] * rules.group + q[HISTORY, t]
                forward_of_source(
                    rules, tables, scene, sources, targets, s, tally, state, n, number, lam, weight
                )
            else:
                leakage_to(
                    rules, tables, scene, targets, s, tally, p, state, f[OX, t], f[OY, t], f[OZ, t], f[NX, t],
                    f[NY, t], f[NZ, t], lam, weight,
                )  # fmt: skip

    def sniff(rules, targets, f, q, r, luck, in_gas, counters):
        """Which targets look at the gas of each flight."""
        room = cuda.shared.array(_ROOM, int32)
        shared = cuda.shared.array(2, int32)
        t = cuda.grid(1)
        lanes = q.shape[1]
        here = cuda.threadIdx.x
        if here == 0:
            shared[0] = 0
        cuda.syncthreads()
        gas = int(q[GAS, t])
        if gas >= 0:
            key = gas_key(r[0, t])
            met = int(q[MET, t])
            x = f[AX, t]
            y = f[AY, t]
            z = f[AZ, t]
            dx = f[DX, t]
            dy = f[DY, t]
            dz = f[DZ, t]
            lam = f[LAM, t]
            promise = f[PROMISE, t]
            length = f[LENGTH, t]
            low = cuda.blockIdx.y * _CHUNK
            for p in range(low, min(low + _CHUNK, targets.count)):
                chance, hope, foot, b = worth_it(
                    rules, targets, p, key, met, x, y, z, dx, dy, dz, lam, gas, promise, length
                )
                if chance > 0.0:
                    luck[p, t] = chance
                    room[cuda.atomic.add(shared, 0, 1)] = p * lanes + t
        cuda.syncthreads()
        if here == 0 and shared[0] > 0:
            shared[1] = cuda.atomic.add(counters, IN_GAS, shared[0])
        cuda.syncthreads()
        for k in range(here, shared[0], _BLOCK):
            in_gas[shared[1] + k] = room[k]

    def gas(
        rules, tables, scene, targets, columns, f, q, r, scores, spectrum, counts, history, luck, none, nothing,
        in_gas, counters,
    ):  # fmt: skip
        """Choose a place in the gas of a flight for a target that looks at it, and score it. The flight is cast
        again: to keep it would be more memory than work."""
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        s = Scratch(numbers, integers, numbers[5 * scene.n + 4 :], integers[8 * scene.n + 8 :], tau)
        thread = cuda.grid(1)
        lanes = q.shape[1]
        if thread == 0:
            counters[BEGUN] = 0
        for k in range(thread, counters[IN_GAS], cuda.gridsize(1)):
            item = int(in_gas[k])
            p = item // lanes
            t = item - p * lanes
            tally = Tally(
                columns, scores[:, t], spectrum[:, t], counts[:, thread], history[:, t], none, none, none, none,
                none, none, none, nothing, none, none, none,
            )  # fmt: skip
            lam = f[LAM, t]
            x = f[AX, t]
            y = f[AY, t]
            z = f[AZ, t]
            dx = f[DX, t]
            dy = f[DY, t]
            dz = f[DZ, t]
            met = int(q[MET, t])
            key = gas_key(r[0, t])
            i, part = node(tables, lam)
            far = sphere_exit(x - rules.x, y - rules.y, z - rules.z, dx, dy, dz, rules.radius)
            m = cast(scene, x, y, z, dx, dy, dz, far, s)
            seen = lay_out(tables.grid, scene.material, targets.worth, s.end, s.solid, s.tau, m, i, part)
            _, hope, foot, b = worth_it(
                rules,
                targets,
                p,
                key,
                met,
                x,
                y,
                z,
                dx,
                dy,
                dz,
                lam,
                int(q[GAS, t]),
                f[PROMISE, t],
                f[LENGTH, t],
            )
            chance = luck[p, t]
            place, factor, solid = choose_place(
                tables, scene, s, p, key, met, lam, f[HEAVY, t], seen, foot, b, chance
            )
            if factor > 0.0:
                score_place(
                    rules, tables, scene, targets, s, tally, key, met, p, place, factor, int(solid), chance, hope,
                    x, y, z, dx, dy, dz, lam,
                )  # fmt: skip

    def look(rules, tables, scene, targets, f, q, r, useful, luck, rays, counters):
        """What each collision promises each target: a closer look, a scoring ray or nothing."""
        room = cuda.shared.array(_ROOM, int32)
        shared = cuda.shared.array(2, int32)
        t = cuda.grid(1)
        lanes = q.shape[1]
        here = cuda.threadIdx.x
        if here == 0:
            shared[0] = 0
        if t == 0 and cuda.blockIdx.y == 0:
            counters[IN_GAS] = 0
        cuda.syncthreads()
        solid = int(q[SOLID, t])
        material = 0
        hit = q[PHASE, t] == HIT
        if hit:
            material = scene.material[solid]
            state = r[0, t]
            collision = int(q[COLLISION, t])
            x = f[X, t]
            y = f[Y, t]
            z = f[Z, t]
            dx = f[DX, t]
            dy = f[DY, t]
            dz = f[DZ, t]
            lam = f[LAM, t]
            weight = f[WEIGHT, t]
            f_inc = f[FINC, t]
            f_coh = f[FCOH, t]
            i0, f0, kerma_0, flat, ik, fk, ip, fp, rough = outlook(
                tables, lam, weight, f[INC, t], f[KPH, t], f[ANN, t], f[KLAM, t]
            )
            low = cuda.blockIdx.y * _CHUNK
            for p in range(low, min(low + _CHUNK, targets.count)):
                chance, more, tx, ty, tz, vx, vy, vz, r2 = glance(
                    rules, targets, p, state, collision, x, y, z, lam, solid, rough
                )
                if chance > 0.0:
                    vx, vy, vz, length, inv, cosine, lam_c, ic, fc, compton, coherent = angle(
                        tables, material, dx, dy, dz, lam, f_inc, f_coh, vx, vy, vz, r2
                    )
                    chance, more, crude = weigh(
                        rules, tables, scene, targets, p, state, collision, x, y, z, vx, vy, vz, length, inv, weight,
                        solid, material, chance, lam_c, ic, fc, compton, coherent, kerma_0, flat,
                    )  # fmt: skip
                    if chance > 0.0:
                        luck[p, t] = chance
                        room[cuda.atomic.add(shared, 0, 1)] = p * lanes + t
                useful[p, t] = more
        cuda.syncthreads()
        if here == 0 and shared[0] > 0:
            shared[1] = cuda.atomic.add(counters, RAYS, shared[0])
        cuda.syncthreads()
        for k in range(here, shared[0], _BLOCK):
            rays[shared[1] + k] = room[k]

    def cast_rays(
        rules, tables, scene, targets, columns, f, q, r, scores, spectrum, counts, history, useful, luck, none,
        nothing, rays, counters,
    ):  # fmt: skip
        """Cast and score the scoring rays."""
        numbers = floats(size)
        integers = whole(sizes)
        tau = floats(sizes)
        s = Scratch(numbers, integers, numbers[5 * scene.n + 4 :], integers[8 * scene.n + 8 :], tau)
        thread = cuda.grid(1)
        lanes = q.shape[1]
        for k in range(thread, counters[RAYS], cuda.gridsize(1)):
            item = int(rays[k])
            p = item // lanes
            t = item - p * lanes
            tally = Tally(
                columns, scores[:, t], spectrum[:, t], counts[:, thread], history[:, t], none, none, none, none,
                none, none, none, nothing, none, none, none,
            )  # fmt: skip
            solid = int(q[SOLID, t])
            material = scene.material[solid]
            state = r[0, t]
            collision = int(q[COLLISION, t])
            x = f[X, t]
            y = f[Y, t]
            z = f[Z, t]
            dx = f[DX, t]
            dy = f[DY, t]
            dz = f[DZ, t]
            lam = f[LAM, t]
            weight = f[WEIGHT, t]
            inc = f[INC, t]
            kph = f[KPH, t]
            ann = f[ANN, t]
            k_lam = f[KLAM, t]
            i0, f0, kerma_0, flat, ik, fk, ip, fp, rough = outlook(tables, lam, weight, inc, kph, ann, k_lam)
            chance, more, tx, ty, tz, vx, vy, vz, r2 = glance(
                rules, targets, p, state, collision, x, y, z, lam, solid, rough
            )
            vx, vy, vz, length, inv, cosine, lam_c, ic, fc, compton, coherent = angle(
                tables, material, dx, dy, dz, lam, f[FINC, t], f[FCOH, t], vx, vy, vz, r2
            )
            if cosine > f[BEFORE, t]:
                ax = f[AX, t]
                ay = f[AY, t]
                az = f[AZ, t]
                ux = x - ax
                uy = y - ay
                uz = z - az
                r1 = math.sqrt(ux * ux + uy * uy + uz * uz)
                far = math.sqrt((tx - ax) ** 2 + (ty - ay) ** 2 + (tz - az) ** 2)
                if 0.0 < r1 < far:
                    m = cast(scene, ax, ay, az, ux / r1, uy / r1, uz / r1, far, s)
                    nth, begin, stop = stretch_at(s.solid, s.end, m, solid, r1)
                    if scored_before(
                        scene, targets.rows, s, p, ax, ay, az, x, y, z, tx, ty, tz, solid, nth, begin, stop
                    ):
                        coherent = 0.0
            useful[p, t] = ray(
                rules, tables, scene, targets, s, tally, p, state, collision, x, y, z, dx, dy, dz, lam, weight,
                solid, material, kph, ann, f[FINC, t], f[FCOH, t], k_lam, (i0, f0, ik, fk, ip, fp, kerma_0),
                (tx, ty, tz), (vx, vy, vz, length, inv), (lam_c, ic, fc, compton, coherent), luck[p, t], 0.0,
            )  # fmt: skip

    return {
        "first": first, "sniff": sniff, "gas": gas, "look": look, "cast_rays": cast_rays,
    }  # fmt: skip
