"""Promises with their clauses, proved over the grid of situations; what feeds, switches and stops every load."""
