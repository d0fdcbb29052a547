"""Simulated clinicians whose true skill is known: how well is it foretold? Everything is drawn from fixed seeds."""
