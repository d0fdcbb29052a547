"""One's own account: the entry as kept, and changing one's password."""
