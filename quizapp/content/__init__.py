"""Reads the content folders (question_bank, checklists) and reports every fault with file and line."""
