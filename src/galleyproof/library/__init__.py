"""Device types as data: terminals, electrical parts, ratings and named behaviours."""
