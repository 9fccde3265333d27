# make demo    the example production and its sites in ./demo
# make test    everything: style, types, tests (brings what they need)

VENV := .venv
BIN := $(VENV)/bin
# One more than most machines have processors: tests wait for browsers, servers and offices.
WORKERS ?= 3
SIZES ?= example feature ten
RUNS ?= 5
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check
INSTALL := $(PIP) install --constraint constraints.txt

# What a machine without a browser, Java, LibreOffice, PostgreSQL or ICU leaves out, only when it is told to.
ifeq ($(CREDITS_WITHOUT_BROWSER),1)
MARKS += browser
else
PROGRAMS += browser
endif
ifeq ($(CREDITS_WITHOUT_NU),1)
LEFT_OUT += --ignore=tests/site/test_markup.py
else
PROGRAMS += nu
endif
ifeq ($(CREDITS_WITHOUT_OFFICE),1)
MARKS += office
else
PROGRAMS += office
endif
ifeq ($(CREDITS_WITHOUT_POSTGRES),1)
MARKS += postgres
else
PROGRAMS += postgres
endif
ifeq ($(CREDITS_WITHOUT_ICU),1)
ICU :=
MARKS += icu
else
ICU := icu
endif
blank := $(subst ,, )
ifneq ($(strip $(MARKS)),)
LEFT_OUT += -m "not ($(subst $(blank), or ,$(strip $(MARKS))))"
endif

.DEFAULT_GOAL := help
.PHONY: help audit demo test programs driver lint format browser nu office postgres icu poppler hugo fonts samples screenshots bench constraints clean

help:
	@echo "make demo         make the example production and its sites in ./demo"
	@echo "make test         style, types and all tests; brings what they need"
	@echo "make lint         style and types alone"
	@echo "make format       put the code into its style"
	@echo "make screenshots  pictures of the example's pages in ./screenshots-new"
	@echo "make bench        measure productions of several sizes; the table goes into the README"
	@echo "make audit        licences, age and known weaknesses of every library"
	@echo "make constraints  pin the newest libraries that pyproject.toml allows"
	@echo "make clean        take away everything that these made"

demo: $(VENV)/.product
	$(BIN)/credits demo demo

# Libraries and programs are brought side by side, and style and types looked at, whatever number of jobs make was called with.
test: | $(BIN)/python
	@$(MAKE) --no-print-directory --jobs=2 lint programs
	@$(MAKE) --no-print-directory --jobs=1 $(if $(filter browser,$(PROGRAMS)),driver) $(ICU) samples
	@bash .ci/tests.sh $(BIN)/python -n $(WORKERS) --dist worksteal $(LEFT_OUT)

# One after the other: the system installs one thing at a time.
programs:
	@set -e; for name in $(PROGRAMS) fonts; do $(MAKE) --no-print-directory $$name; done

lint: $(VENV)/.tests
	$(BIN)/ruff check --quiet .
	$(BIN)/ruff format --quiet --check .
	$(BIN)/mypy --no-error-summary

format: $(VENV)/.tests
	$(BIN)/ruff check --quiet --fix .
	$(BIN)/ruff format --quiet .

screenshots: $(VENV)/.tests browser office poppler fonts
	$(BIN)/python .ci/screenshots.py screenshots-new

# The productions are kept in ./.bench and measured again the next time.
bench: $(VENV)/.bench hugo
	$(BIN)/python -m benchmarks.measure $(addprefix --size ,$(SIZES)) --runs $(RUNS) \
	  --keep .bench --write README.md

audit: $(VENV)/.tests
	$(BIN)/python .ci/libraries.py

constraints: $(VENV)/.tests
	$(INSTALL) uv
	$(BIN)/uv --quiet pip compile pyproject.toml --all-extras --universal --upgrade \
	  --no-header --no-annotate --output-file constraints.txt

clean:
	rm -rf $(VENV) .tools .bench demo screenshots-new dist build
	rm -rf .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# What pip cannot bring. Each looks first and is quick when all is there.
browser:
	@bash .ci/chromium.sh

driver:
	@bash .ci/driver.sh

nu:
	@bash .ci/nu.sh

office:
	@bash .ci/office.sh

postgres:
	@bash .ci/postgres.sh

icu: $(VENV)/.tests
	@bash .ci/icu.sh $(BIN)/python

poppler:
	@bash .ci/poppler.sh

hugo:
	@bash .ci/hugo.sh

samples: $(VENV)/.tests
	@$(BIN)/python -m tests.fetched

fonts:
	@bash .ci/fonts.sh

# The stamps: the product as people install it, and with what its tests need.
$(BIN)/python:
	bash .ci/venv.sh $(VENV)

$(VENV)/.product: pyproject.toml constraints.txt packed_data.py | $(BIN)/python
	$(INSTALL) --editable .
	@touch $@

$(VENV)/.tests: $(VENV)/.product
	$(INSTALL) --editable '.[test,dev]'
	@touch $@

$(VENV)/.bench: $(VENV)/.product
	$(INSTALL) --editable '.[bench]'
	@touch $@
