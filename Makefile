# Two commands do all the set-up: `make demo` and `make test`. Python 3.11 or newer and make are enough.
PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
INSTALL := $(BIN)/python -m pip install -q --require-hashes -r
UV_VERSION := 0.13.9
AUDIT_VERSION := 2.10.1
LOCK := .venv-lock/bin/uv pip compile -q --no-cache --system-certs --universal --python-version 3.11 \
	--generate-hashes --no-strip-extras --custom-compile-command 'make lock' $(if $(UPGRADE),--upgrade)
SEED := $(or $(SEED),$(shell od -An -N4 -tu4 /dev/urandom | tr -d ' '))
# Files stay together, so that what a file prepares is prepared once; who has nothing left takes from the others.
SPREAD := --dist worksteal
# One process more than there are cores: the first half begins with tests that wait for servers and browsers (tests/shares.py).
WORKERS ?= $(shell $(PYTHON) -c 'import os; print((os.cpu_count() or 1) + 1)')
export PIP_DISABLE_PIP_VERSION_CHECK := 1
# The tests start the program a hundred times: a machine that keeps no bytecode would compile it as often. Empty is unset.
export PYTHONDONTWRITEBYTECODE :=
DEMO_ENV := RAINTHROUGH_DEMO=1 RAINTHROUGH_HTTPS=0 RAINTHROUGH_DATA_DIR=$(CURDIR)/var/demo

.PHONY: install demo test check lint templates types directions migrations deploy-check format serve benchmark clean-demo
.PHONY: audit catalogues collected coverage faults first-release fuzz hooks lock mutants test-postgresql

demo: $(VENV)/.run static  ## invented data on localhost
	@mkdir -p var/demo
	@$(DEMO_ENV) $(BIN)/python manage.py migrate -v0
	@$(DEMO_ENV) $(BIN)/python manage.py load_demo
	@echo "Open http://localhost:$(PORT)/ and sign in as one of the above. Ctrl-C ends it."
	@$(DEMO_ENV) $(BIN)/python manage.py serve --bind 127.0.0.1:$(PORT)

test: $(VENV)/.dev  ## every test, in an order drawn by a seed that is printed; SEED=number repeats it, ONLY=path runs some
	$(BIN)/python -m pytest -n $(WORKERS) $(SPREAD) --randomly-seed=$(SEED) --hypothesis-seed=$(SEED) $(ONLY)

test-postgresql: $(VENV)/.dev  ## every test on a PostgreSQL that is started for it; DRAWN=1 a choice by SEED, ONLY=path some
	$(BIN)/python -m tests.on_postgresql --seed $(SEED) --workers $(WORKERS) $(if $(DRAWN),--drawn) $(ONLY)

faults: $(VENV)/.dev  ## kills, empties, stops and fills what the server needs, over its work; ONLY="web disk" for some
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.concurrency.faults $(ONLY)

coverage: $(VENV)/.dev  ## every test, then lines and branches by app and floor; fails where too few are run
	@mkdir -p var/coverage
	$(BIN)/python -m pytest -n $(WORKERS) $(SPREAD) --cov --cov-report=
	@$(BIN)/coverage json -q -o var/coverage/coverage.json
	@$(BIN)/coverage html -q -d var/coverage/html
	@$(BIN)/python -m tests.coverage_floors var/coverage/coverage.json

check: lint templates types directions migrations deploy-check  ## what is checked besides the tests

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

templates: $(VENV)/.dev
	$(BIN)/djangofmt --check templates
	$(BIN)/djangofmt check templates

types: $(VENV)/.dev
	$(BIN)/mypy

directions: $(VENV)/.dev
	$(BIN)/lint-imports

collected: $(VENV)/.dev  ## every module of tests can be read; who runs them afterwards need not compile them in each process
	@mkdir -p var
	@$(BIN)/python -m pytest --collect-only -qq > var/collected.txt || { cat var/collected.txt; exit 1; }

migrations: $(VENV)/.dev
	$(BIN)/python manage.py makemigrations --check --dry-run

deploy-check: $(VENV)/.dev
	$(BIN)/python manage.py check --deploy --fail-level WARNING

format: $(VENV)/.dev
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .
	$(BIN)/djangofmt check --fix templates
	$(BIN)/djangofmt templates

install: $(VENV)/.run static  ## what a server needs, and nothing started

serve: $(VENV)/.run static  ## your own data, settings from the environment
	$(BIN)/python manage.py migrate
	$(BIN)/python manage.py serve --bind 127.0.0.1:$(PORT)

benchmark: $(VENV)/.dev
	@for script in benchmarks/*.py; do echo "== $$script"; $(BIN)/python -m benchmarks.$$(basename $$script .py) || exit 1; done

fuzz: $(VENV)/.dev  ## hostile input to every route, for long: TRIES=20000 SEED=1; a share of it is among the tests
	FUZZ_TRIES=$(or $(TRIES),20000) FUZZ_SEED=$(SEED) OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n0 -p no:randomly \
		--show-capture=no tests/security/test_fuzz.py -k hostile_input

mutants: $(VENV)/.dev  ## puts small faults into the formulas; ONLY="qa/calc/ring.py --each 100" for some of them
	$(BIN)/python -m tests.mutation.run $(ONLY) --seed $(or $(MUTANTS_SEED),1)

audit: .venv-audit/.pip-audit-$(AUDIT_VERSION)  ## packages of the lock with known vulnerabilities; needs a network
	@.venv-audit/bin/pip-audit --strict --disable-pip --require-hashes -r requirements.lock || { \
		echo "Not clean, or not audited: without a network nothing was looked up. Lock of $$(date -r requirements.lock +%F)."; \
		exit 1; }

.venv-audit/.pip-audit-$(AUDIT_VERSION):
	$(PYTHON) -m venv --clear .venv-audit
	.venv-audit/bin/python -m pip install -q pip-audit==$(AUDIT_VERSION)
	@touch $@

hooks: $(VENV)/.dev  ## the checks before each commit and each push
	$(BIN)/pre-commit install

catalogues: $(VENV)/.dev  ## takes new texts into locale/, those no longer said out of it, and compiles them
	$(BIN)/python manage.py catalogues

lock: .venv-lock/.uv-$(UV_VERSION)  ## writes both locks anew from requirements*.txt; UPGRADE=1 takes newer packages beneath them
	@for lock in requirements.lock requirements-dev.lock; do if grep -qs '^<<<<<<<' $$lock; then rm $$lock; fi; done
	$(LOCK) requirements.txt -o requirements.lock
	$(LOCK) requirements-dev.txt -c requirements.lock -o requirements-dev.lock

.venv-lock/.uv-$(UV_VERSION):
	$(PYTHON) -m venv --clear .venv-lock
	.venv-lock/bin/python -m pip install -q uv==$(UV_VERSION)
	@touch $@

first-release: $(VENV)/.dev  ## keeps the first release's database and digests of its migrations; refuses once it is out
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.upgrades.first_release

clean-demo:  ## forget the invented data
	rm -rf var/demo

.PHONY: static
static: $(VENV)/.run
	@$(BIN)/python manage.py collectstatic --noinput -v0 -i 'datasets' -i 'templates' -i 'widgetbundle.js'

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Python 3.11 or newer is needed, this is " + sys.version)'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: requirements.lock | $(VENV)/bin/python
	$(INSTALL) requirements.lock
	@touch $@

# Packages are compiled as they are imported: half of the time would go into what no test imports. A server's are
# compiled at once, since its user may not be allowed to write beside them.
$(VENV)/.dev: requirements-dev.lock | $(VENV)/bin/python
	$(INSTALL) requirements-dev.lock --no-compile
	@touch $@ $(VENV)/.run
