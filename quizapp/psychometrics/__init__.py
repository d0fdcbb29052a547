"""Pure statistics of measurement: intervals, chances of a form, agreement."""
