"""My currency: until when, on which revision, and what to do next."""
