# One command per task; .ci/run calls the same ones.
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed
# The solver works on many small systems: threads inside one of them only cost time.
export OPENBLAS_NUM_THREADS := 1

.PHONY: demo test lint bench venv lock

# The whole chain on the example job; everything it writes goes to out/demo.
demo: venv
	$(BIN)/galleyproof prove examples/school-kitchen.yaml --out out/demo
	$(BIN)/galleyproof package examples/school-kitchen.yaml -o out/demo/package --whole

test: venv
	scripts/test-tools
	$(BIN)/pytest -n auto

lint: venv
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# Speed and scale figures.
bench: venv
	$(BIN)/python bench/run.py

venv: $(STAMP)

$(STAMP): requirements.lock pyproject.toml scripts/make-venv hatch_build.py src/galleyproof/proof/walk.c
	scripts/make-venv $(VENV)
	touch $@

# After a change of dependencies. The lock holds hashes only: no index address, so any mirror will do.
lock: venv
	$(BIN)/uv pip compile --quiet --upgrade --generate-hashes --universal --all-extras pyproject.toml -o requirements.lock
