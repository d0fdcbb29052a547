"""Content: what is accepted for sign-off, accepting it, withdrawing it, and who met it."""
