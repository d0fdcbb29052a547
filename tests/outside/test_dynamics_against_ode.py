"""The stepped run of lung and soft tubing beside scipy's solve_ivp of the same two capacities."""

import random

import pytest
from scipy.integrate import solve_ivp

from quizapp.ventilation.dynamics import Effort, From, run
from quizapp.ventilation.pressure_cycling import CyclingSettings


def switches(settings, softness_l, duration_s, effort=None):
    """Moments and lung volumes of the first changes of phase, from the restart pressure in lung and gauge."""
    time_s, state, inflating, seen = 0.0, [settings.restart_cmh2o, settings.restart_cmh2o], True, []
    while time_s < duration_s:
        airway = 1 / (
            settings.inspiratory_resistance_cmh2o_s_l if inflating else settings.expiratory_resistance_cmh2o_s_l
        )

        def slope(moment, now, airway=airway, inflating=inflating):
            muscle = 0.0 if effort is None else effort.pressure_cmh2o(moment)
            into = airway * (now[1] - now[0] + muscle)
            leak = now[1] / settings.leak_resistance_cmh2o_s_l
            throttle = (now[1] - settings.outlet_pressure_cmh2o) / settings.throttle_resistance_cmh2o_s_l
            outside = settings.flow_l_s if inflating else -throttle
            return [into / settings.compliance_l_cmh2o, (outside - leak - into) / softness_l]

        threshold = settings.peak_cmh2o if inflating else settings.restart_cmh2o

        def crossing(_, now, threshold=threshold):
            return now[1] - threshold

        crossing.terminal, crossing.direction = True, (1 if inflating else -1)
        piece = solve_ivp(slope, (time_s, duration_s), state, rtol=1e-9, atol=1e-10, events=crossing, max_step=0.05)
        time_s, state, inflating = piece.t[-1], list(piece.y[:, -1]), not inflating
        if piece.status == 1:
            seen.append((time_s, 1000 * settings.compliance_l_cmh2o * state[0]))
    return seen


def random_settings(count):
    draw = random.Random(31_415)
    for _ in range(count):
        peak = draw.uniform(12, 35)
        yield (
            CyclingSettings(
                flow_l_s=draw.uniform(0.2, 0.7),
                peak_cmh2o=peak,
                restart_cmh2o=peak * draw.uniform(0.15, 0.35),
                compliance_l_cmh2o=draw.uniform(0.015, 0.08),
                inspiratory_resistance_cmh2o_s_l=draw.uniform(3, 30),
                expiratory_resistance_cmh2o_s_l=draw.uniform(3, 30),
                throttle_resistance_cmh2o_s_l=draw.uniform(15, 120),
                outlet_pressure_cmh2o=draw.choice([0.0, 1.0]),
                leak_resistance_cmh2o_s_l=draw.choice([1e9, draw.uniform(80, 400)]),
            ),
            draw.uniform(1, 4),
        )


def test_every_switch_of_a_passive_run_lies_where_the_equation_has_it():
    met = 0
    for settings, softness_ml in random_settings(25):
        expected = switches(settings, softness_ml / 1000, 8)
        given = run([From(time_s=0, settings=settings)], 8, tubing_ml_cmh2o=softness_ml).switches
        assert [switch.time_s for switch in given] == pytest.approx([moment for moment, _ in expected], abs=1e-6)
        assert [switch.volume_ml for switch in given] == pytest.approx([volume for _, volume in expected], abs=1e-3)
        met += len(expected)
    assert met > 100


@pytest.mark.parametrize(("start_s", "height_cmh2o"), [(0.6, 5), (0.8, -20), (2.5, 4), (2.5, -4)])
def test_a_run_with_effort_lies_within_a_millisecond_of_the_equation(start_s, height_cmh2o):
    settings, _ = next(random_settings(1))
    effort = Effort(start_s=start_s, length_s=1.0, height_cmh2o=height_cmh2o)
    expected = switches(settings, 0.002, 5, effort)
    given = run([From(time_s=0, settings=settings)], 5, efforts=[effort]).switches
    assert [switch.time_s for switch in given] == pytest.approx([moment for moment, _ in expected], abs=1e-3)
