"""One person's standing: now and at any minute gone by, what changed it, and changing it."""
