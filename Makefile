# Shiel. The two commands a newcomer needs are `make run` and `make test`.

CARGO ?= cargo
PORT ?= 8470
FOLDER ?= demo-book

# Random cases are drawn from this, so that a run can be repeated; SEED=$$RANDOM draws others.
SEED ?= 20260302

.PHONY: run test bench bench-long lint new-stage build install help

help:
	@echo "make run        build and open the demo house on a local page (PORT=$(PORT), FOLDER=$(FOLDER))"
	@echo "make test       everything that must hold, browser tests as well"
	@echo "make bench      the speeds, each beside a peer; bench-long: the long ones too"
	@echo "make lint       format and clippy only"
	@echo "make new-stage NAME=word   lay the folder of a new stage"

install:
	@scripts/install.sh build

build: install
	$(CARGO) build --release --locked -p cli

# Opens the page in a browser where there is one; the address is printed in any case.
run: build
	@scripts/open-when-up.sh "http://127.0.0.1:$(PORT)/" & \
	exec $${CARGO_TARGET_DIR:-target}/release/shiel demo --port $(PORT) --folder "$(FOLDER)"

lint: install
	$(CARGO) fmt --all -- --check
	$(CARGO) clippy --workspace --all-targets --locked -- -D warnings

# The binary is built first: the browser tests and the command tests drive the real one.
test:
	@scripts/install.sh test
	$(CARGO) fmt --all -- --check
	$(CARGO) build --locked -p cli
	$(CARGO) clippy --workspace --all-targets --locked -- -D warnings
	PROPTEST_RNG_SEED=$(SEED) $(CARGO) test --workspace --locked

bench:
	@scripts/install.sh bench
	@scripts/bench.sh

bench-long:
	@scripts/install.sh bench
	@scripts/bench.sh long

new-stage:
	@scripts/new-stage.sh "$(NAME)"
