"""The closed form beside an event-driven differential equation (scipy solve_ivp) that knows none of its formulas.

The equation knows pressures, flows and two thresholds only: the gauge is solved from the node at the airway opening.
"""

import math
import random

import pytest
from scipy.integrate import solve_ivp

from quizapp.ventilation.pressure_cycling import CyclingSettings, CyclingState, breathe

TOLERANCE = 1e-7


def gauge_and_flow(settings, inflating, lung):
    """Balance of flows at the airway opening: source, lung, throttle and leak; returns gauge and flow into the lung."""
    leak = 0.0 if settings.leak_resistance_cmh2o_s_l is None else 1 / settings.leak_resistance_cmh2o_s_l
    if inflating:
        airway = 1 / settings.inspiratory_resistance_cmh2o_s_l
        gauge = (settings.flow_l_s + airway * lung) / (airway + leak)
    else:
        airway, throttle = 1 / settings.expiratory_resistance_cmh2o_s_l, 1 / settings.throttle_resistance_cmh2o_s_l
        gauge = (airway * lung + throttle * settings.outlet_pressure_cmh2o) / (airway + throttle + leak)
    return gauge, airway * (gauge - lung)


def phase(settings, inflating, lung, longest_s):
    """Run one phase until its threshold is crossed; returns time, lung pressure and gauge at the end, None if never."""
    threshold = settings.peak_cmh2o if inflating else settings.restart_cmh2o

    def slope(_, state):
        return [gauge_and_flow(settings, inflating, state[0])[1] / settings.compliance_l_cmh2o]

    def crossing(_, state):
        return gauge_and_flow(settings, inflating, state[0])[0] - threshold

    met_at_once = crossing(0, [lung]) * (1 if inflating else -1) >= 0
    if met_at_once:
        return 0.0, lung, gauge_and_flow(settings, inflating, lung)[0]
    crossing.terminal, crossing.direction = True, (1 if inflating else -1)
    run = solve_ivp(slope, (0, longest_s), [lung], method="RK45", rtol=1e-10, atol=1e-11, events=crossing)
    met = run.status == 1
    return (run.t[-1] if met else None), run.y[0, -1], gauge_and_flow(settings, inflating, run.y[0, -1])[0]


def horizon_s(settings):
    """Twenty-five of the longest time constants there can be: what has not happened by then never will."""
    leak = settings.leak_resistance_cmh2o_s_l or 0.0
    whole = settings.inspiratory_resistance_cmh2o_s_l + settings.expiratory_resistance_cmh2o_s_l
    return 25 * settings.compliance_l_cmh2o * (whole + settings.throttle_resistance_cmh2o_s_l + leak)


def simulated(settings, lung=0.0):
    """Let a lung breathe twice from a pressure; the second breath is the steady one."""
    seen = []
    for inflating in (True, False, True, False):
        time_s, after, gauge = phase(settings, inflating, lung, horizon_s(settings))
        if time_s is None:
            stalled = CyclingState.STALLED_IN_INFLATION if inflating else CyclingState.STALLED_IN_EXPIRATION
            return stalled, gauge, seen
        seen.append((time_s, after - lung))
        lung = after
    return CyclingState.CYCLING, None, seen


def random_settings(count):
    """Draw settings across and beyond clinical values, half of them with a leak, a third with an outlet pressure."""
    draw = random.Random(20_240_117)
    for _ in range(count):
        peak = draw.uniform(10, 40)
        yield CyclingSettings(
            flow_l_s=draw.uniform(0.15, 0.8),
            peak_cmh2o=peak,
            restart_cmh2o=peak * draw.uniform(0.12, 0.4),
            compliance_l_cmh2o=draw.uniform(0.015, 0.1),
            inspiratory_resistance_cmh2o_s_l=draw.uniform(2, 20),
            expiratory_resistance_cmh2o_s_l=draw.uniform(2, 20),
            throttle_resistance_cmh2o_s_l=draw.uniform(12, 160),
            outlet_pressure_cmh2o=draw.choice([0, 0, draw.uniform(0, 6)]),
            leak_resistance_cmh2o_s_l=draw.choice([None, draw.uniform(20, 400)]),
        )


DRAWN = list(random_settings(400))
CYCLING = [settings for settings in DRAWN if breathe(settings).state is CyclingState.CYCLING][:200]
STALLED = [settings for settings in DRAWN if breathe(settings).parked_cmh2o is not None]


def test_two_hundred_random_settings_cycle_as_the_equation_says():
    assert len(CYCLING) == 200
    for settings in CYCLING:
        given = breathe(settings)
        state, _, seen = simulated(settings)
        assert state is CyclingState.CYCLING, settings
        (inflation_s, filled), (expiration_s, emptied) = seen[2:]
        assert given.inflation_s == pytest.approx(inflation_s, rel=TOLERANCE)
        assert given.expiration_s == pytest.approx(expiration_s, rel=TOLERANCE)
        assert given.tidal_volume_ml == pytest.approx(1000 * settings.compliance_l_cmh2o * filled, rel=TOLERANCE)
        assert filled == pytest.approx(-emptied, rel=TOLERANCE)


def test_settings_that_stall_park_where_the_equation_comes_to_rest():
    states = {breathe(settings).state for settings in STALLED}
    assert states == {CyclingState.STALLED_IN_INFLATION, CyclingState.STALLED_IN_EXPIRATION}
    for settings in STALLED:
        state, gauge, _ = simulated(settings, lung=settings.restart_cmh2o)
        assert state is breathe(settings).state, settings
        assert gauge == pytest.approx(breathe(settings).parked_cmh2o, rel=1e-4)


def test_settings_that_chatter_meet_the_restart_pressure_as_soon_as_inflation_ends():
    chattering = [settings for settings in DRAWN if breathe(settings).state is CyclingState.CHATTER]
    assert len(chattering) >= 3
    for settings in chattering:
        _, lung, _ = phase(settings, True, settings.restart_cmh2o, horizon_s(settings))
        gauge, _ = gauge_and_flow(settings, False, lung)
        assert gauge <= settings.restart_cmh2o


def test_the_first_full_breath_reaches_the_limit_cycle():
    """From an empty lung the first inflation takes 1.75 s, every later one 1.1875 s (own model)."""
    settings = CyclingSettings(
        flow_l_s=0.5,
        peak_cmh2o=20,
        restart_cmh2o=5,
        compliance_l_cmh2o=0.05,
        inspiratory_resistance_cmh2o_s_l=5,
        expiratory_resistance_cmh2o_s_l=5,
        throttle_resistance_cmh2o_s_l=40,
    )
    _, _, seen = simulated(settings)
    assert [seen[0][0], seen[2][0]] == pytest.approx([1.75, 1.1875], abs=1e-9)
    assert math.isclose(breathe(settings).inflation_s, seen[2][0], rel_tol=TOLERANCE)
