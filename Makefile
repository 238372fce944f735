# Two commands do all the set-up: `make demo` and `make test`. Python 3.11 or newer and make are enough.
PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
SEED := $(or $(SEED),$(shell od -An -N4 -tu4 /dev/urandom | tr -d ' '))
export PIP_DISABLE_PIP_VERSION_CHECK := 1
DEMO_ENV := RAINTHROUGH_DEMO=1 RAINTHROUGH_HTTPS=0 RAINTHROUGH_DATA_DIR=$(CURDIR)/var/demo

.PHONY: demo test check lint types directions migrations deploy-check format serve benchmark clean-demo

demo: $(VENV)/.run static  ## invented data on localhost
	@mkdir -p var/demo
	@$(DEMO_ENV) $(BIN)/python manage.py migrate -v0
	@$(DEMO_ENV) $(BIN)/python manage.py load_demo
	@echo "Open http://localhost:$(PORT)/ and sign in as one of the above. Ctrl-C ends it."
	@$(DEMO_ENV) $(BIN)/python manage.py serve --bind 127.0.0.1:$(PORT)

test: $(VENV)/.dev  ## every test, in an order drawn by a seed that is printed; SEED=number repeats it
	$(BIN)/python -m pytest -n auto --randomly-seed=$(SEED) --hypothesis-seed=$(SEED)

check: lint types directions migrations deploy-check  ## what is checked besides the tests

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(VENV)/.dev
	$(BIN)/mypy

directions: $(VENV)/.dev
	$(BIN)/lint-imports

migrations: $(VENV)/.dev
	$(BIN)/python manage.py makemigrations --check --dry-run

deploy-check: $(VENV)/.dev
	$(BIN)/python manage.py check --deploy --fail-level WARNING

format: $(VENV)/.dev
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

serve: $(VENV)/.run static  ## your own data, settings from the environment
	$(BIN)/python manage.py migrate
	$(BIN)/python manage.py serve --bind 127.0.0.1:$(PORT)

benchmark: $(VENV)/.dev
	@for script in benchmarks/*.py; do echo "== $$script"; $(BIN)/python -m benchmarks.$$(basename $$script .py) || exit 1; done

clean-demo:  ## forget the invented data
	rm -rf var/demo

.PHONY: static
static: $(VENV)/.run
	@$(BIN)/python manage.py collectstatic --noinput -v0 -i 'datasets' -i 'templates' -i 'widgetbundle.js'

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Python 3.11 or newer is needed, this is " + sys.version)'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: requirements.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install -q -r requirements.txt
	@touch $@

$(VENV)/.dev: requirements.txt requirements-dev.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install -q -r requirements-dev.txt
	@touch $@ $(VENV)/.run
