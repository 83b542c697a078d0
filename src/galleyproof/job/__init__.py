"""The job: what is to be built, as the engineer wrote it down. The one source of truth."""
