"""A small order and candidates of every placement, made in Python, for tests of scene and shield."""

import math

from halflayer.order.models import Order
from halflayer.technique.result import Candidate, Geometry, Shot

D = dict
ORDER = Order.model_validate(
    D(
        order="T1",
        title="test",
        site=D(name="s", adviser="a", local_rules="r"),
        code="ISO 17636-1:2013",
        test_class="A",
        limits=D(
            barrier=D(rate="7.5 uSv/h", basis="example"),
            barrier_within="6 m",
            crew=D(per_shift="20 uSv", basis="example"),
        ),
        shift=D(starts="2026-11-25T21:00:00Z", ends="2026-11-26T05:00:00Z"),
        places=[
            D(id="office", name="office", at=["4 m", "3 m", "1.5 m"], limit=D(rate="2.5 uSv/h", basis="ex")),
            D(
                id="walk",
                name="walkway",
                at=["-3 m", "1 m", "4 m"],
                limit=D(in_any_hour="20 uSv", basis="ex"),
            ),
        ],
        obstacles=[
            D(
                id="v1",
                name="vessel wall",
                material="steel",
                centre=["0 m", "-1.5 m", "1.5 m"],
                size=["1 m", "12 mm", "2 m"],
            )
        ],
        sources=[
            D(
                id="SE1",
                nuclide="Se-75",
                activity="2.2 TBq",
                on="2026-11-20T00:00:00Z",
                diameter="2.0 mm",
                length="2.0 mm",
            )
        ],
        heads=[
            D(
                id="H1",
                nuclides=["Se-75"],
                placements=["over", "lean-out", "strap"],
                apertures=[
                    D(id="r15", shape="round", half_angle="15 deg"),
                    D(id="sq", shape="rectangular", half_along="12 deg", half_across="8 deg"),
                    D(id="w30", shape="round", half_angle="30 deg"),
                ],
                leakage=D(
                    activity="3 TBq",
                    surface="300 uSv/h",
                    at_1m="4 uSv/h",
                    stored_surface="250 uSv/h",
                    stored_at_1m="3 uSv/h",
                ),
                body=["120 mm", "120 mm", "160 mm"],
                source_to_face="40 mm",
                mass="14 kg",
                shell_material="tungsten heavy alloy 95",
                shell="25 mm",
            ),
            D(
                id="SP",
                kind="spider",
                nuclides=["Se-75"],
                placements=["bore"],
                body=["50 mm", "50 mm", "50 mm"],
                source_to_face="10 mm",
                mass="3 kg",
            ),
        ],
        detectors=[
            D(
                id="F5",
                film_class="C5",
                dose_for_density_2="8 mGy",
                dose_uncertainty="30 %",
                basis="invented",
                processing="manual",
                screens=D(front="0.1 mm", back="0.15 mm", backing_lead="1 mm"),
                sheet=["100 mm", "240 mm"],
            )
        ],
        kit=D(
            plates=[D(id="P4", thickness="4 mm", along="300 mm", across="300 mm", count=14)],
            blankets=[
                D(
                    id="B25",
                    material="tungsten rubber 85",
                    areal_density="25 kg/m2",
                    thickness="5.5 mm",
                    width="400 mm",
                    length="1 m",
                    count=60,
                )
            ],
            clamps=[D(id="C1", diameter_min="20 mm", diameter_max="170 mm", from_weld="150 mm", mass="3 kg")],
            legs=[
                D(
                    id="L1",
                    reach_min="150 mm",
                    reach_max="700 mm",
                    hole_pitch="25 mm",
                    lean_max="30 deg",
                    lean_step="1 deg",
                    carries="25 kg",
                    mass="4 kg",
                )
            ],
        ),
        crew=[D(id="A", name="Ada", role="radiographer in charge"), D(id="B", name="Ben", role="sentry")],
        welds=[
            D(
                id="W1",
                pipe=D(outer_diameter="60.3 mm", wall="3.91 mm", material="steel"),
                cap=D(width="10 mm", height="1.5 mm", root="1 mm"),
                at=["0 m", "0 m"],
                height="1.3 m",
                left=D(kind="pipe", distance="800 mm"),
                right=D(kind="elbow", distance="300 mm"),
            ),
            D(
                id="W2",
                pipe=D(outer_diameter="219.1 mm", wall="8.18 mm", material="steel"),
                cap=D(width="14 mm", height="2 mm", root="1 mm"),
                at=["0 m", "0 m"],
                height="1.3 m",
                left=D(kind="pipe", distance="800 mm"),
                right=D(kind="pipe", distance="1 m"),
            ),
            D(
                id="W3",
                pipe=D(outer_diameter="323.9 mm", wall="9.5 mm", material="steel"),
                cap=D(width="14 mm", height="2 mm", root="1 mm"),
                at=["0 m", "0 m"],
                height="1.3 m",
                left=D(kind="pipe", distance="800 mm"),
                right=D(kind="open end", distance="0.5 m"),
                access_inside=True,
            ),
        ],
    )
)


def candidate(w, arr):
    od, t = w.pipe.od, w.pipe.wall
    if arr in ("over", "lean-out"):
        a = 0.35
        L = 0.0 if arr == "over" else 0.085
        g = Geometry(
            a + od + 0.004,
            a,
            od + 0.004,
            0.34,
            2e-3 * od / a,
            L,
            math.atan2(L, a + od / 2),
            a,
            None,
            2 * t,
            2 * t,
            2 * t + 0.0015,
            2e-3,
        )
        shots = (Shot(0, math.pi, 2 * math.pi), Shot(math.pi / 2, 1.5 * math.pi, 2 * math.pi))
        return Candidate(
            "DWDI ellipse",
            "lean-out" if L else "over",
            "SE1",
            "H1",
            "r15",
            "F5",
            "C1",
            -0.15,
            "L1",
            8,
            g,
            shots,
            None,
            2,
            4,
            None,
            (),
            "admissible",
            (),
            (),
        )
    if arr == "strap":
        g = Geometry(
            od + 0.04, od - t + 0.04, t + 0.002, 0.1, 0.03e-3, 0, 0, 0.04, None, 2 * t, 2 * t, 2 * t, 2e-3
        )
        shots = tuple(
            Shot(2 * math.pi * k / 4, (2 * math.pi * k / 4 + math.pi) % (2 * math.pi), 1.6) for k in range(4)
        )
        return Candidate(
            "DWSI contact",
            "strap",
            "SE1",
            "H1",
            "w30",
            "F5",
            None,
            None,
            None,
            None,
            g,
            shots,
            1.6,
            2,
            4,
            None,
            (),
            "admissible",
            (),
            (),
        )
    g = Geometry(od / 2 + 0.002, od / 2 - t, t + 0.002, 0.1, 0.03e-3, 0, 0, 0, None, t, t, t, 2e-3)
    return Candidate(
        "SWSI panoramic",
        "bore",
        "SE1",
        "SP",
        None,
        "F5",
        None,
        None,
        None,
        None,
        g,
        (Shot(0, math.pi, 2 * math.pi),),
        None,
        2,
        4,
        None,
        (),
        "admissible",
        (),
        (),
    )
