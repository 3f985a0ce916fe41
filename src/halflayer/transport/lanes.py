"""What a lane of the GPU holds, and what its kernels count: places in their arrays."""

from __future__ import annotations

BLOCK = 128  # threads of a block
CHUNK = 8  # targets that one thread looks at
SUMMERS = 256  # threads that add up one sum

# Numbers of a lane.
(
    X, Y, Z, DX, DY, DZ, LAM, WEIGHT, FULL, AX, AY, AZ, INC, KPH, ANN, FINC, FCOH, KLAM, MADE,
    OX, OY, OZ, NX, NY, NZ, BEGAN, HEAVY, PROMISE, LENGTH, BEFORE, NUMBERS,
) = range(31)  # fmt: skip
PHASE, SOLID, COLLISION, MET, CELL, TODO, WAITING, HISTORY, GAS, INTEGERS = range(10)
NONE, HIT, GONE, DONE = range(4)  # phases: no history yet, in a collision, photon ended, no more histories
# Counters: histories handed out, lanes that are done, and items of the lists.
TAKEN, ENDED, BEGUN, IN_GAS, RAYS, COUNTERS = range(6)
# The job: first group, number of histories, histories of a batch of voxels.
FIRST, ASKED, PER_BATCH, JOB = range(4)
