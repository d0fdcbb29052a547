"""How far to believe the estimate of competence here, and for whom it proposes an earlier booster."""
