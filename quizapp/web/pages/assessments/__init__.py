"""Assessments: an educator composes them, sees how often the rule errs, and gives them to people."""
