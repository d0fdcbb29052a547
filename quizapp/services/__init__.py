"""Use cases, one a file: the only place where rules, content and store meet."""
