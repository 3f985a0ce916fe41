"""How a weld is shot: every candidate placement judged rule by rule against the code."""
