"""Pure ventilation model: what a simple pressure-cycled device, a passive lung and a cylinder do."""
