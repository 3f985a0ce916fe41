"""How long the source is out: kerma at the detector, density, seconds."""
