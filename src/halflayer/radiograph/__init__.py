"""What the film or detector will show: image, wires, flaws, coverage; and the files that carry it."""
