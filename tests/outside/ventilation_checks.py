"""What the product computes for each published or computed check value, by the value's id."""

from quizapp.ventilation import (
    altitude,
    body_weight,
    carbon_dioxide,
    cylinders,
    gas_supply,
    lung,
    mechanics,
    mixing,
    real_oxygen,
    timing,
    units,
)
from quizapp.ventilation.body_weight import Sex
from quizapp.ventilation.constants import CO2_CONSTANT_MMHG_L_ML, WATER_VAPOUR_MMHG
from quizapp.ventilation.pressure_cycling import CyclingSettings, CyclingState, breathe


def settings(**changes):
    """Give the baseline of the model's own table with some values changed; ri sets both airway resistances."""
    values = {"q": 0.5, "pip": 20, "pr": 5, "c": 0.05, "r": 5, "rt": 40, "pinf": 0, "rl": None} | changes
    return CyclingSettings(
        flow_l_s=values["q"],
        peak_cmh2o=values["pip"],
        restart_cmh2o=values["pr"],
        compliance_l_cmh2o=values["c"],
        inspiratory_resistance_cmh2o_s_l=values["r"],
        expiratory_resistance_cmh2o_s_l=values["r"],
        throttle_resistance_cmh2o_s_l=values["rt"],
        outlet_pressure_cmh2o=values["pinf"],
        leak_resistance_cmh2o_s_l=values["rl"],
    )


def model(**changes):
    return breathe(settings(**changes))


def in_unit(pressure_mmhg, code):
    return units.convert_number(pressure_mmhg, "mm[Hg]", code)


def at_feet(height_ft):
    return altitude.standard_pressure_at_feet_mmhg(height_ft)


SPOKEN_STATES = {
    "never reaches PIP": CyclingState.STALLED_IN_INFLATION,
    "chatter": CyclingState.CHATTER,
}

CHECKS = {
    "CV001": lambda: units.convert_number(1, "kPa", "cm[H2O]"),
    "CV003": lambda: units.convert_number(1, "bar", "[psi]"),
    "CV005": lambda: units.convert_number(1, "[cft_i]", "L"),
    "CV007": lambda: timing.cycle_time_s(12),
    "CV008": lambda: timing.expiration_from_rate_s(12, 1.0),
    "CV015": lambda: timing.rate_per_min(1.0, 3.0),
    "CV018": lambda: timing.inflation_from_ratio_s(12, 2),
    "CV021": lambda: timing.inflation_from_flow_s(500, 60),
    "CV022": lambda: 100 * lung.emptied_fraction(1, 1),
    "CV024": lambda: 100 * lung.emptied_fraction(3, 1),
    "CV026": lambda: 100 * lung.emptied_fraction(5, 1),
    "CV027": lambda: lung.time_constant_s(5, 50),
    "CV030": lambda: lung.steady_plateau_cmh2o(
        tidal_volume_ml=650, expiration_s=2.4, resistance_cmh2o_s_l=5, compliance_ml_cmh2o=50
    ),
    "CV031": lambda: lung.intrinsic_peep_cmh2o(650, 2.4, 1.995, 95),
    "CV032": lambda: lung.time_to_empty_s(0.95, 0.6),
    "CV036": lambda: mechanics.airway_resistance_cmh2o_s_l(4.5, 0, 20),
    "CV039": lambda: mechanics.apparent_resistance_cmh2o_s_l(1.995, 81.2),
    "CV042": lambda: mechanics.static_compliance_ml_cmh2o(500, 25, 5),
    "CV044": lambda: mechanics.airway_resistance_cmh2o_s_l(40, 30, 60),
    "CV047": lambda: mechanics.airway_pressure_cmh2o(
        volume_ml=500, flow_l_min=30, compliance_ml_cmh2o=50, resistance_cmh2o_s_l=5, total_peep_cmh2o=5
    ),
    "CV048": lambda: model().tidal_volume_ml,
    "CV049": lambda: model().inflation_s,
    "CV050": lambda: model().expiration_s,
    "CV051": lambda: model().rate_per_min,
    "CV052": lambda: model().expiration_per_inflation,
    "CV053": lambda: model().minute_volume_l_min,
    "CV056": lambda: model(c=0.025).minute_volume_l_min,
    "CV057": lambda: model(r=10).tidal_volume_ml,
    "CV062": lambda: model(q=0.6667).rate_per_min,
    "CV064": lambda: model(pip=25).rate_per_min,
    "CV067": lambda: model(rl=50).tidal_volume_ml,
    "CV069": lambda: model(rl=50).rate_per_min,
    "CV072": lambda: model(pinf=3).expiration_s,
    "CV079": lambda: model(q=0.4, pip=18, pr=3, c=0.06, r=6, rt=50).inflation_s,
    "CV081": lambda: model(q=0.4, pip=18, pr=3, c=0.06, r=6, rt=50).rate_per_min,
    "CV086": lambda: model(rl=40).state,
    "CV089": lambda: model(r=25).state,
    "CV091": lambda: gas_supply.usable_by_factor_l(cylinders.us_cylinder("D").factor_l_psi, 2000, 200),
    "CV111": lambda: cylinders.us_cylinder("D").factor_l_psi,
    "CV112": lambda: cylinders.us_cylinder("E").factor_l_psi,
    "CV115": lambda: cylinders.us_cylinder("M").factor_l_psi,
    "CV119": lambda: real_oxygen.free_litres_per_litre(137, 15),
    "CV123": lambda: real_oxygen.free_litres_per_litre(200, 20),
    "CV124": lambda: real_oxygen.free_litres_per_litre(230, 20),
    "CV126": lambda: real_oxygen.compressibility(200, 15),
    "CV128": lambda: real_oxygen.real_gauge_at_temperature_bar(137, 15, 0),
    "CV138": lambda: mixing.air_per_oxygen(0.28),
    "CV139": lambda: mixing.air_per_oxygen(0.35),
    "CV146": lambda: 100 * mixing.fio2_fraction(10, 30),
    "CV148": lambda: mixing.oxygen_in_total_l_min(12, 0.5),
    "CV150": lambda: mixing.total_from_oxygen_l_min(4, 0.28),
    "CV153": lambda: body_weight.predicted_weight_from_inches_kg(60, Sex.FEMALE),
    "CV155": lambda: body_weight.predicted_weight_from_inches_kg(66, Sex.FEMALE),
    "CV158": lambda: body_weight.predicted_weight_from_inches_kg(66, Sex.MALE),
    "CV160": lambda: body_weight.predicted_weight_from_inches_kg(72, Sex.MALE),
    "CV165": lambda: body_weight.implied_weight_kg(435, 7.0),
    "CV166": lambda: altitude.inspired_oxygen_mmhg(0.2093, 760),
    "CV169": lambda: altitude.alveolar_oxygen_mmhg(0.21, 667, 40, 1 / 1.2),
    "CV171": lambda: altitude.oxygen_difference_mmhg(82.2, 75),
    "CV173": lambda: altitude.alveolar_oxygen_mmhg(0.21, 760, 40, 0.8),
    "CV175": lambda: altitude.alveolar_oxygen_full_mmhg(1.0, 760, 40),
    "CV177": lambda: altitude.inspired_oxygen_mmhg(0.2093, 380),
    "CV179": lambda: in_unit(at_feet(5000), "[psi]"),
    "CV182": lambda: in_unit(at_feet(20_000), "[psi]"),
    "CV184": lambda: in_unit(at_feet(4000), "[in_i'Hg]"),
    "CV186": lambda: in_unit(at_feet(12_000), "[in_i'Hg]"),
    "CV188": lambda: at_feet(0),
    "CV190": lambda: at_feet(5000),
    "CV192": lambda: at_feet(10_000),
    "CV194": lambda: at_feet(15_000),
    "CV196": lambda: altitude.alveolar_oxygen_mmhg(0.21, at_feet(8000), 40, 0.8),
    "CV198": lambda: WATER_VAPOUR_MMHG,
    "CV199": lambda: carbon_dioxide.alveolar_ventilation_l_min(500, 150, 14),
    "CV200": lambda: timing.minute_volume_l_min(500, 14),
    "CV204": lambda: carbon_dioxide.exchange_ratio(200, 250),
    "CV206": lambda: CO2_CONSTANT_MMHG_L_ML,
    "CV207": lambda: carbon_dioxide.arterial_co2_mmhg(200, carbon_dioxide.alveolar_ventilation_l_min(500, 150, 12)),
    "CV209": lambda: carbon_dioxide.ventilation_for_target_l_min(4, 60, 40),
    "CV212": lambda: carbon_dioxide.mmhg_from_kpa(4.0),
    "CV214": lambda: carbon_dioxide.mmhg_from_kpa(0.5),
}

#: Rows marked reference data that the product also holds; the other ones are targets a service sets for itself.
HELD = {
    "CV103": lambda: cylinders.uk_cylinder("D").nominal_l,
    "CV106": lambda: cylinders.uk_cylinder("HX").nominal_l,
    "CV108": lambda: cylinders.uk_cylinder("E").nominal_l,
    "CV110": lambda: cylinders.uk_cylinder("J").nominal_l,
}
