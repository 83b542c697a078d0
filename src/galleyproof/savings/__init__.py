"""What demand control saves in a year: weather, use of the kitchen, hour by hour, with a range."""
