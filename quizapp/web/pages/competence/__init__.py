"""My competence over time: an estimate with its band and forecast, which only advises."""
