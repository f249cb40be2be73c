# The house rules of tuneledger. `make help` lists what there is to make.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PIP    := $(BIN)/python -m pip --disable-pip-version-check --no-input
MARK   := $(VENV)/.made

# The locks name every package with its hash, so nothing is resolved at install time. The project
# comes last, from its own sources, with the build backend that the lock brought.
INSTALL = $(PIP) install -qq --require-hashes --no-deps -r $(1) && \
          $(PIP) install -qq --no-deps --no-build-isolation -e . && \
          $(BIN)/python -m compileall -q src

WORKERS ?= 2

.PHONY: help demo desk install test browser check fuzz bench bench-quick bench-big bundle docs pictures lock clean
.DELETE_ON_ERROR:

help:
	@echo "make demo         install what the tool needs, reconcile the demo, write its page"
	@echo "make desk         open the desk in the browser, with the demo on it"
	@echo "make test         install what tests need, run them all"
	@echo "make check        style, types, order of the rooms"
	@echo "make fuzz         damaged files of every format against every reader (FILES=1000)"
	@echo "make bench        accuracy and speed, written into docs/ (long)"
	@echo "make bench-quick  the same on few cases, printed only"
	@echo "make bench-big    logs of up to 2 GB, written into docs/ (needs 5 GB of disk)"
	@echo "make docs         write the generated pages anew, check every link"
	@echo "make pictures     take the pictures of the docs anew (needs Chromium)"
	@echo "make bundle       archives for laptops without a network (SYSTEMS='linux windows macos')"
	@echo "make lock         pin all packages anew (UPGRADE=--upgrade takes newer ones)"
	@echo "make clean        remove what make made"

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "tuneledger needs Python 3.11 or newer; name one with: make PYTHON=python3.12"; exit 1; }
	@$(PYTHON) -m venv $(VENV)

$(MARK)-runtime: requirements.lock pyproject.toml | $(BIN)/python
	@echo "Installing what tuneledger needs into $(VENV) …"
	@$(call INSTALL,requirements.lock)
	@touch $@

$(MARK)-dev: requirements-dev.lock pyproject.toml | $(BIN)/python
	@echo "Installing what tests and checks need into $(VENV) …"
	@$(call INSTALL,requirements-dev.lock)
	@touch $(MARK)-runtime $@

install: $(MARK)-runtime

# The demo has something to report, so the contract gives it exit status 1; any other is a failure.
DEMO_SEES := 1

demo: $(MARK)-runtime
	@mkdir -p demo-out
	@status=0; $(BIN)/tuneledger reconcile demo/climb.csv demo/rev-d.toml demo/rev-c.toml \
	  demo/rev-b.toml --page demo-out/kestrel.html --json demo-out/kestrel.json \
	  --ledger demo-out/kestrel.csv --reply demo-out/reply.txt || status=$$?; \
	if [ $$status -ne $(DEMO_SEES) ]; then \
	  echo "The demo ended with exit status $$status; $(DEMO_SEES) belongs to what it shows."; exit 1; \
	fi
	@echo
	@echo "The same statement as a page: open demo-out/kestrel.html in a browser."
	@echo "For other programs: demo-out/kestrel.json. Sample by sample: demo-out/kestrel.csv."
	@echo "A text to send to the driver: demo-out/reply.txt."

desk: $(MARK)-runtime
	@$(BIN)/tuneledger desk demo/climb.csv demo/rev-d.toml demo/rev-c.toml demo/rev-b.toml

# A file's tests stay in one process: they share what is costly to make, browsers above all.
test: $(MARK)-dev browser
	@$(BIN)/python -m pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder

browser:
	@bash .ci/browser

check: $(MARK)-dev
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-logo

FILES ?= 1000
SEED  ?= 1

fuzz: $(MARK)-dev
	@$(BIN)/python -m tests.fuzz --files $(FILES) --seed $(SEED)
	@$(BIN)/python -m tests.fuzz.guided --runs $(FILES) --seed $(SEED)

bench: $(MARK)-dev browser
	@$(BIN)/python -m benchmarks.accuracy --generated 300 --peer --write docs/accuracy.md
	@$(BIN)/python -m benchmarks.speed --write docs/speed.md
	@$(BIN)/python -m benchmarks.audit_speed
	@$(BIN)/python -m benchmarks.page_speed

bench-quick: $(MARK)-dev
	@$(BIN)/python -m benchmarks.accuracy --generated 12
	@$(BIN)/python -m benchmarks.speed --quick

bench-big: $(MARK)-dev
	@$(BIN)/python -m benchmarks.big --write docs/big-logs.md

docs: $(MARK)-dev
	@$(BIN)/python -m tuneledger.cli.docs docs/cli.md
	@$(BIN)/python -m tuneledger.calibrations.schema
	@$(BIN)/python -m tuneledger.audit.docs docs/audit.md demo
	@$(BIN)/python -m benchmarks.paste README.md
	@$(BIN)/python -m pytest tests/test_house.py

pictures: $(MARK)-dev browser
	@$(BIN)/python -m benchmarks.pictures docs/pictures

SYSTEMS ?= linux windows macos

bundle: $(MARK)-dev
	@$(BIN)/python tools/bundle.py $(SYSTEMS)

COMPILE = $(BIN)/uv pip compile pyproject.toml --universal --python-version 3.11 \
          --generate-hashes --no-header --no-annotate --quiet $(UPGRADE)

lock: | $(BIN)/python
	@test -x $(BIN)/uv || $(PIP) install -qq --require-hashes --no-deps -r requirements-dev.lock
	@$(COMPILE) --group build --extra desk -o requirements.lock
	@$(COMPILE) --group dev -o requirements-dev.lock

clean:
	@rm -rf $(VENV) demo-out fuzz-out build dist .pytest_cache .ruff_cache .mypy_cache .hypothesis \
	  .import_linter_cache
	@find src tests benchmarks -name __pycache__ -type d -prune -exec rm -rf {} +
