"""Makes the gallery of predicted films in docs/gallery: twelve welds, some with flaws, each with its density scale.

    .venv/bin/python scripts/gallery.py [--only NAME]

Every picture is the predicted film as it is, cropped to what is judged and lit; the strip below it is a step
scale of density in the same window. `docs/gallery/README.md` is written with the readings of each.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass, field
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from halflayer.exposure.more_shots import timed, with_enough_shots
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.order.weld import Weld
from halflayer.radiograph import files
from halflayer.radiograph.map_picture import write_map
from halflayer.radiograph.predict import predict
from halflayer.radiograph.result import Radiograph
from halflayer.radiograph.setting import Indicator
from halflayer.technique.choose import choose_technique

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "docs" / "gallery"
MILL, IMPERIAL = "tarn-mill.yaml", "one-weld-imperial.yaml"
UNROLLED = "02-ellipse-dn50"  # its weld is shown unrolled as well
WIDTH, STRIP, FOOT = 900, 26, 44  # pixels of a picture, its scale and its caption
DEG, MM = 0.017453292519943295, 1e-3


def flaw(imperfection: str, clock_deg: float, **mm: float) -> dict[str, Any]:
    """A flaw in the words of a stored order, sizes in mm."""
    sizes = {f"{k}_m": v * MM for k, v in mm.items()}
    return {"imperfection": imperfection, "clock_rad": clock_deg * DEG, **sizes}


@dataclass(frozen=True)
class Piece:
    """One picture: order, weld, exposure, flaws and changes of the weld."""

    name: str
    order: str
    weld: str
    words: str
    exposure: int = 1
    flaws: tuple[dict[str, Any], ...] = ()
    changes: dict[str, Any] = field(default_factory=dict)
    way: int = 0
    indicator: Indicator = "wires"


PIECES = (
    Piece("01-ellipse-dn25", MILL, "W1", "DN25, the smallest: an ellipse with a fine spot"),
    Piece("02-ellipse-dn50", MILL, "W2", "DN50 schedule 40, ellipse"),
    Piece("03-in-plane-dn50", MILL, "W3", "DN50 schedule 160, both walls on each other"),
    Piece("04-ellipse-dn80", MILL, "W4", "DN80, vertical, ellipse"),
    Piece("05-insulated", MILL, "W5", "DN40 stainless steel under 25 mm of mineral wool"),
    Piece("06-water", MILL, "W6", "DN100 full of water: the price is scatter"),
    Piece(
        "07-contact-dn150",
        MILL,
        "W7",
        "DN150, film on the far side, source on the pipe; a step-hole plate beside the wires",
        indicator="both",
    ),
    Piece("08-heavy-wall", MILL, "W8", "DN150 XXS, 21.9 mm of wall with Ir-192"),
    Piece(
        "09-crack-and-pores",
        MILL,
        "W9",
        "DN200: crack at the root, pores, slag, tungsten, a stretch without root fusion",
        flaws=(
            flaw("2011", 212, along=2.0, width=1.4),
            flaw("2011", 214, along=-1.0, width=0.9),
            flaw("2011", 216, along=0.5, width=0.7),
            flaw("101", 196, along=0.8, width=0.12, length=24.0, height=3.5),
            flaw("301", 222, along=-3.0, width=1.2, length=8.0, height=1.5),
            flaw("3041", 205, along=3.0, width=0.9),
            flaw("402", 236, width=1.4, length=22.0, height=2.2),
        ),
    ),
    Piece("10-panoramic", MILL, "W10", "DN300 from within, film all round (a part of it)"),
    Piece(
        "11-undercut-and-root",
        MILL,
        "W9",
        "DN200: undercut, a concave root, lack of side wall fusion, a transverse crack",
        exposure=2,
        flaws=(
            flaw("5011", 296, width=1.8, length=40.0, height=1.0),
            flaw("515", 322, width=6.0, length=30.0, height=2.0),
            flaw("4011", 308, width=0.3, length=20.0, height=3.5),
            flaw("102", 330, width=0.15, length=10.0, height=4.0),
        ),
    ),
    Piece(
        "12-imperial",
        IMPERIAL,
        "S-101",
        "NPS 2 schedule 40 with a pore and excess penetration",
        flaws=(flaw("2011", 180, along=1.0, width=1.5), flaw("504", 195, width=3.0, length=9.0, height=2.0)),
    ),
)


def made_of(piece: Piece) -> Weld:
    """The weld of a piece."""
    return read_order(ROOT / "examples" / piece.order).weld(piece.weld)


def predicted(piece: Piece) -> Radiograph:
    """The film of one piece."""
    order = read_order(ROOT / "examples" / piece.order)
    data = order.as_json()
    for weld in data["welds"]:
        if weld["id"] == piece.weld:
            weld["flaws"] = list(piece.flaws)
    order = Order.from_json(data)
    weld = order.weld(piece.weld)
    way = choose_technique(order, weld).admissible[piece.way]
    last = with_enough_shots(order, weld, way, partial(timed, order, weld))[-1]  # as a plan does
    way, built, exposure = last.candidate, last.built, last.exposure
    n = piece.exposure - 1
    activity, seconds = exposure.activity.value, exposure.shots[n].seconds.value
    assert isinstance(activity, float) and isinstance(seconds, float)
    most = 0.24 if way.arrangement == "bore" else None
    return predict(
        order,
        weld,
        way,
        built[n],
        shot=n,
        activity_Bq=activity,
        seconds=seconds,
        pixel_m=6e-5,
        length_m=most,
        indicator=piece.indicator,
        second=second.detector if (second := exposure.shots[n].second) else None,
        behind=second.behind if second else 1.0,
        all_built=built,
        times=exposure.shots,
    )


def cropped(made: Radiograph) -> np.ndarray:
    """The picture about the lit part of the film, as wide as the gallery shows it."""
    grey = files.to_look_at(made, widest=100_000)
    low, high = files.window(made)
    lit = made.image > low + 0.2 * (high - low)
    rows, columns = np.flatnonzero(lit.mean(axis=1) > 0.02), np.flatnonzero(lit.mean(axis=0) > 0.02)
    if len(rows) and len(columns):
        pad = round(0.004 / made.frame.pixel_m)
        grey = grey[
            max(rows[0] - pad, 0) : rows[-1] + pad + 1, max(columns[0] - pad, 0) : columns[-1] + pad + 1
        ]
    picture = Image.fromarray(grey)
    high = round(grey.shape[0] * WIDTH / grey.shape[1])
    return np.asarray(picture.resize((WIDTH, high), Image.Resampling.BOX))


def framed(made: Radiograph, piece: Piece) -> Image.Image:
    """The film with its density scale and its caption."""
    film = cropped(made)
    low, high = files.window(made)
    out = Image.new("L", (WIDTH, film.shape[0] + STRIP + FOOT), 250)
    out.paste(Image.fromarray(film), (0, 0))
    draw = ImageDraw.Draw(out)
    font = _font("IBMPlexSans-Regular.ttf", 15)
    steps = np.arange(np.ceil(low * 2) / 2, high + 1e-9, 0.5)
    wide = WIDTH / max(len(steps), 1)
    for n, density in enumerate(steps):
        light = int(255 * np.clip((high - density) / (high - low), 0, 1))
        box = (round(n * wide), film.shape[0] + 4, round((n + 1) * wide), film.shape[0] + STRIP)
        draw.rectangle(box, fill=light)
        draw.text((box[0] + 6, box[1] + 2), f"{density:.1f}", fill=255 if light < 128 else 0, font=font)
    draw.text((2, film.shape[0] + STRIP + 4), piece.words, fill=20, font=font)
    draw.text((2, film.shape[0] + STRIP + 23), _readings(made), fill=70, font=font)
    return out


def _font(name: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(resources.files("halflayer") / "sheet" / "fonts" / name), size)


def _readings(made: Radiograph) -> str:
    v, t = made.verdict, made.technique
    r = v.readings
    text = f"{t.technique}, {t.nuclide}, {t.exposure_s:.0f} s"
    if r is not None:
        text += f"; density {r.weld:.1f} at the weld, {r.least:.1f} to {r.most:.1f}"
    asked, best = (w.removeprefix("wire ") for w in (v.required or "none", v.smallest_visible or "none"))
    return f"{text}; wire {asked} asked, finest seen {best}"


def page(done: list[tuple[Piece, dict[str, Any]]]) -> str:
    """The page of the gallery."""
    lines = [
        "# Predicted films",
        "",
        "Made by `scripts/gallery.py` from the example orders, in which everything is invented; see",
        "[how a film is predicted](../radiograph.md). Rough beads and letters are there to be looked at; readings",
        "are those of a smooth weld. The strip under each film is its density scale.",
        "",
    ]
    for piece, data in done:
        lines += [f"## {piece.words}", "", f"![{piece.words}]({piece.name}.jpg)", ""]
        if piece.name == UNROLLED:
            lines += [
                "Its weld unrolled over all exposures:",
                "",
                "![The weld unrolled](weld-unrolled.png)",
                "",
            ]
        for one in data["flaws"]:
            lines.append(
                f"- flaw {one['name']}, {one['size_mm']:.2g} mm: {one['contrast_to_noise']:.1f} times the noise, "
                f"found with a chance of {one['chance']:.0%}"
            )
        lines += [f"- {text}" for text in data["findings"]]
        if lines[-1] != "":
            lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def main() -> None:
    """Make all pictures, or one, and the page."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--only", metavar="NAME")
    given = words.parse_args()
    OUT.mkdir(parents=True, exist_ok=True)
    done = []
    for piece in PIECES:
        if given.only and given.only not in piece.name:
            continue
        made = predicted(piece)
        framed(made, piece).save(OUT / f"{piece.name}.jpg", quality=82, optimize=True)
        if piece.name == UNROLLED:
            write_map(made, OUT / "weld-unrolled.png", outer_diameter_m=made_of(piece).pipe.od)
        data = files.radiograph_json(made)
        done.append((piece, data))
        print(piece.name, _readings(made), json.dumps(data["findings"]))
    if not given.only:
        (OUT / "README.md").write_text(page(done), encoding="utf-8")


if __name__ == "__main__":
    main()
