"""The documents of a job: one PDF, a workbook, labels, the job as issued, and a manifest of them all."""
