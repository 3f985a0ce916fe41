"""Words of the sheets in plain ones, for whoever reads them without the program's pages: the order's last sheet."""

from __future__ import annotations

PLAIN = (
    ("look", "a short calculation with much noise: enough to compare, not enough to vouch for"),
    ("in noise", "a rise too small to be told from the scatter of a short calculation"),
    (
        "seed; sized, accepted",
        "a shield is chosen with one series of random numbers and checked with another; the seed starts a series",
    ),
    ("paths", "photons followed that carry a figure; of too few or too rare ones it is not reliable"),
    (
        "upper bound, at most",
        "the estimate with its noise (95 %) and the budget of what is not known counted in",
    ),
    ("stop", "lead plates, or folded blankets, behind the film that take the beam"),
    (
        "shroud",
        "a rigid lead box from head to stop, in place of blankets; one made leaning goes with the beam",
    ),
    (
        "lean-out, lean-back",
        "the head swung along the pipe away from the clamp, or over it, and aimed back at the weld",
    ),
    (
        "pins, foot",
        "a leg turns on a pin beside the weld at the pipe's axis; its foot slides there by half the pipe's diameter: "
        "holes count from the pipe's surface, any lean keeps pin to source",
    ),
    ("primary kerma", "what reaches the film straight from the source, not scattered"),
    (
        "source_size: diagonal; halflayer compare",
        "for whoever planned: a line of the order file, a source counts by its larger diagonal; a command that looks "
        "at every way to shoot a weld",
    ),
    ("m behind a figure", "from memory of the code: compared with your own copy and signed for before use"),
    ("QR code", "order, revision, weld, the plan's sha256, to find the record by; no link"),
    ("f, b, d, Ug", "source to pipe, pipe to film, source size, unsharpness d b / f; SFD: f + b"),
    ("change", "of films: front to rear one; of sources: one out of a head, another in"),
    ("turn back", "at this reading nobody goes nearer: source home, from the control position"),
    ("home", "the source locked in its shield, as “Source home” of page 1 reads it"),
    ("survey ring", "places round the weld, at one distance, where the dose is computed"),
    (
        "lead letters",
        "B behind the holder, behind a number shot again; Z rear film, F IQI film side, R1 repair",
    ),
)


def plain_words() -> list[dict[str, str]]:
    """Each word with what it means."""
    return [{"word": word, "means": means} for word, means in PLAIN]
