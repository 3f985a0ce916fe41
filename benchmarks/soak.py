"""A long soak on the CPU: 10^8 histories over four scenes; photons that were lost or stuck are counted.

    python benchmarks/soak.py [--out FILE.json] [--share 1.0]

A photon still alive after so many collisions that nothing real needs them is lost: counted, never silent. Asked: none
in 10^8 histories.
"""

from __future__ import annotations

import argparse
import json
import time
from datetime import date
from pathlib import Path
from typing import Any

import engine_scenes
from halflayer.transport.run import Run

# Histories of each scene; what a history costs differs by a factor of fifty.
SCENES = {
    "lead sphere": (engine_scenes.lead_sphere, 8.0e7),
    "pipe": (engine_scenes.pipe_only, 1.2e7),
    "shielded room": (engine_scenes.shielded_room, 6.0e6),
    "stand": (engine_scenes.stand, 2.5e6),
}


def soak(name: str, histories: float) -> dict[str, Any]:
    run = Run(SCENES[name][0](), 77)
    begun = time.process_time()
    while (field := run.field()).histories < histories:
        run.advance(8)
    return {
        "histories": field.histories,
        "collisions": field.collisions,
        "lost": field.lost,
        "processor_s": time.process_time() - begun,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--out", type=Path)
    ask.add_argument("--share", type=float, default=1.0, help="of the histories")
    asked = ask.parse_args()
    out: dict[str, Any] = {"date": date.today().isoformat(), "scenes": {}}
    for name, (_, histories) in SCENES.items():
        out["scenes"][name] = soak(name, asked.share * histories)
        out["histories"] = sum(s["histories"] for s in out["scenes"].values())
        out["lost"] = sum(s["lost"] for s in out["scenes"].values())
        print(name, out["scenes"][name], flush=True)
        if asked.out:
            asked.out.write_text(json.dumps(out, indent=1) + "\n")
    print("lost:", out["lost"], "of", out["histories"], "histories")


if __name__ == "__main__":
    main()
