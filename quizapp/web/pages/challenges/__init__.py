"""Results that are looked at again: asked by the person, answered by an educator, everybody touched shown first."""
