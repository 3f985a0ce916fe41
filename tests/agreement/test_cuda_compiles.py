"""The functions that make up a photon history compile for a GPU as they are: one source for both machines.

No GPU and no driver is needed: numba-cuda translates to PTX for a stated compute capability (7.5 and 9.0 here). A
kernel that calls other functions asks for the device at hand on the way, so that question is answered by the test.
"""

from __future__ import annotations

import re
from types import SimpleNamespace

import numba
import numpy as np
import pytest

from halflayer.physics.materials import material
from halflayer.scene import trace
from halflayer.scene.solids import Scene, Sphere
from halflayer.transport import run_cpu
from halflayer.transport.history import history
from halflayer.transport.interactions import circle, compton, node, process_at, rayleigh, turn
from halflayer.transport.problem import PointScore, PointSource, Problem, prepare
from halflayer.transport.rng import draw, mix, stream

CAPABILITIES = [(7, 5), (9, 0)]
pytestmark = pytest.mark.slow  # 10 s and a minute


def prepared():
    shell = Sphere("shell", (0, 0, 0), 0.07, 0.02, material("lead"))
    source = PointSource((0, 0, 0), (400.0,), (1.0,), 1.0)
    return prepare(Problem(Scene((shell,), material("air")), (source,), (PointScore("p", (1, 0, 0)),)))


def kernels():
    """The two kernels; numba-cuda takes a second to import, which only these tests should wait for."""
    from numba import cuda

    def scatter(tables, seed, lam, out):
        """One Compton and one coherent scatter in each thread: cosine of the turned direction."""
        i = cuda.grid(1)
        state = mix(stream(seed, np.uint64(0), np.uint64(i)))
        at, part = node(tables, lam)
        total = 0.0
        for k in range(2):
            u = draw(state, k, 0)
            if k == 0:
                cosine, weight = compton(
                    tables, 0, lam, process_at(tables, at, part, 0, 4), process_at(tables, at, part, 0, 0), u
                )
            else:
                cosine, weight = rayleigh(
                    tables.shape,
                    0,
                    lam,
                    process_at(tables, at, part, 0, 5),
                    process_at(tables, at, part, 0, 1),
                    u,
                    -1.0,
                )
            sine, cosine_phi = circle(draw(state, k, 1))
            _, _, dz = turn(0.0, 0.0, 1.0, cosine, sine, cosine_phi)
            total += weight * dz
        out[i] = total

    def histories(rules, tables, scene, sources, targets, scratch, tally, seed, out):
        """One history in each thread. Work space and sums are shared here: this is compiled, not run."""
        i = cuda.grid(1)
        if i >= out.size:
            return
        key = stream(seed, np.uint64(0), np.uint64(i))
        out[i] = history(
            rules, tables, scene, sources, targets, scratch, tally, mix(key + np.uint64(1)), 0, i,
            draw(key, 0, 0), draw(key, 0, 1), draw(key, 0, 2), draw(key, 0, 3), draw(key, 0, 4), draw(key, 0, 5),
        )[4]  # fmt: skip

    return cuda, scatter, histories


def ptx(monkeypatch: pytest.MonkeyPatch, cuda, function, arguments, capability: tuple[int, int]) -> str:
    from numba.cuda import compiler, dispatcher

    device = SimpleNamespace(compute_capability=capability)
    for module in (dispatcher, compiler):
        monkeypatch.setattr(module, "get_current_device", lambda: device)
    signature = numba.void(*(numba.typeof(a) for a in arguments))
    text, _ = cuda.compile_ptx(function, signature, cc=capability)
    assert f".target sm_{capability[0]}{capability[1]}" in text
    # Nothing is left to be found elsewhere: no allocation, no call back into the interpreter.
    assert not re.findall(r"^\.extern .*$", text, flags=re.MULTILINE)
    assert len(re.findall(r"\.entry", text)) == 1
    return text


@pytest.mark.parametrize("capability", CAPABILITIES)
def test_sampling_of_a_scatter_compiles_for_a_gpu(monkeypatch, capability):
    cuda, scatter, _ = kernels()
    text = ptx(
        monkeypatch,
        cuda,
        scatter,
        (prepared().tables, np.uint64(1), 1.0, np.zeros(1)),
        capability,
    )
    assert "st.global.f64" in text


def arguments_of_rounds(p) -> dict[str, tuple]:
    """Arrays of the kinds that `rounds.Rounds` hands to each kernel."""
    from halflayer.transport import lanes

    two, whole, words = np.zeros((2, 2)), np.zeros((2, 2), dtype=np.int64), np.zeros((2, 2), dtype=np.uint64)
    photons = (np.zeros((lanes.NUMBERS, 2)), np.zeros((lanes.INTEGERS, 2), dtype=np.int32), words)
    items, counters = np.zeros(4, dtype=np.int32), np.zeros(lanes.COUNTERS, dtype=np.int32)
    job, seed, one, word = (
        np.zeros(lanes.JOB, dtype=np.int64),
        np.zeros(1, dtype=np.uint64),
        np.zeros(1),
        np.zeros(1, dtype=np.uint64),
    )
    sums = (two, two, whole, two)
    scene, every = (p.rules, p.tables, p.scene, p.targets), (p.rules, p.tables, p.scene, p.sources, p.targets)
    lists = (items, counters)
    return {
        "move": (*every, seed, 0, 5, job, *photons, *sums, two, words, two, two, one, two, *lists),
        "first": (*every, 0, 5, job, *photons, *sums, one, word, *lists),
        "sniff": (p.rules, p.targets, *photons, two, *lists),
        "gas": (*scene, 5, *photons, *sums, two, one, word, *lists),
        "look": (*scene, *photons, two, two, *lists),
        "cast_rays": (*scene, 5, *photons, *sums, two, two, one, word, *lists),
    }


@pytest.mark.parametrize("capability", CAPABILITIES)
def test_the_kernels_of_a_round_compile_for_a_gpu(monkeypatch, capability):
    """All of them, with the work space of a ray on the thread's own stack, not filled with zeros."""
    from halflayer.transport import wave

    p = prepared()
    cuda, _, _ = kernels()
    arguments = arguments_of_rounds(p)
    functions = wave.Kernels(64).functions
    assert set(functions) == set(arguments)
    for name, function in functions.items():
        text = ptx(monkeypatch, cuda, function, arguments[name], capability)
        assert ("__local_depot" in text) == (name not in ("sniff", "look")), name


@pytest.mark.parametrize("capability", CAPABILITIES)
def test_a_whole_history_compiles_for_a_gpu(monkeypatch, capability):
    p = prepared()
    cuda, _, histories = kernels()
    text = ptx(
        monkeypatch,
        cuda,
        histories,
        (
            p.rules,
            p.tables,
            p.scene,
            p.sources,
            p.targets,
            trace.scratch(p.scene.n),
            run_cpu.new_tally(p),
            np.uint64(1),
            np.zeros(1, dtype=np.int64),
        ),
        capability,
    )
    # Sums are kept in double precision, as on the CPU.
    assert "st.f64" in text or "st.global.f64" in text
