"""What all rules together say about one job, and the smallest change of the job that satisfies them."""
