"""Nuclides, decay, materials, photon cross sections and dose quantities: what is true before any scene."""
