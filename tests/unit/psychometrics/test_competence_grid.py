from __future__ import annotations

import numpy as np
import pytest
from competence_examples import MIXED
from scipy.special import ndtr

from quizapp.psychometrics.competence_grid import BLOCK_DAYS, fade_kernels, nodes, normal_below, training_kernel
from quizapp.psychometrics.fade_model import TAUGHT, FadeModel


def test_the_middle_node_lies_exactly_on_the_standard() -> None:
    assert nodes()[120] == 0.0
    assert nodes(1301)[650] == 0.0
    assert nodes()[1] - nodes()[0] == pytest.approx(0.05)


def test_the_normal_distribution_is_that_of_the_reference_library() -> None:
    z = np.linspace(-8.9, 8.9, 20001)
    assert np.max(np.abs(normal_below(z) - ndtr(z))) < 2e-11
    low = z < -5
    assert np.max(np.abs(normal_below(z)[low] / ndtr(z)[low] - 1)) < 1e-7


def test_every_row_of_a_kernel_is_a_distribution() -> None:
    kernels = [*fade_kernels(MIXED, 1), *fade_kernels(MIXED, 3000), training_kernel(TAUGHT)]
    for kernel in kernels:
        assert np.all(kernel >= 0)
        assert np.allclose(kernel.sum(axis=1), 1.0, atol=1e-9)


def test_a_gap_is_crossed_in_blocks_and_a_rest_and_kernels_are_kept() -> None:
    assert fade_kernels(MIXED, 0) == []
    assert len(fade_kernels(MIXED, BLOCK_DAYS)) == 1
    assert len(fade_kernels(MIXED, 3 * BLOCK_DAYS + 5)) == 2
    assert fade_kernels(MIXED, 69)[0] is fade_kernels(FadeModel(half_life_days=335), 64)[0]
    assert fade_kernels(MIXED, 5)[0] is not fade_kernels(FadeModel(half_life_days=198), 5)[0]
