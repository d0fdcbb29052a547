"""Settings of the pressure-cycled model for tests: the baseline of our own table, and ranges to draw from."""

from hypothesis import strategies as st

from quizapp.ventilation.pressure_cycling import CyclingSettings

BASELINE = {
    "flow_l_s": 0.5,
    "peak_cmh2o": 20.0,
    "restart_cmh2o": 5.0,
    "compliance_l_cmh2o": 0.05,
    "inspiratory_resistance_cmh2o_s_l": 5.0,
    "expiratory_resistance_cmh2o_s_l": 5.0,
    "throttle_resistance_cmh2o_s_l": 40.0,
}


def baseline(**changes):
    """Give the baseline with changes; `airway` sets both airway resistances, `leak` the leak."""
    values = dict(BASELINE)
    if "airway" in changes:
        airway = changes.pop("airway")
        values |= {"inspiratory_resistance_cmh2o_s_l": airway, "expiratory_resistance_cmh2o_s_l": airway}
    if "leak" in changes:
        values["leak_resistance_cmh2o_s_l"] = changes.pop("leak")
    return CyclingSettings(**values | changes)


@st.composite
def any_settings(draw):
    """Draw settings without a leak across clinical values; not all of them cycle."""
    peak = draw(st.floats(10, 40))
    restart = peak * draw(st.floats(0.12, 0.4))
    return CyclingSettings(
        flow_l_s=draw(st.floats(0.15, 0.8)),
        peak_cmh2o=peak,
        restart_cmh2o=restart,
        compliance_l_cmh2o=draw(st.floats(0.015, 0.1)),
        inspiratory_resistance_cmh2o_s_l=draw(st.floats(2, 20)),
        expiratory_resistance_cmh2o_s_l=draw(st.floats(2, 20)),
        throttle_resistance_cmh2o_s_l=draw(st.floats(12, 160)),
        outlet_pressure_cmh2o=restart * draw(st.sampled_from([0.0, 0.3, 0.6])),
    )
