# Everything a new checkout needs: `make help` names the two commands to begin with.
PYTHON ?= python3
V ?= .venv
BIN := $(V)/bin
PIP := $(BIN)/python -m pip install -qq --no-input --disable-pip-version-check --require-hashes
# Written last, so a half-made environment never counts as made.
RUNTIME := $(V)/runtime.stamp
DEV := $(V)/dev.stamp
# Set in the recipe's own line: macOS drops it from the environment of its shell.
ifeq ($(shell uname -s),Darwin)
RUN := DYLD_FALLBACK_LIBRARY_PATH=/opt/homebrew/lib:/usr/local/lib $(BIN)/python
else
RUN := $(BIN)/python
endif
DB ?= both
PORT ?= 8000
ARGS ?=
PURPOSE := build

.PHONY: help doctor setup serve demo test lint bench load sources clean

help: ## Show the two commands
	@awk -F ':.*## ' '/^(demo|test):.*## / {printf "make %-8s %s\n", $$1, $$2}' $(MAKEFILE_LIST)
	@echo "Everything else is in DEVELOPERS.md, under Commands."

# SYSTEM=no names what the machine lacks instead of installing it.
doctor:
	@$(PYTHON) bandops/doctor.py $(if $(filter doctor,$(MAKECMDGOALS)),test,$(PURPOSE) \
		$(if $(filter no,$(SYSTEM)),,--install))

setup: PURPOSE := demo
setup: $(RUNTIME)

serve: PURPOSE := demo
serve: $(RUNTIME)
	@DJANGO_SETTINGS_MODULE=bandops.settings.local $(RUN) manage.py migrate --verbosity 0
	@DJANGO_SETTINGS_MODULE=bandops.settings.local \
		SITE_URL=http://127.0.0.1:$(PORT) \
		$(RUN) -m gunicorn bandops.wsgi --bind 127.0.0.1:$(PORT) --workers 1 --threads 4

demo: PURPOSE := demo
demo: $(RUNTIME) ## Build everything, make an invented band and its prints, serve the site
	@DJANGO_SETTINGS_MODULE=bandops.settings.local BANDOPS_VAR=var/demo \
		PORT=$(PORT) SITE_URL=http://127.0.0.1:$(PORT) \
		$(RUN) manage.py demo $(if $(filter no,$(SERVE)),--no-serve)

test: PURPOSE := test
test: $(DEV) ## Run the tests on SQLite and PostgreSQL, with Redis and Chromium
	@$(RUN) -m tests.services --database $(DB) $(if $(filter yes,$(FAST)),--fast) \
		$(if $(filter yes,$(LONG)),--long) $(if $(WORKERS),--workers $(WORKERS)) -- $(ARGS)

lint: $(DEV)
	@$(BIN)/python -m ruff check .
	@$(BIN)/python -m ruff format --check .
	@$(RUN) -m mypy

bench: $(DEV)
	@$(RUN) -m tests.bench $(ARGS)

load: $(DEV)
	@$(RUN) -m tests.load $(ARGS)

sources: $(DEV)
	@$(RUN) -m pytest --collect-only -qq --no-header -p tests.list_sources

# A band's own data in var/ stay.
clean:
	rm -rf $(V) var/demo var/test-media .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# `| doctor` runs first each time without making the environment again.
$(RUNTIME): requirements.txt | doctor
	@echo "Making the Python environment in $(V) (once; a few minutes on a slow line)"
	@rm -rf $(V)
	@$(PYTHON) -m venv $(V) || { rm -rf $(V); exit 1; }
	@$(PIP) -r requirements.txt || { rm -rf $(V); exit 1; }
	@touch $@

$(DEV): requirements-dev.txt $(RUNTIME)
	@echo "Adding the development tools to $(V) (once)"
	@$(PIP) -r requirements-dev.txt
	@touch $@
