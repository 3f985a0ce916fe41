"""The one dose engine: photons by Monte Carlo, from a look of a tenth of a second to a proof."""
