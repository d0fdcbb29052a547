"""How one person stood at a minute, asked for a stated purpose; and who looked at one's own record."""
