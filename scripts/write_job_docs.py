"""Write docs/job.schema.json and the tables of docs/job-file.md anew from the model of the job file."""

import json
from pathlib import Path

from galleyproof.job.schema import job_schema, render_page

DOCS = Path(__file__).parents[1] / "docs"

page = DOCS / "job-file.md"
page.write_text(render_page(page.read_text(encoding="utf-8")), encoding="utf-8")
schema = json.dumps(job_schema(), indent=2, ensure_ascii=False)
(DOCS / "job.schema.json").write_text(schema + "\n", encoding="utf-8")
print("wrote docs/job-file.md and docs/job.schema.json")
