"""Setting a first or a new password by a code that works once."""
