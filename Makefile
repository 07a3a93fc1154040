# studiodesk: `make` alone lists what it can do.
#
# Needs python3 (3.11 or later) with its venv module, make and git. Everything else is put into .venv, as uv.lock says.

PYTHON ?= python3
UV_VERSION := 0.9.8
BIN := .venv/bin
# Installs exactly what uv.lock names, on the Python that is here; --inexact leaves uv itself and the test tools alone.
# Where the machine keeps certificates of its own, uv trusts those, as Debian's pip does: some houses sit behind a proxy.
TLS := $(if $(wildcard /etc/ssl/certs/ca-certificates.crt),UV_NATIVE_TLS=true)
SYNC := $(TLS) VIRTUAL_ENV= UV_PROJECT_ENVIRONMENT=.venv UV_PYTHON_DOWNLOADS=never $(BIN)/uv sync --frozen --inexact --quiet

.DEFAULT_GOAL := help
.PHONY: help demo test check check-all pictures race bench stack
.DELETE_ON_ERROR:

help: ## this list
	@echo "make VERB, where VERB is one of:"
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  \1\t\2/p' $(MAKEFILE_LIST) | expand -t 12

demo: .venv/.ready-run ## a working studio on a free local port, with a quarter of history and people in
	@mkdir -p var && rm -f var/demo.sqlite3*
	@DATABASE_URL=sqlite:///var/demo.sqlite3 $(BIN)/python manage.py demo

test: .venv/.ready-dev ## all tests: SQLite always, PostgreSQL, Redis and a browser where they are found
	@$(BIN)/python -m pytest -n auto --maxprocesses 4

check: .venv/.ready-dev ## lint, format, types, import contracts, settings, migrations, laws of the house
	@$(BIN)/python scripts/check.py

check-all: .venv/.ready-dev ## every page at every width, in every light, for a person who changes the look
	@STUDIODESK_ALL_VIEWS=1 $(BIN)/python -m pytest tests/journeys/test_every_page.py

pictures: .venv/.ready-dev ## every page as a picture at 360, 768 and 1366 px, in pictures/; PAGES=desk for some
	@STUDIODESK_PICTURES=1 $(if $(PAGES),STUDIODESK_PAGES=$(PAGES)) $(BIN)/python -m pytest tests/journeys/test_every_page.py -n auto --maxprocesses 2 -k accessible

race: .venv/.ready-dev ## 16 processes after one time on one station, checked from the raw rows
	@$(BIN)/python -m pytest tests/races -s -p no:cacheprovider

bench: .venv/.ready-dev ## forecast, booking, weights, paint; PART=booking for one, MOST=1000000 holds
	@$(BIN)/python -m tests.bench $(PART) $(if $(MOST),--most $(MOST))

stack: .venv/.ready-run ## web, worker and timer on PostgreSQL and Redis, a booking walked through; STAY=1 leaves it running
	@$(BIN)/python scripts/stack.py $(if $(STAY),--stay)

# ---- how .venv comes about; the stamps make the second run quick ---------------------------------------------------

.venv/.uv-$(UV_VERSION):
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
	  echo "studiodesk needs Python 3.11 or later as $(PYTHON). If another one is here: make PYTHON=/path/to/python3 …" >&2; \
	  exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "Python's venv module is missing. Type this, then make again:" >&2; \
	  if [ "$$(id -u)" = 0 ]; then echo "  apt install python3-venv" >&2; else echo "  sudo apt install python3-venv" >&2; fi; \
	  exit 1; }
	@echo "Building .venv (once; a minute at most on a slow line)"
	@$(PYTHON) -m venv .venv
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check uv==$(UV_VERSION)
	@touch $@

.venv/.ready-run: uv.lock .venv/.uv-$(UV_VERSION)
	@$(SYNC) --no-dev
	@touch $@

.venv/.ready-dev: uv.lock .venv/.uv-$(UV_VERSION)
	@$(SYNC)
	@touch $@ .venv/.ready-run
