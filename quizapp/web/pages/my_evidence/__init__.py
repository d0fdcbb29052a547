"""My evidence: what counts, from whom, on which revision, until when."""
