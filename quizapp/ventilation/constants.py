"""Constants of physics and physiology that more than one module uses, each with its source."""

#: Oxygen in dry air as the trade counts it; 0.2095 for precision work (respiratory-care texts).
AIR_OXYGEN_FRACTION = 0.21
AIR_OXYGEN_FRACTION_PRECISE = 0.2095

#: Water vapour pressure at 37 C as physiology texts use it; 47.1 mmHg by the CoolProp saturation curve.
WATER_VAPOUR_MMHG = 47.0
SEA_LEVEL_MMHG = 760.0
ATMOSPHERE_BAR = 1.01325

ZERO_CELSIUS_K = 273.15
BODY_TEMPERATURE_K = 310.15

#: Turns mL/min STPD over L/min BTPS into mmHg: 760 x 310.15 / 273.15 / 1000 = 0.86295, printed as 0.863.
CO2_CONSTANT_MMHG_L_ML = 0.863

#: Usual respiratory exchange ratio (physiology texts).
RESPIRATORY_EXCHANGE_RATIO = 0.8

#: Peak usually set for an adult, in cmH2O (common practice, no source).
USUAL_ADULT_PEAK_CMH2O = (20, 30)
