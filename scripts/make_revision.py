"""Write the next step of the schema's history from what schema.py now says: ``make_revision.py NUMBER WHAT``.

Read what it writes before committing it; tests/store/test_upgrade.py then brings older databases forward through it.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from alembic import command

from galleyproof.store.database import Database
from galleyproof.store.upgrade import _config, history, upgrade_to

number, what = sys.argv[1:3]
with tempfile.TemporaryDirectory() as folder:
    db = Database(f"sqlite:///{Path(folder) / 'now.db'}")
    with db.engine.begin() as connection:
        if history():
            upgrade_to(connection, history()[-1])
        made = command.revision(_config(connection), what, autogenerate=True, rev_id=number)
path = Path(made.path)
path.write_text("".join(line + "\n" for line in path.read_text().splitlines() if "# ###" not in line))
subprocess.run([Path(sys.executable).with_name("ruff"), "format", "--quiet", path], check=True)
print(path)
