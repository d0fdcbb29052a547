"""Messages on the first page, put away one by one."""
