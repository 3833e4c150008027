# Everything that sets up, tries, tests and measures Flightless.
# `make demo` and `make test` need nothing but Python 3.11 to 3.13 on Debian or Ubuntu.

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check
RESULTS := demo-results

.PHONY: help demo test lint types bench clean

help:
	@echo "make demo   install, then run the main job on the bundled games"
	@echo "make test   install what the tests need and run all of them"
	@echo "make lint   style (ruff) and the direction of imports (import-linter)"
	@echo "make types  types (mypy, strict)"
	@echo "make bench  the measured figures, as kept in benchmarks/RESULTS.md"
	@echo "make clean  remove the virtual environment and the demo's results"

$(VENV)/installed: pyproject.toml constraints.txt scripts/venv
	@scripts/venv $(VENV)
	@echo "Installing Flightless into $(VENV) (about a minute the first time)."
	@$(PIP) install --quiet --constraint constraints.txt --editable .
	@touch $@

$(VENV)/installed-tests: $(VENV)/installed
	@echo "Installing what the tests need."
	@$(PIP) install --quiet --constraint constraints.txt --editable '.[test]'
	@touch $@

demo: $(VENV)/installed
	@scripts/demo $(BIN)/flightless $(RESULTS)

test: $(VENV)/installed-tests
	@scripts/browser
	@$(BIN)/flightless warm
	@$(BIN)/python -m pytest -n 2 --dist worksteal

lint: $(VENV)/installed-tests
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports

types: $(VENV)/installed-tests
	$(BIN)/mypy

bench: $(VENV)/installed-tests
	$(BIN)/python benchmarks/run.py

clean:
	rm -rf $(VENV) $(RESULTS)
