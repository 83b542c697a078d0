"""The field sheet: check-out, drawings and diagnosis of one job in one file that needs no network."""
