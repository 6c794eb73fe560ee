# Two commands do everything: `make demo` and `make test`.

WEB := crates/app/web
BROWSER := crates/app/tests/browser
BIN := $(or $(CARGO_TARGET_DIR),target)/debug/strandwright

.PHONY: demo test release bench web clean help

help:
	@echo "make demo     build, open the invented salon in the browser"
	@echo "make test     every test there is"
	@echo "make release  the program for daily use: target/release/strandwright"
	@echo "make bench    print the numbers that the engines reach"

demo: web
	cargo build --locked --bin strandwright
	$(BIN) demo --open

test: export STRANDWRIGHT_BIN = $(abspath $(BIN))
test: export STRANDWRIGHT_PYTHON = $(abspath .venv/bin/python)
test: web .venv/ready
	tools/need.sh test
	cargo fmt --all --check
	cargo test --locked --workspace
	cargo clippy --locked --workspace --all-targets -- -D warnings -A clippy::unwrap_used
	cargo clippy --locked --workspace -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --locked --workspace --no-deps
	cd $(BROWSER) && npm ci --no-audit --no-fund && npm test

release: web
	cargo build --locked --release --bin strandwright

bench: web
	tools/bench.sh

# The pages' script, styles and fonts, made from their packages.
web: $(WEB)/dist/made
$(WEB)/dist/made: $(WEB)/package-lock.json $(shell find $(WEB)/src -type f 2>/dev/null)
	tools/need.sh build
	cd $(WEB) && npm ci --no-audit --no-fund && npm run build
	touch $@

# Independent readers of calendar files and archives, for the tests.
.venv/ready: tools/python.txt
	tools/need.sh test
	python3 -m venv .venv
	.venv/bin/pip install --quiet -r tools/python.txt
	touch $@

clean:
	rm -rf target .venv $(WEB)/dist $(WEB)/node_modules $(BROWSER)/node_modules
