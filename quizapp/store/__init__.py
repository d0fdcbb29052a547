"""What is stored: one file per thing, with column types, triggers and migrations."""
