"""Tightening: units, orders, plans, the ledger's rules, strength and tools. Pure computation."""
