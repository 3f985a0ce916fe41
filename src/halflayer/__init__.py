"""Halflayer: from a work order of pipe welds to proved exposure and shielding plans."""

__version__ = "0.1.0"
