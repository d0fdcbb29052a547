"""Leave: who is away, recording it, and coming back."""
