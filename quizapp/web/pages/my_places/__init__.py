"""One's own places: what one holds, giving one up, taking a free one."""
