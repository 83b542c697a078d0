"""Everything electrical that has a size, by published rules, each number with its clause and its steps."""
