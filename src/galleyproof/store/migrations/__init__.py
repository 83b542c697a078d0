"""The schema's history: one file a step, applied in order at start; `galleyproof.store.upgrade` runs them."""
