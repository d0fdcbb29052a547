"""The code beside the password: shown at sign-in, set up, and its recovery codes."""
