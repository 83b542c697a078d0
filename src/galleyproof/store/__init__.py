"""Jobs with every revision, readings, issued sets, people and what they did, in SQLite or PostgreSQL."""
