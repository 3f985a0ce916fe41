"""Words of the sheets in plain ones, for whoever reads them without the program's pages: the order's last sheet."""

from __future__ import annotations

PLAIN = (
    ("look", "a short calculation with much noise: enough to compare, not enough to vouch for"),
    ("in noise", "a rise too small to be told from the scatter of a short calculation"),
    ("seed", "the number that starts a series of random numbers: two series that agree are two calculations"),
    ("sized, accepted", "the shield was chosen with one series of random numbers and checked with another"),
    ("effective histories", "photons followed that carry a figure; few of them: the figure is not reliable"),
    (
        "upper bound, at most",
        "the estimate with its noise (95 %) and the budget of what is not known counted in",
    ),
    ("stop", "lead plates, or folded blankets, behind the film that take the beam"),
    (
        "shroud",
        "a rigid lead box from the head down to the stop, in place of blankets; one made leaning goes with the beam",
    ),
    (
        "lean-out, lean-back",
        "the head swung along the pipe away from the clamp, or over it, and aimed back at the weld",
    ),
    (
        "pins, foot",
        "a leg turns on a pin beside the weld at the pipe's axis, on an arm from the clamp; its foot slides there by "
        "half the pipe's diameter, so that holes count from the pipe's surface and any lean keeps pin to source",
    ),
    ("primary kerma", "what reaches the film straight from the source, not scattered"),
    (
        "source_size: diagonal",
        "a line of the order file: the source then counts by its diagonal, which is larger",
    ),
    ("halflayer compare", "a command for whoever planned: it looks at every way to shoot a weld"),
    (
        "m behind a figure",
        "from memory of the code: compared with your own copy and signed for before it is used",
    ),
    ("QR code", "order, revision, weld and the plan's sha256 as plain text, to find the record by; no link"),
)


def plain_words() -> list[dict[str, str]]:
    """Each word with what it means."""
    return [{"word": word, "means": means} for word, means in PLAIN]
