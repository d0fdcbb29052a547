"""Calendars of places and session days, as files and at secret addresses."""
