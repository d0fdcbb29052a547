"""One's own notices: what was or would be sent by mail, and the same as a feed."""
