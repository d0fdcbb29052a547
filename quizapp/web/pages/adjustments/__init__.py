"""Adjustments of sittings: the educator sets and ends them, the person reads them, nobody else comes here."""
