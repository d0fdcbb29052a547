"""Places for those who plan them: session days, a plan, one place moved, attendance."""
