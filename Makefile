# make run: set up what is needed, then serve on this machine only.
# make test: set up what is needed, then run every check.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

.PHONY: run test lock wheel sbom audit words clean

run: $(VENV)/.run-ready
	$(BIN)/litreline serve --demo

test: $(VENV)/.test-ready
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m service.wiring.words check
	$(BIN)/python -m pytest -n auto

$(BIN)/python:
	$(PYTHON) -c 'import sys; sys.exit("Litreline needs Python 3.11 or newer, this is " + sys.version.split()[0]) if sys.version_info < (3, 11) else None'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run-ready: requirements.lock pyproject.toml | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps -e .
	touch $@

$(VENV)/.test-ready: requirements-test.lock $(VENV)/.run-ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-test.lock
	touch $@

# Fresh versions within the bounds of pyproject.toml; needs the uv command.
lock:
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-emit-index-url -o requirements.lock pyproject.toml
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-emit-index-url --extra test --extra postgresql -c requirements.lock -o requirements-test.lock pyproject.toml

# The same octets for the same commit, whoever builds it.
wheel: $(VENV)/.test-ready
	SOURCE_DATE_EPOCH=$$(git log -1 --format=%ct) $(BIN)/python -m hatchling build -t wheel -d dist

# What the service is made of, and whether any of it is known to be unsafe; both need the uv command.
sbom:
	mkdir -p dist
	uvx --from cyclonedx-bom cyclonedx-py requirements --pyproject pyproject.toml --output-reproducible -o dist/sbom.json requirements.lock

audit:
	uvx pip-audit --disable-pip -r requirements.lock

clean:
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .import_linter_cache
