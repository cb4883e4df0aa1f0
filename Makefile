# Everything a new checkout needs: `make help` lists it.
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

.PHONY: help doctor setup serve demo test lint bench sources clean

help: ## Show this list
	@awk -F ':.*## ' '/^[a-z]+:.*## / {printf "make %-8s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

doctor: ## Say what this machine lacks and what to install
	@$(PYTHON) doctor.py $(if $(filter doctor,$(MAKECMDGOALS)),test,$(PURPOSE))

setup: PURPOSE := demo
setup: $(RUNTIME) ## Build everything for a band of your own

serve: PURPOSE := demo
serve: $(RUNTIME) ## Serve your own band's site (PORT=8000)
	@DJANGO_SETTINGS_MODULE=bandops.settings.local $(RUN) manage.py migrate --verbosity 0
	@DJANGO_SETTINGS_MODULE=bandops.settings.local \
		SITE_URL=http://127.0.0.1:$(PORT) \
		$(RUN) -m gunicorn bandops.wsgi --bind 127.0.0.1:$(PORT) --workers 1 --threads 4

demo: PURPOSE := demo
demo: $(RUNTIME) ## Make the invented band, its prints, and serve it (SERVE=no: do not serve)
	@DJANGO_SETTINGS_MODULE=bandops.settings.local BANDOPS_VAR=var/demo \
		PORT=$(PORT) SITE_URL=http://127.0.0.1:$(PORT) \
		$(RUN) manage.py demo $(if $(filter no,$(SERVE)),--no-serve)

test: PURPOSE := test
test: $(DEV) ## Run the tests (FAST=yes, LONG=yes, DB=sqlite, WORKERS=1, ARGS="-k word")
	@$(RUN) -m tests.services --database $(DB) $(if $(filter yes,$(FAST)),--fast) \
		$(if $(filter yes,$(LONG)),--long) $(if $(WORKERS),--workers $(WORKERS)) -- $(ARGS)

lint: $(DEV) ## Check style and types
	@$(BIN)/python -m ruff check .
	@$(BIN)/python -m ruff format --check .
	@$(RUN) -m mypy

bench: $(DEV) ## Measure the solver, the prints and the pages
	@$(RUN) -m tests.bench $(ARGS)

sources: $(DEV) ## List the tests that check against a source outside the project
	@$(RUN) -m pytest --collect-only -qq --no-header -p tests.list_sources

clean: ## Delete the environment, the demo's data and every cache; your own band's data stay
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
