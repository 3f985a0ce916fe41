# One name per duty; continuous integration calls the same names. `make help` lists them.
# Needed beforehand: Python 3.11 or newer with venv, git, make, and a package index for pip.

SHELL := /bin/sh
.DEFAULT_GOAL := help

VENV := .venv
BIN := $(VENV)/bin
UV_VERSION := 0.13.9
# The first interpreter that is new enough; `make PYTHON=/path/to/python3.12 ...` takes another one.
PYTHON ?= $(shell for p in python3 python3.13 python3.12 python3.11 /usr/bin/python3; do \
	if "$$p" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then echo "$$p"; break; fi; done)

# uv installs what the lock file names into .venv, and never fetches a Python of its own.
# --inexact: it must not remove itself.
UV := UV_PYTHON_DOWNLOADS=never UV_PROJECT_ENVIRONMENT=$(VENV) $(BIN)/uv
SYNC := $(UV) sync --locked --inexact --quiet --python $(BIN)/python

ORDER := examples/tarn-mill.yaml
SHEETS := out/tarn-mill

.PHONY: help
help: ## List what can be made
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 12

.PHONY: setup
setup: $(VENV)/.kernels ## Install into .venv and compile once

.PHONY: demo
demo: setup ## Plan the example order and say where the sheets are
	@$(BIN)/halflayer plan $(ORDER) --out $(SHEETS); code=$$?; \
	if [ $$code -gt 1 ]; then echo "the example could not be planned (exit code $$code)" >&2; exit $$code; fi; \
	if [ $$code -eq 1 ]; then echo; echo "One weld of the example ends stopped, on purpose: its sheet says why."; fi; \
	test -s $(SHEETS)/order.pdf && test -s $(SHEETS)/plan.json; \
	echo; echo "Sheets: $(CURDIR)/$(SHEETS)/order.pdf first, then one PDF for each weld beside it."

.PHONY: test
test: $(VENV)/.kernels $(VENV)/.dev ## Lint, types and the quick tests: what continuous integration runs
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/pytest

.PHONY: slow
slow: $(VENV)/.kernels $(VENV)/.dev ## The slow tests, a comparison library beside the engine among them
	@$(SYNC) --group dev --group compare
	$(BIN)/pytest -m slow

.PHONY: bench
bench: setup ## Benchmarks: speed, figure of merit, memory (a few minutes, wants an idle machine)
	@set -e; for b in benchmarks/*.py; do case $$b in */_*) continue;; esac; echo "== $$b"; $(BIN)/python $$b; done

.PHONY: docs
docs: $(VENV)/.dev ## Write the generated pages of docs/ again
	$(BIN)/python docs/generate.py
	$(BIN)/python -m halflayer.order.describe > docs/formats/order.md

.PHONY: lock
lock: $(VENV)/.uv ## Solve the dependencies again and write uv.lock
	$(UV) lock --python $(BIN)/python

.PHONY: clean
clean: ## Remove .venv, caches and out/
	rm -rf $(VENV) out .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

$(VENV)/.uv:
	@if [ -z "$(PYTHON)" ]; then echo "Python 3.11 or newer with venv is needed (Debian: apt install python3-venv)" >&2; exit 1; fi
	@echo "making $(VENV) with $(PYTHON)"
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check "uv==$(UV_VERSION)"
	@touch $@

$(VENV)/.installed: $(VENV)/.uv pyproject.toml uv.lock
	@echo "installing what uv.lock names"
	@$(SYNC)
	@touch $@

$(VENV)/.dev: $(VENV)/.installed
	@$(SYNC) --group dev
	@touch $@

# The cache of the kernels is named by their sources, so this is quick when nothing changed.
$(VENV)/.kernels: $(VENV)/.installed $(wildcard src/halflayer/transport/*.py src/halflayer/scene/*.py)
	@$(BIN)/halflayer doctor --compile
	@touch $@
