"""Random numbers without state to carry: every draw is a hash of (seed, history, collision, purpose).

Two rounds of the splitmix64 finaliser (Steele, Lea, Flood, "Fast splittable pseudorandom number generators",
OOPSLA 2014) make the history's state, one more each draw. Neighbouring seeds and histories share nothing.
"""

from __future__ import annotations

import numpy as np

from halflayer.scene.compiled import inlined

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_M1 = np.uint64(0xBF58476D1CE4E5B9)
_M2 = np.uint64(0x94D049BB133111EB)
_STEP = np.uint64(0xD1342543DE82EF95)
_S30 = np.uint64(30)
_S27 = np.uint64(27)
_S31 = np.uint64(31)
_S11 = np.uint64(11)
_TO_UNIT = 1.0 / 9007199254740992.0  # 2^-53


@inlined
def mix(x):
    """The splitmix64 finaliser: a bijection of 64 bits in which every input bit reaches every output bit."""
    x = np.uint64(x)  # a signed number would be shifted with its sign
    x = (x ^ (x >> _S30)) * _M1
    x = (x ^ (x >> _S27)) * _M2
    return x ^ (x >> _S31)


@inlined
def stream(seed, stratum, number):
    """State of one history (or group): two mixing rounds over seed, stratum and number, all uint64."""
    a = mix(seed * _GOLDEN + stratum * _STEP + _GOLDEN)
    return mix(a ^ mix(number * _STEP + _GOLDEN))


@inlined
def draw(state, collision, purpose):
    """A number evenly spread over the open interval (0, 1), float64 with 53 bits."""
    n = np.uint64(collision) * np.uint64(16384) + np.uint64(purpose) + np.uint64(1)
    return (np.float64(mix(state + n * _GOLDEN) >> _S11) + 0.5) * _TO_UNIT
