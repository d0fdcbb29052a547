"""Fair paths: who is on one, who should be offered one, one path with its steps, and one's own."""
