"""Base readiness: who is current, who lapses next, and the smallest thing that keeps it from happening."""
