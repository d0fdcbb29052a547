"""A sitting: one question a page, saved at each answer, then the result and what lies behind each wrong answer."""
