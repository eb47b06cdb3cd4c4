# make demo and make test do all set-up by themselves. Nothing is written outside this folder but system packages.
VENV := .venv
PY := $(VENV)/bin/python
SYSTEM := python3-venv openssl systemd mosquitto mosquitto-clients chromium fonts-liberation strace iproute2 libnss3-tools
SCENARIO ?= fairground
SPEED ?= 10
# Compiled once and kept, whatever the environment says: else each test process and each daemon compiles all of it anew.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo ready test fast lint fuzz simulate plant pictures bench bench-forecast bench-faults bench-page clean system

demo: $(VENV)/.installed
	@exec $(VENV)/bin/holdwater demo $(SCENARIO) --speed $(SPEED)

# For a bench or a rig's own checkout: everything that `holdwater` needs.
ready: $(VENV)/.installed
	@echo "Ready. In each new terminal:  . $(VENV)/bin/activate"

test: system $(VENV)/.for-tests
	$(MAKE) --no-print-directory lint
	@.ci/tests $(PY)

fast: $(VENV)/.for-tests
	$(PY) -m pytest -m "not browser and not broker and not campaign"

lint: $(VENV)/.for-tests
	$(VENV)/bin/ruff check --output-format concise
	$(VENV)/bin/mypy

# Half hours of life under a simulated clock; RESUME=FILE goes on where it was stopped, ALONE=SEED tells one.
SEEDS ?= 100
FROM ?= 1
simulate: $(VENV)/.for-tests
	$(PY) -m tests.simulation --seeds $(SEEDS) --from $(FROM) $(if $(RESUME),--resume $(RESUME)) $(if $(ALONE),--alone $(ALONE))

# Bugs put in on purpose: which seed catches which.
plant: $(VENV)/.for-tests
	$(PY) -m tests.simulation.plant

# Every example state and every sheet of the crew page: both themes, both languages, three sizes.
PICTURES ?= build/pictures
pictures: $(VENV)/.for-tests
	$(PY) tests/browser/pictures.py $(PICTURES)

# Thirty simulated shifts, scored beside what one would use instead; SHIFTS=300 goes on where it was stopped.
SHIFTS ?= 30
bench-forecast: $(VENV)/.for-tests
	$(PY) -m tests.benchmarks.forecast --shifts $(SHIFTS)

# Garbage for SenML, framing, rig file and pages, so many seconds each, the inputs counted; ten thousand streams.
FUZZ_S ?= 600
fuzz: $(VENV)/.for-tests
	$(PY) -m tests.fuzz --seconds $(FUZZ_S)
	FUZZ_CALLS=500 FUZZ_STREAMS=10000 $(PY) -m pytest --durations=5 tests/fuzz tests/pages/test_pages_patience.py

# Thirty faults on simulated shifts: found or not, how soon, and what was told wrongly; CASES=300 takes half an hour.
CASES ?= 30
bench-faults: $(VENV)/.for-tests
	$(PY) -m tests.benchmarks.faults --cases $(CASES)

# What it costs: the whole way beside the barest chain, then the journal's share of it, beside bare SQLite.
bench: $(VENV)/.for-tests system
	$(PY) -m tests.benchmarks.chain
	$(PY) -m tests.benchmarks.journal_rate
	$(PY) -m tests.benchmarks.journal_bytes
	$(PY) -m tests.benchmarks.journal_power
	$(PY) -m tests.benchmarks.journal_history --sizes 1,5
	$(PY) -m tests.benchmarks.replay_speed 2
	$(PY) -m tests.benchmarks.daemon_costs --hours 4

# The crew page against a real daemon: from publish to changed text, the first paint, and what a day of it costs.
bench-page: $(VENV)/.for-tests
	$(PY) -m tests.benchmarks.crew_page latency
	$(PY) -m tests.benchmarks.crew_page paint
	$(PY) -m tests.benchmarks.crew_page day

$(VENV)/bin/python:
	@.ci/venv $(VENV)

$(VENV)/.installed: pyproject.toml | $(VENV)/bin/python
	@echo "Installing Holdwater into $(VENV) …"
	@$(PY) -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/.for-tests: pyproject.toml $(VENV)/.installed
	@echo "Installing what the tests need …"
	@$(PY) -m pip install --quiet --disable-pip-version-check --group test
	@touch $@

system:
	@.ci/system $(SYSTEM)

clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis
