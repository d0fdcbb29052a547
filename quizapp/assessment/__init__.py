"""Pure rules of the trade: questions, grading, procedures, sign-off, standing, readiness, permissions."""
