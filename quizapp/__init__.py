"""Competency and assessment engine with procedural checklists for a rescue service's transport ventilator."""
