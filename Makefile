# The two commands of a fresh machine are `make demo` and `make test`; each sets up all that it needs.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet
TEST_NEEDS := python print browser
ON_ALL_CORES := --numprocesses auto

.PHONY: help demo test test-all lint format words fields wheel pictures bench clean system system-for-tests

help:
	@echo "make demo    set up, and build the demonstration protocol into out/"
	@echo "make test    set up, and run the tests, with a part of the random cases that moves with the commit"
	@echo "make test-all  the same with all random cases, and what else takes long"
	@echo "make lint    style, types and layers, as the tests of a change require them"
	@echo "make format  put the style right"
	@echo "make words   bring what is said into the catalogues of the languages"
	@echo "make fields  write the list of the fields of all files, site/docs/fields.md"
	@echo "make wheel   build the packages for a release into dist/"
	@echo "make bench   measure the engine beside other ways (QUICK=1: a part of it)"
	@echo "make pictures  draw the pictures of README again"
	@echo "make clean   remove everything that was built, the virtual environment included"

demo: $(VENV)/.ready-to-build
	$(BIN)/liningbook build guidelines/tern-street --out out

test: $(VENV)/.ready-to-test
	$(BIN)/python -m pytest $(ON_ALL_CORES)

test-all: $(VENV)/.ready-to-test
	LININGBOOK_SEEDS=all $(BIN)/python -m pytest $(ON_ALL_CORES)

lint: $(VENV)/.ready-to-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

format: $(VENV)/.ready-to-test
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

# What is said in say/, brought into every catalogue: new messages without words, those that are gone taken out.
CATALOGUES := builder/liningbook/say/catalogues
words: $(VENV)/.ready-to-test
	mkdir -p out
	$(BIN)/pybabel --quiet extract --no-default-keywords --keyword gettext --keyword ngettext:1,2 --keyword pgettext:1c,2 \
		--keyword N_ --sort-by-file --add-location never --project Liningbook --output-file out/words.pot builder/liningbook/say
	for file in $(CATALOGUES)/*.po; do \
		$(BIN)/pybabel --quiet update --no-fuzzy-matching --ignore-obsolete --width 120 --input-file out/words.pot \
			--output-file $$file --locale $$(basename $$file .po | tr - _) || exit 1; \
	done

# The page of all fields, from the schemas.
fields: $(VENV)/.ready-to-build
	$(BIN)/liningbook fields --format markdown > site/docs/fields.md

wheel: $(VENV)/.ready-to-test
	$(BIN)/python -m build --outdir dist

# How long everything takes, beside other ways on the same tables: ten minutes, or two with QUICK=1.
bench: $(VENV)/.ready-to-test
	$(BIN)/python -m tests.bench $(if $(QUICK),--quick)

# The pictures that README shows, drawn from what `make demo` builds.
pictures: $(VENV)/.ready-to-test
	SOURCE_DATE_EPOCH=1788220800 $(BIN)/liningbook build guidelines/tern-street --out out
	$(BIN)/python -m tests.rendering.pictures out site/pictures

clean:
	rm -rf $(VENV) out dist .hypothesis .import_linter_cache .mypy_cache .pytest_cache .ruff_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# A file in the virtual environment says for what it is ready; it is made again when the dependencies change.
# The system packages are looked at every time: that is quick, and they may have gone.

$(VENV)/.ready-to-build: pyproject.toml | system
	$(PYTHON) -m venv $(VENV)
	$(PIP) install --editable '.[all]'
	$(BIN)/python -m compileall -q builder
	touch $@

$(VENV)/.ready-to-test: pyproject.toml | system-for-tests
	$(PYTHON) -m venv $(VENV)
	$(PIP) install --editable '.[all,test]'
	$(BIN)/python -m compileall -q builder
	touch $(VENV)/.ready-to-build $@

system:
	@PYTHON=$(PYTHON) sh .ci/setup python print

system-for-tests:
	@PYTHON=$(PYTHON) sh .ci/setup $(TEST_NEEDS)
