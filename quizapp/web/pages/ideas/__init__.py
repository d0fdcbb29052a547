"""Wrong ideas: what a cohort named and holds, by competency, with small numbers marked."""
