"""About: what this tool is for, what it is not for, and where the numbers come from."""
