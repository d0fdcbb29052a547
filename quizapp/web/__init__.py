"""The web edge: pages, forms, security; no rules and no queries."""
